"""Facts on oil that is shut in: which volumes, what pressure they keep, and what warming adds."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from ..network import RESERVOIR, Actuator
from ..nodes import UnionFind
from ..physics import trapped
from ..solver.limits import P_BURST
from . import strength, walk
from .base import Case, once
from .sections import of_kind, top_pressure
from .strength import Member
from .words import Units

WARMING = 30.0
"""K; a machine parked cold that the sun warms. Assumption, common practice, no source."""
SOFT = 1.4e9
"""Pa; bulk modulus of oil as it is found in machines, with a little air; from memory."""
HOSE = 1.0
"""Give of a hose as a share of that of the oil in it: about half the rise is left; from memory."""
_UNBOUND = 0.999 * P_BURST
HELD = 1e5
"""Pa; a fixed pressure below this is none worth a row."""
LEAKY = ("directional valve",)
"""Kinds that shut with a spool: a slow rise escapes past its clearance. Common practice, no source."""


def warming(units: Units) -> str:
    """`30 K`, in the leading system."""
    return units.show(WARMING, "temperature difference")


@dataclass(frozen=True, slots=True)
class Closed:
    """A volume that no passage leaves in a state. SI.

    nodes, lines, rods: what it consists of. low: Pa it has at least; fixed: the load sets it, so that the rod gives
    way when the oil warms. by_load: Pa that the loads make, 0 = none. intensified: Pa if the other side of its
    cylinder is driven by the pump meanwhile, nan = not possible. least, most: Pa after `WARMING`: with hoses giving
    way, and in stiff walls. creeps: its rod may move into the other side, which a spool shuts and which leaks: then
    warming moves the rod, and `least` is what it keeps. squeezed: `most` has the ratio of areas in it. limit: Pa
    above which the state lets it out, inf = nothing does. guards: reliefs at it. spool: it is shut by a spool.
    store: an accumulator in it takes the oil up. weakest: member with the lowest rating. unrated: members that
    nobody rated. volume: m3 of its lines. hoses: share of them.
    """

    state: str
    nodes: frozenset[int]
    lines: tuple[str, ...]
    rods: tuple[str, ...]
    low: float
    fixed: bool
    by_load: float
    intensified: float
    least: float
    most: float
    limit: float
    guards: tuple[str, ...]
    spool: str
    store: str
    weakest: Member | None
    unrated: tuple[str, ...]
    volume: float
    hoses: float
    creeps: bool = False
    squeezed: bool = False
    others: tuple[str, ...] = field(default=(), compare=False)  # more states in which it is shut in

    @property
    def subject(self) -> str:
        return next(iter((*self.rods, *self.lines)), "")

    @property
    def rises(self) -> bool:
        """Warming raises its pressure: nothing gives way and nothing leaks."""
        return not (self.fixed or self.spool or self.store)


@once
def closed(case: Case) -> tuple[Closed, ...]:
    """Each closed volume once, in the declared state in which it gets the highest pressure."""
    found: dict[frozenset[int], list[Closed]] = {}
    for s, state in enumerate(case.circuit.states.values()):
        if case.results.solved[s] and not state.fault:
            for one in _in_state(case, s):
                found.setdefault(one.nodes, []).append(one)
    worst = []
    for alike in found.values():
        top = max(alike, key=lambda c: (c.rises, c.most, c.low))
        others = tuple(c.state for c in alike if c is not top)
        worst.append(replace(top, others=others))
    return tuple(worst)


def _in_state(case: Case, s: int) -> Iterator[Closed]:
    net, ranges = case.network, case.solution.states[s].ranges
    for nodes in rooms(case, s):
        rods = [(k, a) for k, a in enumerate(net.actuators) if a.role == "rod" and nodes & a.k.keys()]
        lines = tuple(n for n, ends in net.line_nodes.items() if set(ends) <= nodes and net.line_branches[n])
        if not (rods or lines) or not _shut(case, s, nodes):
            continue
        open_nodes = [n for n in nodes if n in ranges]
        if not open_nodes and float(np.max(case.results.p[s, list(nodes)])) < HELD:
            continue
        yield _measured(case, s, nodes, [a for _, a in rods], lines, open_nodes)


@once
def rooms(case: Case, s: int) -> tuple[frozenset[int], ...]:
    """Nodes joined by passages that are open both ways in a state, without the reservoir."""
    sets = UnionFind()
    for node in range(len(case.network.nodes)):
        sets.find(node)
    for b in case.network.branches:
        if not b.leak and b.lo[s] < 0 < b.hi[s]:
            sets.join(b.i, b.j)
    found: dict[object, set[int]] = {}
    for node in range(len(case.network.nodes)):
        found.setdefault(sets.find(node), set()).add(node)
    return tuple(frozenset(room) for room in found.values() if RESERVOIR not in room)


def _shut(case: Case, s: int, nodes: frozenset[int]) -> bool:
    """Nothing flows in or out, nothing leaks, and no rod or shaft at it moves."""
    net, r = case.network, case.results
    still = 1e-6 * max(float(np.nanmax(np.abs(r.q[s]), initial=0.0)), 1e-9)
    for k, source in enumerate(net.sources):
        if source.node in nodes and abs(r.source_q[s, k]) > still:
            return False
    for k, b in enumerate(net.branches):
        if (b.i in nodes) != (b.j in nodes) and ((b.leak and b.hi[s] > b.lo[s]) or not abs(r.q[s, k]) <= still):
            return False
    for k, c in enumerate(net.pilots):
        if (c.i in nodes) != (c.j in nodes) and not abs(r.pilot_q[s, k]) <= still:
            return False
    moved = [abs(r.v[s, k]) * max(map(abs, a.k.values())) for k, a in enumerate(net.actuators) if nodes & a.k.keys()]
    return all(q <= still for q in moved)


def _measured(
    case: Case, s: int, nodes: frozenset[int], rods: list[Actuator], lines: tuple[str, ...], open_nodes: list[int]
) -> Closed:
    net, ranges = case.network, case.solution.states[s].ranges
    if open_nodes:
        low = max(0.0, *(ranges[n][0] for n in open_nodes))
        limit = min(ranges[n][1] for n in open_nodes)
    else:
        low = limit = float(np.max(case.results.p[s, list(nodes)]))
    if limit > _UNBOUND or any(ranges.get(n, (0.0, 0.0))[1] > _UNBOUND for a in rods for n in a.k):
        limit = math.inf  # nothing holds it, or only the solver's own bound on the other side of a piston
    fixed = not open_nodes
    volume, hoses = _volumes(case, s, lines, nodes, rods)
    boost = max((_boost(case, s, a, nodes) for a in rods), default=1.0)
    stiff = float(trapped.thermal_rise(WARMING)) * boost
    soft = float(trapped.thermal_rise(WARMING, bulk_modulus=SOFT)) / (1.0 + HOSE * hoses)
    spool = _spool(case, nodes)
    store = next((p.name for p in of_kind(case, "accumulator") if net.port_nodes[p.name, "oil"] in nodes), "")
    grows, by_load = not (fixed or spool or store), max((_by_load(a, s, nodes) for a in rods), default=0.0)
    creeps = grows and any(_creeps(case, s, a, nodes) for a in rods)
    least = max(low, min(by_load, limit)) if creeps else low + soft
    members = _members(case, nodes, lines)
    own = [limiter for limiter in _limiters(case) if limiter.inlets(net) & nodes]
    return Closed(
        case.results.states[s], nodes, lines, tuple(dict.fromkeys(_names(case, rods, nodes))), low, fixed,
        by_load, _intensified(case, rods, nodes),
        min(least, limit) if grows else low, min(low + stiff, limit) if grows else low, limit,
        tuple(limiter.label for limiter in own), spool, store, strength.weakest(members),
        tuple(dict.fromkeys(m.label for m in members if m.value is None)), volume, hoses, creeps,
        grows and boost > 1.0,
    )  # fmt: skip


def _names(case: Case, rods: list[Actuator], nodes: frozenset[int]) -> Iterator[str]:
    """Names of the cylinders that have a side there; a tie stands for its members."""
    tied = [a for a in case.network.tied if nodes & a.k.keys()]
    for rod in rods:
        yield from [a.part for a in tied if a.part in _members_of(case, rod.part)] or [rod.part]


def _members_of(case: Case, name: str) -> tuple[str, ...]:
    return case.circuit.ties[name].parts if name in case.circuit.ties else (name,)


def _volumes(
    case: Case, s: int, lines: tuple[str, ...], nodes: frozenset[int], rods: list[Actuator]
) -> tuple[float, float]:
    """m3 of the lines, and the share of hoses in the smallest volume that the stroke leaves."""
    own = [case.circuit.lines[name] for name in lines]
    each = [(math.pi / 4 * line.conduit.bore**2 * line.length, line.conduit.kind) for line in own if line.conduit]
    total = sum(v for v, _ in each)
    soft = sum(v for v, kind in each if kind == "hose")
    chambers = sum(_least_chamber(case, s, rod, nodes) for rod in rods)
    return total, soft / (total + chambers) if total else 0.0


def _least_chamber(case: Case, s: int, rod: Actuator, nodes: frozenset[int]) -> float:
    """m3 that the sides of a cylinder there hold at least: the whole side at its stop, else nothing that is certain."""
    stroke = _stroke(case, rod)
    retracted, extended = rod.lo[s] == 0.0, rod.hi[s] == 0.0
    if not stroke or retracted == extended:
        return 0.0
    return float(sum(abs(k) * stroke for node, k in rod.k.items() if node in nodes and (k > 0) == extended))


def _stroke(case: Case, rod: Actuator) -> float | None:
    """m of a rod, or of the stage that it is; None where nobody says or a tie stands for several rods."""
    if rod.part not in case.circuit.parts:
        return None
    params = case.circuit.parts[rod.part].params
    stages = getattr(params, "stages", None)
    if stages is None:
        return getattr(params, "stroke", None)
    own = [a for a in case.network.actuators if a.part == rod.part]
    return float(next(stage.stroke for stage, a in zip(stages, own, strict=True) if a is rod))


def _boost(case: Case, s: int, rod: Actuator, nodes: frozenset[int]) -> float:
    """How many times the stiff rise the ring side gets at most when both sides of a cylinder are shut in and the rod
    may move out: warming pushes the rod out, which squeezes the ring side, at most by the ratio of areas.

    With a fixed rod both sides rise by beta K dT. A free one keeps A_cap dp_cap = A_ring dp_ring, and near the end of
    the stroke the small ring volume follows the large cap volume: dp_ring = A_cap / A_ring x beta K dT.
    """
    ranges = case.solution.states[s].ranges
    ring = -sum(k for node, k in rod.k.items() if node in nodes and k < 0)
    cap = sum(k for node, k in rod.k.items() if node not in nodes and k > 0 and node in ranges)
    if rod.hi[s] == 0.0 or ring <= 0 or any(k > 0 for node, k in rod.k.items() if node in nodes):
        return 1.0
    return max(1.0, cap / ring)


def _spool(case: Case, nodes: frozenset[int]) -> str:
    """The part whose spool shuts a volume, "" if none does."""
    parts, branches = case.circuit.parts, case.network.branches
    bounding = {b.part for b in branches if (b.i in nodes) != (b.j in nodes)}
    return next((n for n in parts if n in bounding and parts[n].kind in LEAKY), "")


def _creeps(case: Case, s: int, rod: Actuator, nodes: frozenset[int]) -> bool:
    """Whether warming may move the rod instead of raising the pressure: it is at no stop that way, and every volume on
    its other side is shut by a spool, which leaks."""
    area = sum(k for node, k in rod.k.items() if node in nodes)
    stopped = rod.hi[s] == 0.0 if area > 0 else rod.lo[s] == 0.0
    across = [room for room in rooms(case, s) if room & (rod.k.keys() - nodes)]
    return not stopped and area != 0 and bool(across) and all(_spool(case, room) for room in across)


def _by_load(rod: Actuator, s: int, nodes: frozenset[int]) -> float:
    """Pa that the load makes on the side that carries it, with nothing on the other side."""
    loads = [float(rod.force[s]) / k for node, k in rod.k.items() if node in nodes]
    return max((p for p in loads if p > 0), default=0.0)


def _intensified(case: Case, rods: list[Actuator], nodes: frozenset[int]) -> float:
    """Pa on the smaller side of a cylinder while the pump's highest pressure drives the larger one and there is no
    load; nan if no side there is the smaller one."""
    top = top_pressure(case, frozenset(node for rod in rods for node in rod.k) - nodes)
    ratios = []
    for rod in rods:
        ring = -sum(k for node, k in rod.k.items() if node in nodes and k < 0)
        cap = sum(k for node, k in rod.k.items() if node not in nodes and k > 0)
        if ring > 0 and cap > ring:
            ratios.append(cap / ring)
    return top[0] * max(ratios) if top is not None and ratios else math.nan


@once
def _members(case: Case, nodes: frozenset[int], lines: tuple[str, ...]) -> list[Member]:
    """What has a rating there: ports, conduits, fittings."""
    ports = [m for m in _ports(case) if case.network.port_nodes.get((m.owner, m.port)) in nodes]
    return ports + [m for name in lines for m in strength.line_members(case, name) if not m.port]


@once
def _ports(case: Case) -> list[Member]:
    return [m for _, own in strength.each_port(case) for m in own]


@once
def _limiters(case: Case) -> list[walk.Limiter]:
    return walk.limiters(case.circuit, case.network)
