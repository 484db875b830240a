"""Invented circuits with made-up solutions, so that the drawing is tested without language and solver.

The numbers are not physics: each node and branch has a value of its own, so that a mixed-up label shows.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from builddoc import kinds
from builddoc.assemble import assemble
from builddoc.checks.base import Finding
from builddoc.circuit import Circuit, Conduit, End, Fitting, Line, Oil, Part, Rating, State, Tie
from builddoc.kinds.base import SpoolOrder
from builddoc.results import Results
from builddoc.solution import Solution, StateSolution, Verdict

HOSE = Conduit("hose", "hose, two-wire -8", 0.0127, 1e-6, Rating(275e5))
PIPE = Conduit("pipe", "1/2 in schedule 40", 0.0158, 4e-5, Rating(150e5))
SUCTION = Conduit("hose", "suction hose", 0.019, 1e-6, None)
TEE = Fitting("malleable tee 1/2 in class 150", 1.0, 1, Rating(20.7e5), low_pressure=True)
OIL = Oil("ISO VG 46", 46e-6, 6.8e-6, 870.0, 318.15)

MILL_PARTS: dict[str, dict[str, Any]] = {
    "tank": {"kind": "reservoir", "volume": "30 L"},
    "engine": {"kind": "engine", "power": "16 hp at 3600 rpm"},
    "pump": {"kind": "pump", "displacement": "10 cc/rev", "speed": "2400 rpm", "driven by": "engine"},
    "bank": {"kind": "directional valve", "centre": "open", "spools": ["lifter", "clamp"], "relief": "150 bar"},
    "second valve": {"kind": "directional valve", "centre": "open", "spools": ["feed"]},
    "raise tee": {"kind": "tee"},
    "lower tee": {"kind": "tee"},
    "left lifter": {"kind": "cylinder", "bore": "63 mm", "rod": "32 mm", "stroke": "600 mm"},
    "right lifter": {"kind": "cylinder", "bore": "63 mm", "rod": "32 mm", "stroke": "600 mm"},
    "clamp ram": {"kind": "cylinder", "bore": "50 mm", "rod": "28 mm", "stroke": "400 mm"},
    "clamp coupler": {"kind": "quick coupler"},
    "feed motor": {"kind": "hydraulic motor", "displacement": "80 cc/rev"},
    "return filter": {"kind": "filter"},
    "gauge": {"kind": "gauge point"},
    "relief": {"kind": "relief valve", "setting": "170 bar"},
    "pump block": {"kind": "tee", "ports": "3"},
}
# name, start, end, conduit, fittings
MILL_LINES: list[tuple[str, str, str, Conduit | None, tuple[Fitting, ...]]] = [
    ("suction", "tank.oil", "pump.inlet", SUCTION, ()),
    ("outlet", "pump.outlet", "pump block.run a", None, ()),
    ("to relief", "pump block.branch", "relief.inlet", None, ()),
    ("relief return", "relief.outlet", "tank.oil", PIPE, ()),
    ("feed", "pump block.run b", "bank.P", HOSE, (TEE,)),
    ("gauge line", "feed at 0.4", "gauge.port", HOSE, ()),
    ("lifter raise", "bank.lifter.A", "raise tee.run a", HOSE, ()),
    ("raise left", "raise tee.run b", "left lifter.rod", HOSE, ()),
    ("raise right", "raise tee.branch", "right lifter.rod", HOSE, ()),
    ("lifter lower", "bank.lifter.B", "lower tee.run a", HOSE, ()),
    ("lower left", "lower tee.run b", "left lifter.cap", HOSE, ()),
    ("lower right", "lower tee.branch", "right lifter.cap", HOSE, ()),
    ("clamp close", "bank.clamp.A", "clamp coupler.A", HOSE, ()),
    ("clamp hose", "clamp coupler.B", "clamp ram.cap", HOSE, ()),
    ("clamp open", "bank.clamp.B", "clamp ram.rod", HOSE, ()),
    ("link", "bank.T", "second valve.P", HOSE, ()),
    ("feed out", "second valve.feed.A", "feed motor.A", HOSE, ()),
    ("feed back", "second valve.feed.B", "feed motor.B", HOSE, ()),
    ("return", "second valve.T", "return filter.inlet", PIPE, ()),
    ("tank return", "return filter.outlet", "tank.oil", PIPE, ()),
]
MILL_STATES: dict[str, dict[tuple[str, str], Any]] = {
    "idling": {},
    "clamp at its stop": {("bank", "clamp"): SpoolOrder("A"), ("clamp ram", "stop"): "extended"},
    "lifting": {("bank", "lifter"): SpoolOrder("A", 0.4), ("engine", "speed"): 300.0},
    "coupler open": {("bank", "clamp"): SpoolOrder("A"), ("clamp coupler", "position"): False},
}
FINDINGS = [
    Finding("a", "finding", "DANGER", "feed", "Tee in the feed line sees 151 bar", state="clamp at its stop"),
    Finding("b", "ok", "WARNING", "return", "not a finding: not marked"),
    Finding("c", "finding", "WARNING", "second valve", "Tank port carries <the> second valve & more"),
    Finding("d", "finding", "CAUTION", "lifter pair", "One arm can carry it all"),
    Finding("e", "finding", "NOTICE", "feed", "Second one at the feed line"),
]


def end(text: str) -> End:
    if " at " in text:
        line, at = text.split(" at ")
        return End(line=line, at=float(at))
    part, port = text.split(".", 1)
    return End(part, port)


def circuit(
    parts: Mapping[str, Mapping[str, Any]] = MILL_PARTS,
    lines: Sequence[tuple[str, str, str, Conduit | None, tuple[Fitting, ...]]] = MILL_LINES,
    states: Mapping[str, Mapping[tuple[str, str], Any]] = MILL_STATES,
    ties: Mapping[str, tuple[str, ...]] | None = None,
    shuffle: int = 0,
) -> Circuit:
    """A circuit from short notes; `shuffle` != 0 writes parts and lines in another order."""
    part_items, line_items = list(parts.items()), list(lines)
    if shuffle:
        source = random.Random(shuffle)
        source.shuffle(part_items)
        source.shuffle(line_items)
    registry = kinds.registry()
    made = {}
    for name, given in part_items:
        keys = dict(given)
        kind = keys.pop("kind")
        made[name] = Part(name, kind, registry[kind].Params(**keys))
    if ties is None and "left lifter" in parts:
        ties = {"lifter pair": ("left lifter", "right lifter")}
    return Circuit(
        "bandsaw mill", "A", "2025-05-18", OIL, made,
        {n: Line(n, end(a), end(b), c, 1.0 if c else 0.0, f) for n, a, b, c, f in line_items},
        {n: State(n, orders, fault=n == "coupler open") for n, orders in states.items()},
        {n: Tie(n, members) for n, members in (ties or {}).items()},
    )  # fmt: skip


def results(made: Circuit, failed: Mapping[int, Verdict] | None = None) -> Results:
    """Made-up numbers that depend on names only: pressures up to 151 bar, flows up to 22.3 L/min, some of them zero; in
    state 0 the gauge's pressure is not fixed."""
    net = assemble(made)
    failed = {3: Verdict.UNBOUNDED} if failed is None else failed
    states = []
    for s in range(net.size):
        if s in failed:
            nodes = sorted({n for (part, _), n in net.port_nodes.items() if part == "pump block"})
            states.append(StateSolution(failed[s], None, *(np.zeros(0) for _ in range(5)), blocked=nodes))
            continue
        p = np.array([0.0, *(_number(name, s) * 151e5 for name in net.nodes[1:])])
        for (part, port), node in net.port_nodes.items():
            if node:
                # A node has many names; the first in the alphabet gives it its value, in whatever order it was written.
                first = min(f"{a}.{b}" for (a, b), n in net.port_nodes.items() if n == node)
                p[node] = _number(first, s) * 151e5
                if s == 1 and (part, port) == ("bank", "P"):
                    p[node] = 151e5
        q = np.zeros(len(net.branches))
        for line, ids in net.line_branches.items():
            value = _number("q" + line, s)
            for k in ids:
                q[k] = 0.0 if value < 0.35 else (2 * value - 1.35) * 22.3 / 60000
        ranges = {}
        if s == 0 and ("gauge", "port") in net.port_nodes:
            ranges = {net.port_nodes["gauge", "port"]: (0.0, 151e5)}
        v = np.array([0.02 + 0.1 * _number(a.part, s) for a in net.actuators])
        none, pumped = np.zeros(len(net.pilots)), np.array([source.q[s] for source in net.sources])
        states.append(StateSolution(Verdict.SOLVED, None, p, q, none, none, v, ranges=ranges, source_q=pumped))
    return Results(made, net, Solution(states))


def _number(name: str, s: int) -> float:
    return random.Random(f"{name}/{s}").random()
