"""The solver: `solve(network) -> Solution`. Knows no parts, no names, no units; numbers in, numbers with a proof out."""

from __future__ import annotations

from .verdict import solve

__all__ = ["solve"]
