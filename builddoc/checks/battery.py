"""Rules on battery-driven pumps: current, cable, fuse, time."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from .. import kinds
from ..kinds.dc_motor import DCMotorParams
from . import heat
from .base import Case, Finding, rule
from .outcomes import About
from .sections import of_kind
from .words import Units, listed, percent

MOST_DROP = 0.10
"""Share of the battery's voltage that a cable may lose; common practice, no source."""


@rule(
    id="power-dc-duty",
    title="A battery pack has the cable, the fuse and the time for its work",
    signal="WARNING",
    reason="Cables without a fuse burn; a motor over its time burns out, with the load half way up.",
    criterion="current I = shaft power / (efficiency x voltage) in the worst state: voltage lost in the cable at most "
    "10 %, fuse stated and at least I, longest full stroke at most the longest on-time",
    remedy="A fuse or breaker at the battery, a thicker or shorter cable, a rest between strokes.",
    source="resistance of copper (from memory); 10 %: common practice, no source",
)
def duty(case: Case) -> Iterable[Finding]:
    id, u, r = "power-dc-duty", Units(case.circuit), case.results
    motors = of_kind(case, "DC motor")
    asked = {demand.driver: demand for demand in heat.demands(case)}
    for part in motors:
        about, params = About(id, part.name, part.place), part.params
        assert isinstance(params, DCMotorParams)
        worst = r.worst(asked[part.name].power) if part.name in asked else None
        if worst is None:
            yield about.unchecked(f"{part.name}: its current is open", "a state with figures, and a pump on it")
            continue
        current = params.current(worst.value)
        drop, stroke = params.cable_drop(current), _longest(case)
        line = f"{part.name} draws {u.both(current, 'current')}, in '{worst.state}'"
        figures = {"current": current} | ({"drop": drop} if drop is not None else {})
        wrong = []
        if drop is not None and drop > MOST_DROP * params.voltage:
            wrong.append(f"its cable loses {u.both(drop, 'voltage')}, {percent(drop / params.voltage)}")
        if params.fused is False:
            wrong.append("no fuse is at the battery")
        if params.fuse is not None and params.fuse < current:
            wrong.append(f"its fuse is rated {u.both(params.fuse, 'current')}")
        if params.longest_on_time is not None and stroke > params.longest_on_time:
            wrong.append(f"a stroke takes {u.both(stroke, 'time')} of {u.both(params.longest_on_time, 'time')} allowed")
        fuse = 0.0 if params.fused is False else params.fuse
        unstated = [name for name, value in (
            ("'cable' and 'cable loop'", drop), ("'fuse'", fuse), ("'longest on time'", params.longest_on_time),
        ) if value is None]  # fmt: skip
        if wrong:
            also = f" Nobody stated {listed(unstated)}." if unstated else ""
            yield about.finding(f"{line}: {listed(wrong)}", f"It gets hot, slows down, or burns.{also}",
                                state=worst.state, figures=figures)  # fmt: skip
        elif unstated:
            yield about.unchecked(line, listed(unstated), figures=figures)
        else:
            yield about.ok(line, state=worst.state, figures=figures)
    if not motors:
        yield About(id).none("No battery motor in this circuit")


def _longest(case: Case) -> float:
    """s of the longest full stroke out in a state that is no fault; 0 without any."""
    times = [0.0]
    parts = case.circuit.parts.values()
    motions = [m for part in parts for m in kinds.registry()[part.kind].motions(part, case.results).values()]
    for found in motions:
        if found.stroke_time is None:
            continue
        for s, name in enumerate(case.results.states):
            state = case.circuit.states[name]
            if not state.fault and found.speed[s] > 0 and np.isfinite(found.stroke_time[s]):
                times.append(float(found.stroke_time[s]))
    return max(times)
