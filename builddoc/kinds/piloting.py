"""Shared by the valves that other pressures open: the weights of the pressures on the poppet or spool."""

from __future__ import annotations


def weights(*terms: tuple[int, float]) -> dict[int, float]:
    """node -> weight; where two ports are one node their weights add."""
    found: dict[int, float] = {}
    for node, weight in terms:
        found[node] = found.get(node, 0.0) + weight
    return found
