"""Flow through direct joints: they are no passages of the network, but what passes them follows from the rest.

Around every node lie the ports that share it (the ports of a tee count as one), joined by direct lines. What each port
takes in is known from its part, what each line brings from its own flow; so where the direct lines form no ring, the
flow in each of them is what lies behind it.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from . import kinds
from .circuit import Line
from .network import Array
from .nodes import TANK, UnionFind, end_key, points_on, port_key, tap_key

if TYPE_CHECKING:
    from .results import Results


def joint_flows(r: Results) -> dict[str, Array]:
    """m3/s (S,) through every direct joint, positive from start to end; without those whose flow is not unique."""
    direct = [line for line in r.circuit.lines.values() if line.conduit is None]
    if not direct:
        return {}
    spots = UnionFind()
    for part in r.circuit.parts.values():
        for group in kinds.registry()[part.kind].joined(part.params):
            for other in group[1:]:
                spots.join(port_key(part.name, group[0]), port_key(part.name, other))
        for name in kinds.registry()[part.kind].at_reservoir(part.params):
            spots.join(TANK, port_key(part.name, name))
    edges: dict[Hashable, list[tuple[Line, Hashable]]] = {}
    ends = [(spots.find(end_key(line.start, r.circuit)), spots.find(end_key(line.end, r.circuit))) for line in direct]
    for line, (a, b) in zip(direct, ends, strict=True):
        edges.setdefault(a, []).append((line, b))
        edges.setdefault(b, []).append((line, a))
    gain = _gains(r, spots, edges)
    found = {}
    for line, (start, end) in zip(direct, ends, strict=True):
        if start == end:
            continue
        flow = _behind(end, line, edges, gain, spots)
        if flow is None:
            flow = _behind(start, line, edges, gain, spots)
            flow = None if flow is None else -flow
        if flow is not None:
            found[line.name] = flow
    return found


def _behind(
    spot: Hashable,
    line: Line,
    edges: dict[Hashable, list[tuple[Line, Hashable]]],
    gain: dict[Hashable, Array | None],
    spots: UnionFind,
) -> Array | None:
    """What the spots beyond `line` take in together; None if one is open (the reservoir) or a ring leads back."""
    total: Array | None = None
    seen, waiting = {spot}, [(spot, line)]
    while waiting:
        here, came = waiting.pop()
        own = gain.get(here, np.zeros(1))
        if own is None or here == spots.find(TANK):
            return None
        total = own if total is None else total + own
        for other, there in edges[here]:
            if other is came:
                continue
            if there in seen:
                return None
            seen.add(there)
            waiting.append((there, other))
    return total


def _gains(r: Results, spots: UnionFind, wanted: Collection[Hashable]) -> dict[Hashable, Array | None]:
    """m3/s that leave each wanted spot into its parts and lines; None where a part has more than one spot at the same
    node."""
    net, gain = r.network, {}
    at_node: dict[tuple[str, int], set[Hashable]] = {}
    for (part, port), node in net.port_nodes.items():
        at_node.setdefault((part, node), set()).add(spots.find(port_key(part, port)))
    for (part, node), own in at_node.items():
        for spot in own.intersection(wanted):
            gain[spot] = taken_in(r, part, node) if len(own) == 1 else None
    tapped = {end.line for line in r.circuit.lines.values() for end in (line.start, line.end)}
    for line in r.circuit.lines.values():
        runs = net.line_branches[line.name]
        if not runs:
            continue
        _add(gain, spots.find(end_key(line.start, r.circuit)), wanted, r.q[:, runs[0]])
        _add(gain, spots.find(end_key(line.end, r.circuit)), wanted, -r.q[:, runs[-1]])
        points = points_on(r.circuit, line) if line.name in tapped else []
        for at, (before, behind) in zip(points, pairwise(runs), strict=True):
            _add(gain, spots.find(tap_key(line.name, at)), wanted, r.q[:, behind] - r.q[:, before])
    return gain


def _add(gain: dict[Hashable, Array | None], spot: Hashable, wanted: Collection[Hashable], flow: Array) -> None:
    if spot not in wanted:
        return
    known = gain.get(spot, np.zeros(1))
    gain[spot] = None if known is None else known + flow


def taken_in(r: Results, part: str, node: int) -> Array:
    """m3/s that a part takes in at a node, (S,)."""
    total = np.where(r.solved, 0.0, np.nan)
    own, net = r.of_part(part), r.network
    for k in own.branches:
        b = net.branches[k]
        if node in (b.i, b.j):
            total = total + ((b.i == node) - float(b.j == node)) * r.q[:, k]
    for k in own.pilots:
        c = net.pilots[k]
        if node in (c.i, c.j):
            total = total + ((c.i == node) - float(c.j == node)) * r.pilot_q[:, k]
    for k in own.sources:
        if net.sources[k].node == node:
            total = total - r.source_q[:, k]
    for k in own.actuators:  # each by its own speed: a part may have several stages
        rod = net.actuators[k]
        if node in rod.k:
            total = total + rod.k[node] * r.v[:, k]
    for rod in r.network.tied:
        if rod.part == part and node in rod.k:
            total = total + rod.k[node] * r.speed(part, rod.role)
    return total
