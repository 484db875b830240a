"""Circuits of home-made hydraulic machines in Markdown: solved, drawn and rated on the page.

    from builddoc import render
    page = render(open("mill.yml").read())
    print(page.html)

Importing the package is cheap: the solver, the unit library and the drawing engine load when first needed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .messages import BuilddocError, Message, Place
    from .page import Rendered, render, stylesheet
    from .pipeline import Solved, solve_text

__version__ = "0.1.0"
__all__ = [
    "BuilddocError",
    "Message",
    "Place",
    "Rendered",
    "Solved",
    "__version__",
    "render",
    "solve_text",
    "stylesheet",
]

_HOME = {
    "BuilddocError": "messages",
    "Message": "messages",
    "Place": "messages",
    "Rendered": "page",
    "Solved": "pipeline",
    "render": "page",
    "solve_text": "pipeline",
    "stylesheet": "page",
}


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(f"module 'builddoc' has no attribute '{name}'")
