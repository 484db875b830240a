"""Rule on valves that shut above a flow."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from .base import Case, Finding, rule
from .sections import of_kind
from .words import Units


@rule(
    id="fuse-would-trip",
    title="A velocity fuse stays open where it is taken as open",
    signal="WARNING",
    reason="The figures of such a state are those of an open valve; the real one shuts, and the load stops hard.",
    criterion="in no state that has it open, more than its trip flow passes from load to V",
    remedy="Lower more slowly, or choose a higher trip flow; give a state with the fuse `tripped` to see what follows.",
    source="common practice, no source",
)
def would_trip(case: Case) -> Iterable[Finding]:
    id, u, r = "fuse-would-trip", Units(case.circuit), case.results
    fuses = of_kind(case, "velocity fuse")
    for part in fuses:
        trip = float(part.params.trip_flow)  # type: ignore[attr-defined]
        out = -r.flow(part.name, "passage")
        figures, limit = {"trip flow": trip}, u.both(trip, "flow")
        if np.isnan(out).all():
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: no state has figures",
                          missing="a state with figures", place=part.place)  # fmt: skip
            continue
        s = int(np.nanargmax(out))
        flow, figures["flow"] = u.both(max(float(out[s]), 0.0), "flow"), float(out[s])
        if out[s] > trip:
            yield Finding(
                id, "finding", "WARNING", part.name, f"{part.name} would trip: {flow} pass, trip flow {limit}",
                text="The figures of this state are those of the open valve. The real one shuts before that.",
                remedy="Lower more slowly or choose a higher trip flow; give a state that orders it `tripped`.",
                state=r.states[s], figures=figures | {"ratio": float(out[s]) / trip}, place=part.place,
            )  # fmt: skip
        else:
            yield Finding(id, "ok", "WARNING", part.name, f"{part.name} stays open: at most {flow}, trip flow {limit}",
                          state=r.states[s], figures=figures)  # fmt: skip
    if not fuses:
        yield Finding(id, "does not apply", "WARNING", "", "The circuit has no velocity fuse")
