"""The solver: `solve(network) -> Solution`. Numbers in, numbers with a proof out; knows no parts, names, units."""

from __future__ import annotations

from .verdict import solve

__all__ = ["solve"]
