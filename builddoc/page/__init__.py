"""The page: a circuit's report as HTML, usable under any Markdown host or none."""

from __future__ import annotations

from .rendering import Options, Rendered, render, stylesheet

__all__ = ["Options", "Rendered", "render", "stylesheet"]
