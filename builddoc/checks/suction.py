"""Rule on the pressure at a pump's inlet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..network import Bools
from ..results import Worst
from ..standards.guides import pump_inlet
from . import walk
from .base import Case, Finding, rule
from .walk import Pump
from .words import Units

COLD = "cold start"  # the sort of fault, see `circuit.FAULTS`
SAME_TEMPERATURE = 0.5  # K; a state counts as the coldest start within this


def lowest_inlet(case: Case, part: str) -> float:
    """Pa gauge; what the pump's own parameters state, else the published caution level."""
    stated = getattr(case.circuit.parts[part].params, "lowest_inlet_pressure", None)
    return float(stated) if stated is not None else pump_inlet(case.circuit.tables).caution


@rule(
    id="suct-vacuum",
    title="The pump gets oil at its inlet",
    signal="NOTICE",
    reason="Below its lowest inlet pressure a pump cavitates: it rattles, wears and loses flow just when a load is up.",
    criterion="inlet pressure in every state, the coldest start among them, not below the lowest the pump allows",
    remedy="A wider and shorter suction line, the reservoir above the pump, a larger strainer; warm up at idle.",
    source="the pump's own sheet; else 5 inHg vacuum: US Army TM 5-3820-256-24-2 para 7-1.1; another listing: 12 psi "
    "absolute (both seen as excerpts)",
)
def suction_vacuum(case: Case) -> Iterable[Finding]:
    pumps = walk.pumps(case.network)
    for pump in pumps:
        yield from _inlet(case, pump, case.results.solved)
        yield from _cold(case, pump)
    if not pumps:
        yield Finding("suct-vacuum", "does not apply", "NOTICE", "", "No pump in this circuit")


def tried_cold(case: Case, part: str) -> Iterator[Finding]:
    """The inlet of a pump at the coldest start that was tried as a fault. Nothing where it is left open: the declared
    states that are tried were not all kept and settled, and those that are hold."""
    states = list(case.circuit.states.values())
    declared = [s.name for s in states if not s.fault and s.oil_temperature is None]
    rows = np.array([s.tried is not None and s.tried.sort == COLD for s in states]) & case.results.solved
    kept = {s.tried.state for s, row in zip(states, rows, strict=True) if row and s.tried}
    for pump in walk.pumps(case.network):
        if pump.part == part and (rows & (pump.flow > 0)).any():
            for found in _inlet(case, pump, rows & (pump.flow > 0)):
                if found.outcome == "finding" or kept.issuperset(declared):
                    yield found


def _inlet(case: Case, pump: Pump, among: Bools) -> Iterator[Finding]:
    """among: (S,) bool, the states that count."""
    id, u, r = "suct-vacuum", Units(case.circuit), case.results
    place = case.circuit.parts[pump.part].place
    limit = lowest_inlet(case, pump.part)
    worst = r.worst(np.where(among, r.node_pressure(pump.inlet), np.nan), lowest=True)
    starved = [int(s) for s in np.flatnonzero(among) if case.solution.states[s].void.get(pump.inlet, 0.0) > 0]
    if worst is None:
        yield Finding(
            id, "not checked", "NOTICE", pump.part, f"{pump.part}: no state gives a pressure at its inlet",
            missing="a state with figures", place=place,
        )  # fmt: skip
    elif worst.value < limit:
        figures = {"pressure": worst.value, "limit": limit}
        s = max(starved, key=lambda i: case.solution.states[i].void[pump.inlet], default=-1)
        cannot, at = "", f"is at {u.both(worst.value, 'pressure')}"
        if s >= 0:
            lacks = case.solution.states[s].void[pump.inlet]
            worst = Worst(worst.value, s, r.states[s])
            delivers = u.flow(float(pump.delivery(r)[s]))
            cannot = f" The oil cannot follow: {u.flow(lacks)} are missing, the pump delivers {delivers}."
            at = f"is starved: it lacks {u.both(lacks, 'flow')}"
            figures["missing flow"] = lacks
        yield Finding(
            id, "finding", "NOTICE", pump.part,
            f"The inlet of {pump.part} {at}; lowest pressure allowed {u.both(limit, 'pressure')}",
            text=f"The pump cavitates there: it rattles and wears.{cannot}",
            remedy="A wider, shorter suction line, the reservoir above the pump, a larger strainer; warm up at idle.",
            state=worst.state, figures=figures, place=place,
        )  # fmt: skip
    else:
        yield Finding(
            id, "ok", "NOTICE", pump.part,
            f"The inlet of {pump.part} is at {u.pressure(worst.value)} or more, allowed {u.pressure(limit)}",
            state=worst.state, figures={"pressure": worst.value, "limit": limit},
        )  # fmt: skip


def _cold(case: Case, pump: Pump) -> Iterator[Finding]:
    """The coldest start decides about the suction side: say so where no state shows it."""
    id, u, oil = "suct-vacuum", Units(case.circuit), case.circuit.oil
    place = case.circuit.parts[pump.part].place
    temperatures = case.results.temperature
    if oil.coldest is None:
        missing = "the coldest start of the oil, and a state at that temperature"
        headline = f"The inlet of {pump.part} at the coldest start: nobody stated how cold that is"
    else:
        cold = case.results.solved & (np.asarray(temperatures) <= oil.coldest + SAME_TEMPERATURE) & (pump.flow > 0)
        if cold.any():
            return
        missing = f"a solved state with an oil temperature of {u.show(oil.coldest, 'temperature')}"
        cold_text = u.show(oil.coldest, "temperature")
        headline = f"The inlet of {pump.part} at the coldest start, {cold_text}: no state shows it"
    yield Finding(id, "not checked", "NOTICE", pump.part, headline, missing=missing, place=place)
