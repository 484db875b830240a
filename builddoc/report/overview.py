"""Key figures, failures and the table of states."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from .. import quantities
from ..checks import heat, strength, walk
from ..checks.base import Case
from ..checks.orders import state_words
from ..checks.states import node_words
from ..checks.unsolved import explain
from ..checks.words import Units, listed, minutes, percent
from ..kinds.base import BY_HAND
from ..solution import Verdict
from .cells import DASH, Scale, at_least, text_column, words
from .model import Cell, Failure, KeyFigure, Table

VERDICTS = {
    Verdict.SOLVED: "solved",
    Verdict.UNBOUNDED: "no way out for the flow",
    Verdict.OVER_LIMIT: "no way out below 1000 bar",
    Verdict.RUNAWAY: "a load runs away",
    Verdict.NOT_CONVERGED: "not converged",
    Verdict.SPLIT_OPEN: "flows not fixed by the data",
}


def where(case: Case, node: int) -> str:
    """A place for a key figure: a line at the node if there is one, else its ports."""
    lines = [n for n, ends in case.network.line_nodes.items() if node in ends]
    return listed(lines, 2) or node_words(case, node)


def top_cell(case: Case, level: Scale, top: strength.Top | None) -> Cell:
    """The highest pressure of a state and where."""
    if top is None:
        return words(DASH, flag="failed")
    cell = level.cell(top.value, where(case, top.node))
    return at_least(cell) if top.least else cell


def key_figures(case: Case) -> tuple[KeyFigure, ...]:
    """Pump flow, highest pressure and where, engine load, heat into the oil. Left out where no state has figures."""
    r, u = case.results, Units(case.circuit)
    found: list[KeyFigure] = []
    pumps = walk.pumps(case.network)
    delivered = sum((p.delivery(r) for p in pumps), np.zeros(r.size))
    flow = r.worst(delivered) if pumps else None
    if flow:
        same = r.solved.all() and np.ptp(delivered) <= 1e-6 * flow.value
        found.append(_figure(u, "Pump flow", flow.value, "flow", "in every state" if same else f"in '{flow.state}'"))
    tops = {state: top for s, state in enumerate(r.states) if (top := strength.highest(case, s))}
    if tops:
        state, top = max(tops.items(), key=lambda item: item[1].value)
        figure = _figure(u, "Highest pressure", top.value, "pressure", f"{where(case, top.node)}, in '{state}'")
        found.append(replace(figure, text=f"≥ {figure.text}") if top.least else figure)
    for demand in heat.demands(case):
        most = r.worst(demand.power)
        if most is None:
            continue
        note = f"in '{most.state}'"
        supply = demand.supply[most.index] if demand.supply is not None else math.nan
        if supply > 0:
            gives = f"{u.power(float(supply))} {heat.lasts(case, demand.driver)}"
            note = f"{percent(most.value / supply)} of {gives}, {note}"
        label = f"Load of {demand.driver}" if demand.driver else "Shaft power"
        if demand.driver == BY_HAND:
            label = "Power by hand"
        found.append(_figure(u, label, most.value, "power", note))
    warmings = heat.warmings(case)
    watts = np.array([watts for watts, _ in warmings])
    lasting = np.where(heat.one_stroke(case), np.nan, watts)
    warmest = r.worst(watts if np.isnan(lasting).all() else lasting) if pumps else None
    if warmest:
        warm = warmings[warmest.index][1]
        note = f"in '{warmest.state}'"
        if warm and warm.rate > 0:
            limit = u.show(case.circuit.oil.limit, "temperature")
            rate = u.show(warm.rate * 60, "temperature difference")
            note = f"all losses: +{rate} per minute; {limit} after {minutes(warm.uncooled)}, {note}"
        found.append(_figure(u, "Heat into the oil", warmest.value, "power", note))
    return tuple(found)


def _figure(u: Units, label: str, value: float, dimension: str, note: str) -> KeyFigure:
    text, unit = quantities.number(value, dimension, u.first)
    return KeyFigure(label, text, unit, note, u.other(value, dimension))


def failures(case: Case) -> tuple[Failure, ...]:
    """Every state without figures, with the reason."""
    found = []
    for s, state in enumerate(case.results.states):
        if not case.results.solved[s]:
            reason = explain(case, s)
            found.append(Failure(state, reason.headline, reason.text, reason.remedy))
    return tuple(found)


def states_table(case: Case) -> Table:
    """What each state orders, and what came of it."""
    r, u = case.results, Units(case.circuit)
    pumps = walk.pumps(case.network)
    flow = sum((p.delivery(r) for p in pumps), np.zeros(r.size))
    tops = [strength.highest(case, s) for s in range(r.size)]
    level = Scale(u, "pressure", [top.value for top in tops if top])
    flows = Scale(u, "flow", [float(f) for f in flow])
    heat_of = Scale(u, "temperature", [float(t) for t in r.temperature])
    rows = []
    for s, state in enumerate(r.states):
        ok = bool(r.solved[s])
        top = top_cell(case, level, tops[s])
        rows.append(
            (
                words(state, "fault" if case.circuit.states[state].fault else ""),
                words("; ".join(state_words(case.circuit, state)) or "as plumbed"),
                heat_of.cell(float(r.temperature[s])),
                flows.cell(float(flow[s])) if ok else words(DASH, flag="failed"),
                top,
                words(VERDICTS[case.solution.states[s].verdict], flag="" if ok else "failed"),
            )
        )
    columns = (
        text_column("State"), text_column("Ordered"), heat_of.column("Oil"), flows.column("Pump flow"),
        level.column("Highest pressure"), text_column("Answer"),
    )  # fmt: skip
    caption = "A part that a state does not mention stands in its rest position"
    return Table("states", "States", caption, columns, tuple(rows))
