"""Rules on coupler halves that stand apart."""

from __future__ import annotations

from collections.abc import Iterable

from ..kinds.coupler_half import OPEN_END
from .base import Case, Finding, rule
from .words import Units, quoted

STILL = 1e-6  # share of the largest flow of the state below which nothing passes; ours


@rule(
    id="coupler-open-end",
    title="No oil leaves by an open coupler half",
    signal="WARNING",
    reason="The reservoir is pumped empty onto the ground; a jet of oil injures, and whatever it carried falls.",
    criterion="in every state no oil passes a coupler half that has no valve and is in no pair",
    remedy="Fit a half with a valve, join it in this state (a loop of hose), or plug it.",
    source="common practice, no source",
)
def open_end(case: Case) -> Iterable[Finding]:
    r, u = case.results, Units(case.circuit)
    ends = [(k, b) for k, b in enumerate(case.network.branches) if b.role == OPEN_END]
    if not ends:
        yield Finding("coupler-open-end", "does not apply", "WARNING", "", "No coupler half without a valve")
    for k, b in ends:
        place = case.circuit.parts[b.part].place
        largest = [float(abs(state.q).max(initial=0.0)) for state in case.solution.states]
        passing = [s for s in range(r.size) if r.solved[s] and abs(r.q[s, k]) > STILL * largest[s]]
        if not r.solved.any():
            yield Finding("coupler-open-end", "not checked", "WARNING", b.part, f"{b.part}: what passes it is open",
                          missing="a state with figures", place=place)  # fmt: skip
            continue
        if not passing:
            yield Finding("coupler-open-end", "ok", "WARNING", b.part, f"No oil passes {b.part} while it is apart",
                          place=place)  # fmt: skip
            continue
        s = max(passing, key=lambda s: abs(float(r.q[s, k])))
        flow = float(r.q[s, k])
        does = "loses" if flow > 0 else "draws air instead of"
        yield Finding(
            "coupler-open-end", "finding", "WARNING", b.part,
            f"{b.part} stands open and {does} {u.flow(abs(flow))} of oil",
            text=f"It is in no pair and has no valve, in {quoted([r.states[s] for s in passing])}.",
            remedy="Fit a half with a valve, join it in this state (a loop of hose), or plug it.",
            state=r.states[s], figures={"flow": flow}, place=place,
        )  # fmt: skip
