"""Table of the envelope: highest and lowest pressure of every line, what is screwed into it and every port over all
states and tried faults, with the state and the effect that made it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..checks import strength
from ..checks.base import Case
from ..checks.closed import Closed, closed, warming
from ..checks.words import Units, listed
from ..faults import Trial
from .cells import Scale, at_least, text_column, words
from .effect import effect
from .model import Cell, Table

_SHUT_IN = "shut in: heat or a load can raise it"


def envelope_table(declared: Case, tried: Trial) -> Table:
    """One row per line, per fitting in it and per port of a part; the state that made a figure stands under it.
    declared: without the faults; what is shut in there is counted warmed."""
    case = tried.case
    r, net = case.results, case.network
    places: list[tuple[str, str, tuple[int, ...], set[int]]] = []
    for name in case.circuit.lines:
        along = tuple(sorted(strength.line_nodes(net, name)))
        fitted = dict.fromkeys(f"{name}: {m.label}" for m in strength.line_members(case, name) if m.fitting)
        own = strength.line_nodes(declared.network, name)
        places += [(label, name, along, own) for label in (name, *fitted)]
    for (part, port), node in net.port_nodes.items():
        places.append((f"{part}.{port}", part, (node,), {declared.network.port_nodes[part, port]}))
    level = Scale(Units(case.circuit), "pressure", [abs(float(v)) for v in r.p[r.fixed]])
    warmed = [one for one in closed(declared) if one.rises]
    rows = []
    for label, subject, nodes, own in places:
        table = np.array([r.node_pressure(node) for node in nodes])
        high, low = strength.seen(case, set(nodes)), r.worst(np.fmin.reduce(table), lowest=True)
        shut_in = any(node in state.ranges for state in case.solution.states for node in nodes)
        open_note = "in some states shut in: higher is possible" if shut_in else ""
        hot = max((c for c in warmed if c.nodes & own), key=lambda c: c.most, default=None)
        if high is None:
            blank = words("open" if shut_in else "—", subject=subject, flag="range" if shut_in else "failed")
            why = words("oil shut in, at whatever pressure was there" if shut_in else "")
            top, made = _hot(declared, level, hot, own, blank, why) if hot is not None else (blank, why)
            rows.append((words(label, open_note, subject=subject), top, made, blank, words("")))
            continue
        top = level.cell(high.value, high.state, subject=subject)
        top = at_least(top) if high.least else top
        top_node = _at(case, nodes, high.index, high.value)
        made = words(effect(case, top_node, high.index), _SHUT_IN if high.least else "")
        if hot is not None and hot.most > high.value:
            top, made = _hot(declared, level, hot, own, top, made)
        rows.append(
            (
                words(label, open_note, subject=subject), top, made,
                level.cell(low.value, low.state, subject=subject) if low else words("open", flag="range"),
                words(effect(case, _at(case, nodes, low.index, low.value), low.index) if low else "oil shut in"),
            )
        )
    columns = (
        text_column("Place"), level.column("Highest pressure"), text_column("What makes it"),
        level.column("Lowest pressure"), text_column("What makes it so low"),
    )  # fmt: skip
    caption = _caption(tried)
    if any(one.most > one.low for one in warmed):
        hotter = warming(Units(case.circuit))
        caption += f". Oil that nothing lets out counts {hotter} warmer, as in the table of oil that is shut in"
    return Table("envelope", "Envelope", caption, columns, tuple(rows))


def _hot(case: Case, level: Scale, hot: Closed, nodes: set[int], top: Cell, made: Cell) -> tuple[Cell, Cell]:
    """Cells of a place whose shut-in oil gets to its highest pressure by warming; top, made: without that."""
    note = f"{hot.state}, {warming(Units(case.circuit))} warmer"
    most = level.cell(hot.most, note, subject=top.subject, flag="range")
    least = level.text(hot.least)
    s = case.results.states.index(hot.state)
    kept = effect(case, min(hot.nodes & nodes), s)
    before = "" if kept in ("the reservoir", "oil shut in") else f", on top of {kept}"
    why = f"oil shut in and warmed{before}"
    return (
        most if least == most.text else replace(most, text=f"{least} to {most.text}"),
        words(why, f"not warmed: {top.text}{f' {level.unit}, {_last(top.note)}' if top.note else ''}: {made.text}"),
    )


def _last(note: str) -> str:
    """The state in a note, behind the figure in the second unit."""
    return note.split(" · ")[-1]


def _caption(tried: Trial) -> str:
    r = tried.case.results
    failed = [s for s in tried.names if not r.solved[r.states.index(s)]]
    text = f"Over all declared states and {len(tried.names)} faults tried without being asked"
    if failed:
        text += f"; without figures: {listed(failed, len(failed))}"
    return text + ". What is screwed into a line is taken to see what the line sees anywhere along it"


def _at(case: Case, nodes: tuple[int, ...], s: int, value: float) -> int:
    """The node of a place that has the extreme figure in state `s`."""

    def miss(node: int) -> float:
        low, _ = case.solution.states[s].ranges.get(node, (float(case.results.p[s, node]), 0.0))
        return abs(low - value)

    return min(nodes, key=miss)
