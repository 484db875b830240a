"""Rules on what the builder sees or spills: indicators of filters, couplers without valves, charge of accumulators."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..kinds import registry
from ..kinds.accumulator import Accumulator
from .base import Case, Finding, rule
from .sections import of_kind
from .words import Units


@rule(
    id="filter-indicator",
    title="No filter shows its indicator",
    signal="NOTICE",
    reason="Past its indicator an element is near its bypass: dirt goes round with the oil.",
    criterion="drop over the element at most the setting of the indicator in every state",
    remedy="Change the element; if it is clean, a larger one, or warm oil before full flow.",
    source="common practice, no source",
)
def filter_indicator(case: Case) -> Iterable[Finding]:
    id, u, r = "filter-indicator", Units(case.circuit), case.results
    fitted = False
    for part in of_kind(case, "filter"):
        setting = getattr(part.params, "indicator", None)
        if setting is None:
            continue
        fitted = True
        worst = r.worst(np.abs(r.pressure(part.name, "inlet") - r.pressure(part.name, "outlet")))
        if worst is None:
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: no state fixes the drop over it",
                          missing="a state with figures", place=part.place)  # fmt: skip
            continue
        figures = {"difference": worst.value, "setting": setting, "ratio": worst.value / setting}
        line = (
            f"{part.name} takes {u.both(worst.value, 'pressure difference')}, its indicator comes at "
            f"{u.show(setting, 'pressure difference')}"
        )
        if worst.value <= setting:
            yield Finding(id, "ok", "NOTICE", part.name, line, state=worst.state, figures=figures)
            continue
        yield Finding(
            id, "finding", "NOTICE", part.name, line,
            text="In that state the indicator shows, whether the element is old or the oil cold.",
            remedy="Change the element; if it is clean, a larger one, or warm oil before full flow.",
            state=worst.state, figures=figures, place=part.place,
        )  # fmt: skip
    if not fitted:
        yield Finding(id, "does not apply", "NOTICE", "", "No filter has an indicator")


@rule(
    id="coup-spill",
    title="No coupler spills when it is apart",
    signal="CAUTION",
    reason="A half without a valve lets the oil out and air in: a jet, a slippery floor, a load that comes down.",
    criterion="no flow out of an open half of a coupler that is apart",
    remedy="Couplers with a valve in both halves, or caps that bear the pressure.",
    source="common practice, no source",
)
def coupler_spill(case: Case) -> Iterable[Finding]:
    id, u, r = "coup-spill", Units(case.circuit), case.results
    some = False
    for part in of_kind(case, "quick coupler"):
        roles = [b.role for b in case.network.branches if b.part == part.name and b.role.startswith("spill")]
        if not roles:
            continue
        some = True
        worst = r.worst(np.sum([r.flow(part.name, role) for role in roles], axis=0))
        if worst is None:
            yield Finding(id, "not checked", "CAUTION", part.name, f"{part.name}: what it spills is open",
                          missing="a state with figures", place=part.place)  # fmt: skip
        elif worst.value <= 1e-9:
            yield Finding(id, "ok", "CAUTION", part.name, f"{part.name} has a half without a valve and spills "
                          "nothing in the states given", state=worst.state)  # fmt: skip
        else:
            yield Finding(
                id, "finding", "CAUTION", part.name, f"{part.name}, apart, spills {u.both(worst.value, 'flow')}",
                text="Its half without a valve stands open: the oil leaves the machine, and nothing behind it is held.",
                remedy="Couplers with a valve in both halves, or caps that bear the pressure.",
                state=worst.state, figures={"flow": worst.value}, place=part.place,
            )  # fmt: skip
    if not some:
        yield Finding(id, "does not apply", "CAUTION", "", "No coupler has a half without a valve")


@rule(
    id="acc-gas",
    title="Accumulators are charged to suit the pressures they see",
    signal="WARNING",
    reason="Charged too high it holds nothing, too low its bladder is crushed; charged with air or oxygen it explodes. "
    "It shoots oil out long after the engine stops.",
    criterion="precharge, at the gas temperature at work, at most 90 % of the lowest pressure of the states that "
    "charge it, and the highest at most 4 times the precharge; told: that nothing but dry nitrogen goes in",
    remedy="Dry nitrogen only, a bleed valve and a shut-off at it, a sign that it is charged.",
    source="0.9 and 4:1: common practice, no source; elementary gas law",
)
def accumulator_charge(case: Case) -> Iterable[Finding]:
    id, u, r = "acc-gas", Units(case.circuit), case.results
    kind = registry()["accumulator"]
    assert isinstance(kind, Accumulator)
    parts = of_kind(case, "accumulator")
    for part in parts:
        charge, level = kind.precharge(part), r.pressure(part.name, "oil")
        high = r.worst(level)
        if high is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: no state fixes its pressure",
                          missing="a state that charges it", place=part.place)  # fmt: skip
            continue
        low = r.worst(np.where(level > charge, level, np.nan), lowest=True)
        figures = {"precharge": charge, "highest": high.value}
        if low is None:
            line = f"{part.name} never holds oil: its gas is at {u.both(charge, 'pressure')}, the oil at most at " \
                   f"{u.both(high.value, 'pressure')}"  # fmt: skip
        elif charge > 0.9 * low.value:
            line = f"{part.name}: its gas at {u.both(charge, 'pressure')} is above 90 % of the lowest working " \
                   f"pressure, {u.both(low.value, 'pressure')} in '{low.state}'"  # fmt: skip
        elif high.value > 4.0 * charge:
            line = f"{part.name}: {u.both(high.value, 'pressure')} is more than 4 times its gas at " \
                   f"{u.both(charge, 'pressure')}"  # fmt: skip
        else:
            yield Finding(id, "ok", "WARNING", part.name, f"{part.name}: its gas at {u.both(charge, 'pressure')} suits "
                          f"{u.pressure(low.value)} to {u.pressure(high.value)}", state=high.state,
                          figures=figures)  # fmt: skip
            continue
        yield Finding(
            id, "finding", "WARNING", part.name, line,
            text="Charge it with dry nitrogen and nothing else: oil and air or oxygen under pressure explode.",
            remedy="Dry nitrogen only, a bleed valve and a shut-off at it, a sign that it is charged.",
            state=high.state, figures=figures, place=part.place,
        )  # fmt: skip
    if not parts:
        yield Finding(id, "does not apply", "WARNING", "", "No accumulator in this circuit")
