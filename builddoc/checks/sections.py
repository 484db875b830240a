"""Parts and lines that stand at one pressure but for the losses between them: what no spool or check parts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..circuit import Part
from ..network import RESERVOIR
from . import strength, walk
from .base import Case
from .strength import Member

OPEN_WAYS = ("tee", "quick coupler", "shut-off valve", "filter", "cooler", "gauge point", "orifice")
"""Kinds that oil passes both ways when they are open: none of them holds anything back."""
CAN_SHUT = ("quick coupler", "shut-off valve")


@dataclass(frozen=True, slots=True)
class Section:
    """nodes reached from a port; parts with a port there (the ones that end it among them), in the order of writing."""

    nodes: frozenset[int]
    parts: tuple[str, ...]
    lines: tuple[str, ...]


def section(case: Case, node: int, without: tuple[str, ...] = ()) -> Section:
    """What oil at `node` reaches through lines and open ways alone, both ways; not through the reservoir."""
    ways = {p.name for p in case.circuit.parts.values() if p.kind in OPEN_WAYS and p.name not in without}
    lines = set(case.circuit.lines)

    def open_way(part: str, role: str) -> bool:
        return part in lines or part in ways

    nodes = walk.reach(case.network, {node}, walk.EVER, open_way, pilots=False)
    nodes |= walk.reach(case.network, nodes, walk.EVER, open_way, backward=True, pilots=False)
    nodes -= {RESERVOIR}
    parts = dict.fromkeys(part for (part, _), n in case.network.port_nodes.items() if n in nodes)
    within = tuple(n for n, ends in case.network.line_nodes.items() if set(ends) & nodes)
    return Section(frozenset(nodes), tuple(parts), within)


def members(case: Case, found: Section) -> list[Member]:
    """Everything with a rating in a section: ports, conduits, fittings."""
    ports = [
        m
        for _, own in strength.each_port(case)
        for m in own
        if case.network.port_nodes.get((m.owner, m.port)) in found.nodes
    ]
    own = [m for n in found.lines for m in strength.line_members(case, n) if not m.port]
    return [*ports, *own]


def of_kind(case: Case, *kinds: str) -> list[Part]:
    return [p for p in case.circuit.parts.values() if p.kind in kinds]


def top_pressure(case: Case) -> tuple[float, str] | None:
    """Highest pressure at any pump's outlet over the states, Pa, and the state; None without any."""
    r = case.results
    found = [w for p in walk.pumps(case.network) if (w := r.worst(r.node_pressure(p.outlet))) is not None]
    if not found:
        return None
    worst = max(found, key=lambda w: w.value)
    return (worst.value, worst.state) if np.isfinite(worst.value) and worst.value > 0 else None
