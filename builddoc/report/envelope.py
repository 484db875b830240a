"""Table of the envelope: highest and lowest pressure of every line and port over all states and tried faults."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .. import kinds
from ..checks import strength
from ..checks.base import Case
from ..checks.words import Units, listed
from ..faults import Trial
from ..network import Actuator
from .cells import Scale, text_column, words
from .model import Cell, Table

_NEAR = 0.9  # share of an open relief's inlet pressure from which a place counts as held by it; ours


def envelope_table(tried: Trial) -> Table:
    """One row per line and per port of a part; the state that made a figure stands under it."""
    case = tried.case
    r, net = case.results, case.network
    places: list[tuple[str, str, tuple[int, ...]]] = [
        (name, name, tuple(dict.fromkeys(net.line_nodes[name]))) for name in case.circuit.lines
    ]
    places += [(f"{part}.{port}", part, (node,)) for (part, port), node in net.port_nodes.items()]
    level = Scale(Units(case.circuit), "pressure", [abs(float(v)) for v in r.p[r.fixed]])
    rows = []
    for label, subject, nodes in places:
        table = np.array([r.node_pressure(node) for node in nodes])
        high, low = strength.seen(case, set(nodes)), r.worst(np.fmin.reduce(table), lowest=True)
        shut_in = any(node in state.ranges for state in case.solution.states for node in nodes)
        open_note = "in some states shut in: higher is possible" if shut_in else ""
        if high is None:
            blank = words("open" if shut_in else "—", flag="range" if shut_in else "failed")
            rows.append((words(label, open_note, subject=subject), blank, words(""), blank))
            continue
        top = level.cell(high.value, high.state, subject=subject)
        rows.append(
            (
                words(label, open_note, subject=subject),
                replace(top, text=f"≥ {top.text}", flag="range") if high.least else top,
                _effect(case, nodes, high),
                level.cell(low.value, low.state, subject=subject) if low else words("open", flag="range"),
            )
        )
    columns = (
        text_column("Place"), level.column("Highest pressure"), text_column("What governs it"),
        level.column("Lowest pressure"),
    )  # fmt: skip
    return Table("envelope", "Envelope", _caption(tried), columns, tuple(rows))


def _caption(tried: Trial) -> str:
    r = tried.case.results
    failed = [s for s in tried.names if not r.solved[r.states.index(s)]]
    text = f"Over all declared states and {len(tried.names)} faults tried without being asked"
    if failed:
        text += f"; without figures: {listed(failed, len(failed))}"
    return text


def _effect(case: Case, nodes: tuple[int, ...], high: strength.Seen) -> Cell:
    """Which effect makes the highest pressure of a place, read from the solution of the state that made it. Shut-in oil
    has the least pressure that the state allows."""
    r, net, s, p = case.results, case.network, high.index, high.value
    note = "shut in: heat or a load can raise it" if high.least else ""
    if p <= 0:
        return words("the reservoir")
    pumps = [r.p[s, source.node] for k, source in enumerate(net.sources) if r.source_q[s, k] > 0]
    rods = [a for a in net.actuators if any(a.k.get(node) for node in nodes)]
    if p > max(pumps, default=0.0) * 1.001:
        ranges = case.solution.states[s].ranges
        for rod in (*rods, *net.actuators):  # its own rod first, else one that stands at this pressure
            for node in rod.k:
                at = ranges[node][0] if node in ranges else r.p[s, node]
                if node in nodes or _NEAR * p <= at <= p / _NEAR:
                    return words(_by_rod(case, node, s, rod), note)
        return words("more than any pump gives: not worked out", note)
    for part in case.circuit.parts.values():
        for relief in kinds.registry()[part.kind].reliefs(part.params):
            for k, branch in enumerate(net.branches):
                flowing = branch.part == part.name and branch.role == relief.role and r.q[s, k] > 0
                if flowing and _NEAR <= p / r.p[s, branch.i] <= 1 / _NEAR:
                    return words(f"relief of {part.name}, open", note)
    loaded = [a.part for a in rods if a.force[s] != 0]
    if loaded:
        return words(f"load on {listed(loaded)} and losses", note)
    return words("losses and loads downstream", note)


def _by_rod(case: Case, node: int, s: int, rod: Actuator) -> str:
    """Above every pump: k p = force - sum of the other ports' k p; the larger of the two shares governs."""
    ranges = case.solution.states[s].ranges
    others = {m: k * (ranges[m][0] if m in ranges else case.results.p[s, m]) for m, k in rod.k.items() if m != node}
    by_load, by_others = rod.force[s] / rod.k[node], -sum(others.values()) / rod.k[node]
    return f"load on {rod.part}" if by_load >= by_others else f"intensification in {rod.part}"
