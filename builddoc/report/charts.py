"""Charts of power and heat: one bar per state. What the table of heat says in figures, for the eye."""

from __future__ import annotations

import math

import numpy as np

from ..checks import heat
from ..checks.base import Case
from ..checks.words import Units
from .model import Bar, Chart

LEAST = 1.0  # W; below it in every state there is nothing to draw


def charts(case: Case) -> tuple[Chart, ...]:
    """Power against the driver, heat against what is given off; none for a single state, where the table is clearer."""
    if sum(case.results.solved) < 2:
        return ()
    return tuple(chart for chart in (_power(case), _heat(case)) if chart is not None)


def _power(case: Case) -> Chart | None:
    """Shaft power of all pumps, and what their drivers can give in that state; no mark where one says nothing."""
    r, u, asked = case.results, Units(case.circuit), heat.demands(case)
    total = sum((d.power for d in asked), np.zeros(r.size))
    if not asked or not float(np.nanmax(np.where(r.solved, total, 0.0))) > LEAST:
        return None
    supply = sum((d.supply if d.supply is not None else np.full(r.size, np.nan) for d in asked), np.zeros(r.size))
    bars = []
    for s, state in enumerate(r.states):
        if not r.solved[s]:
            bars.append(Bar(state, text="no figures"))
            continue
        watts, given = float(total[s]), float(supply[s])
        text = u.show(watts, "power")
        if not math.isnan(given):
            text += " of " + u.show(given, "power") if given > 0 else ", driver stands"
        bars.append(Bar(state, (watts,), text, math.nan if given <= 0 else given, watts > given > 0))
    return Chart(
        "power-chart", "Power asked of the driver",
        "Bar: shaft power of the pumps. Upright mark: what the driver can give in that state (for hours, a "
        "battery motor for its on-time).",
        ("shaft power",), tuple(bars),
    )  # fmt: skip


def _heat(case: Case) -> Chart | None:
    """Heat into the oil, that over reliefs apart; and what reservoir and coolers give off at the oil's limit."""
    r, u, circuit = case.results, Units(case.circuit), case.circuit
    into, relief = np.array([watts for watts, _ in heat.warmings(case)]), heat.over_reliefs(case)
    if not float(np.nanmax(np.where(r.solved, into, 0.0))) > LEAST:
        return None
    cooled = heat.sink(circuit).conductance * (circuit.oil.limit - circuit.ambient)
    bars = []
    for s, state in enumerate(r.states):
        if not r.solved[s] or math.isnan(into[s]):
            bars.append(Bar(state, text="no figures" if not r.solved[s] else "not known"))
            continue
        over = min(max(float(relief[s]), 0.0), max(float(into[s]), 0.0))
        watts = (over, max(float(into[s]) - over, 0.0))
        bars.append(Bar(state, watts, u.show(float(into[s]), "power")))
    limit, air = (u.show(t, "temperature") for t in (circuit.oil.limit, circuit.ambient))
    caption = (
        f"Dashed: {u.show(cooled, 'power')}, what reservoir and coolers give off with oil at {limit} and air at "
        f"{air}. A state beyond it, if it lasted, would heat the oil past that."
    ) if cooled > 0 else "No cooling is stated."
    return Chart("heat-chart", "Heat into the oil", caption, ("over reliefs", "elsewhere"), tuple(bars), cooled)
