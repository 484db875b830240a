"""Rules on how reliefs are set: against each other, against what the machine needs, and against their flow."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import numpy as np

from . import walk
from .base import Case, Finding, rule
from .flows import MOSTLY, relief_share
from .loads import STANDS, hung
from .reliefs import guard_at
from .sections import feeders, section
from .walk import Limiter
from .words import Units, capital, listed, percent

DIRECT, PILOTED = 0.85, 0.90
APART, APART_SHARE = 35e5, 0.15
RISE = 1.10
ROUNDED = 1.02
"""A stated flow this little short of what is needed is a matter of rounding."""


def keys_of(case: Case, item: Limiter) -> object:
    """The keys (setting, override, pilot operated, rated flow) of a relief: those of the part, or of its `relief`."""
    params = case.circuit.parts[item.part].params
    return params if hasattr(params, "pilot_operated") else getattr(params, "relief", params)


def guarded(case: Case) -> list[tuple[walk.Pump, list[Limiter]]]:
    """Every pump with the reliefs that can be reached from it in some state, lowest setting first."""
    result = []
    for pump in walk.pumps(case.network):
        found = {(i.part, i.role): i for state in guard_at(case, pump.part, pump.outlet).by_state for i in state}
        result.append((pump, sorted(found.values(), key=lambda i: i.setting)))
    return result


def acting(case: Case, *nodes: int) -> list[Limiter]:
    """Reliefs that a pump meets on its way to work ports at `nodes`: not those that stand at another work port."""
    own = {n for node in nodes for n in section(case, node).nodes}
    ends = {n for a in (*case.network.actuators, *case.network.tied) for n in a.k} - own
    elsewhere = {n for node in ends for n in section(case, node).nodes} - own
    found = {(i.part, i.role): i for _, items in guarded(case) for i in items}
    return [i for i in found.values() if not i.inlets(case.network) & elsewhere]


def limit(case: Case, *nodes: int) -> float | None:
    """Pa, the lowest setting of the reliefs that a pump's oil meets on its way to work ports at `nodes` (none named: to
    any); where several pumps feed them, that of the pump that can go highest (of two pumps with an unloading valve the
    small one). None without a relief."""

    def fed(part: str, role: str) -> bool:
        return not role.endswith(" to T")

    network, acts = case.network, {(i.part, i.role) for i in acting(case, *nodes)}
    before = walk.reach(network, set(nodes), walk.EVER, fed, backward=True, rotors=True, upstream=False)
    if not any(p.outlet in before for p in walk.pumps(network)):  # no state feeds it: whatever is met anywhere
        before = set(range(len(network.nodes)))
    feeding, found = {p.outlet for p in feeders(case, frozenset(nodes))}, []
    for pump, items in guarded(case):
        met = [i.setting for i in items if (i.part, i.role) in acts and i.inlets(network) & before]
        if met and pump.outlet in feeding:
            found.append(min(met))
    return max(found, default=None)


def _none(id: str) -> Finding:
    return Finding(id, "does not apply", "NOTICE", "", "No relief can be reached from a pump")


@rule(
    id="relief-override",
    title="A relief at full flow stands near its setting",
    signal="NOTICE",
    reason="A relief that was set at idle lets the pressure climb far above the figure on the page at full speed.",
    criterion="highest pressure across the relief in any state at most 1.1 times its setting",
    remedy="Set it at working speed with warm oil and a gauge at the guarded point, and write down speed and "
    "temperature.",
    source="the relief's own curve, solved; 10 %: common practice, no source",
)
def override(case: Case) -> Iterable[Finding]:
    id, u, r = "relief-override", Units(case.circuit), case.results
    reliefs = walk.limiters(case.circuit, case.network)
    for item in reliefs:
        flow = item.flow(r)
        worst = r.worst(flow)
        if worst is None:
            yield Finding(id, "not checked", "NOTICE", item.part, f"{item.label}: how far it is driven is open",
                          missing="a state with figures")  # fmt: skip
            continue
        if worst.value <= 0:
            yield Finding(id, "does not apply", "NOTICE", item.part, f"{item.label} passes no oil in any solved state")
            continue
        rise = item.setting + _slope(case, item) * worst.value
        figures = {"pressure": rise, "setting": item.setting, "share of setting": rise / item.setting}
        takes = f"takes {u.both(rise, 'pressure')} for {u.flow(worst.value)}"
        line = f"{item.label}, set to {u.pressure(item.setting)}, {takes}"
        if rise <= RISE * item.setting:
            yield Finding(id, "ok", "NOTICE", item.part, line, state=worst.state, figures=figures)
            continue
        given = getattr(keys_of(case, item), "override", None) is not None
        yield Finding(
            id, "finding", "NOTICE", item.part, f"{line}: {percent(rise / item.setting - 1)} above its setting",
            text="Ratings are checked against the higher figure."
            + ("" if given else " Its override is assumed: give that of its sheet, it may be far less."),
            remedy="Set it at working speed with warm oil and a gauge at the guarded point; write down speed and "
            "temperature.",
            state=worst.state, figures=figures, place=case.circuit.parts[item.part].place,
        )  # fmt: skip
    if not reliefs:
        yield _none(id)


def _slope(case: Case, item: Limiter) -> float:
    slope = getattr(keys_of(case, item), "slope", None)
    return float(slope()) if slope is not None else 0.0


@rule(
    id="relief-working-margin",
    title="Work is done well below the relief's setting",
    signal="NOTICE",
    reason="A relief weeps before it opens: near its setting functions are slow, hot, and stop when the oil is warm.",
    criterion="pressure at the pump in every state in which less than half of its flow goes over reliefs at most 85 % "
    "of the lowest setting that its oil reaches in that state (90 % pilot operated; not of a relief that guards only "
    "the priority side of a divider, or what is behind a reducing valve); CAUTION where a load that hangs or stands on "
    "oil is lifted in it",
    remedy="A larger bore or less load, before the relief is set higher.",
    source="common practice, no source",
)
def working_margin(case: Case) -> Iterable[Finding]:
    id, u, r = "relief-working-margin", Units(case.circuit), case.results
    pumps = guarded(case)
    for pump, items in pumps:
        if not items:
            yield Finding(id, "does not apply", "NOTICE", pump.part, f"{pump.part}: no relief can be reached from it")
            continue
        level, used = r.node_pressure(pump.outlet), np.full(r.size, np.nan)
        lowest = [min(state, key=lambda i: i.setting, default=None) for state in _reached(case, pump)]
        for s, first in enumerate(lowest):
            if first is not None and r.solved[s] and relief_share(case, s).share < MOSTLY:
                used[s] = level[s] / (first.setting * _margin(case, first))
        tightest = r.worst(used)
        item = lowest[tightest.index] if tightest else None
        if tightest is None or item is None:
            yield Finding(id, "not checked", "NOTICE", pump.part, f"{pump.part}: no state shows it at work",
                          missing="a state in which its flow does something")  # fmt: skip
            continue
        pressure, share = float(level[tightest.index]), _margin(case, item)
        figures = {"pressure": pressure, "setting": item.setting, "share of setting": pressure / item.setting}
        line = (
            f"{pump.part} works at up to {u.both(pressure, 'pressure')}, {percent(pressure / item.setting)} of the "
            f"{u.pressure(item.setting)} of {item.label}"
        )
        if tightest.value <= 1.0:
            yield Finding(id, "ok", "NOTICE", pump.part, line, state=tightest.state, figures=figures)
            continue
        lifts = _lifted(case, tightest.index)
        stalls = f" {capital(listed(lifts))} can stop half way up, under the load." if lifts else ""
        yield Finding(
            id, "finding", "CAUTION" if lifts else "NOTICE", pump.part, line,
            text=f"Usual is at most {percent(share)}. A relief weeps before it opens, more so when it is warm or worn."
            f"{stalls}",
            remedy="A larger bore or less load, before the relief is set higher.",
            state=tightest.state, figures=figures, place=case.circuit.parts[item.part].place,
        )  # fmt: skip
    if not pumps:
        yield _none(id)


def _lifted(case: Case, s: int) -> list[str]:
    """Rods that move against a load in state `s` and carry a load on oil alone in another."""
    found = dict.fromkeys(h.part.name for h in hung(case))
    speeds = {n: float(case.results.speed(n, "rod")[s]) for n in found}
    return [n for n, v in speeds.items() if abs(v) > STANDS and v * _load(case, n, s) > 0]


def _load(case: Case, name: str, s: int) -> float:
    """N on a rod or on its tie in state `s`, + resists extending."""
    names = [name, *(tie.name for tie in case.circuit.ties.values() if name in tie.parts)]
    return sum(float(case.results.orders(n, "load")[s] or 0.0) for n in names)


def _reached(case: Case, pump: walk.Pump) -> list[list[Limiter]]:
    """Reliefs that the pump's oil can reach and that limit its pressure, state by state."""
    guard = guard_at(case, pump.part, pump.outlet)
    return [guard.limiting(s) for s in range(case.network.size)]


def _margin(case: Case, item: Limiter) -> float:
    """Share of its setting below which a relief stays tight."""
    return PILOTED if getattr(keys_of(case, item), "pilot_operated", False) else DIRECT


@rule(
    id="relief-order",
    title="Reliefs that one pump feeds are set clearly apart",
    signal="NOTICE",
    reason="Two reliefs set close together open together or the wrong one first: neither limits what it was meant for.",
    criterion="settings of any two reliefs at which the pressure of one pump stands in the same state differ by 35 bar "
    "or 15 %, whichever is less",
    remedy="Order them: working pressure, main relief, port reliefs, then the weakest rating.",
    source="common practice; a military loader manual sets main and port reliefs 700 psi apart (seen as an excerpt)",
)
def relief_order(case: Case) -> Iterable[Finding]:
    id, u, several = "relief-order", Units(case.circuit), False
    told: set[tuple[str, str]] = set()
    for pump, items in guarded(case):
        together = [{i.label for i in state} for state in _reached(case, pump)]
        for low, high in combinations(items, 2):
            if (low.label, high.label) in told or not any({low.label, high.label} <= state for state in together):
                continue
            told.add((low.label, high.label))
            several = True
            apart = high.setting - low.setting
            line = f"{low.label} is set to {u.pressure(low.setting)}, {high.label} to {u.pressure(high.setting)}"
            figures = {"apart": apart}
            if apart >= min(APART, APART_SHARE * low.setting):
                yield Finding(id, "ok", "NOTICE", high.part, line, figures=figures)
                continue
            yield Finding(
                id, "finding", "NOTICE", high.part, f"{line}: too close to say which opens first",
                text=f"The pressure of {pump.part} stands at both. A gauge and two springs differ by more than that.",
                remedy="Set them clearly apart, the one that is to open first lower.", figures=figures,
                place=case.circuit.parts[high.part].place,
            )  # fmt: skip
    if not several:
        yield Finding(id, "does not apply", "NOTICE", "", "No state has two reliefs at the pressure of one pump")


def stated_flow(case: Case, item: Limiter) -> float | None:
    """m3/s up to which the writer knows what a relief does: its rated flow, or the flow of its override; None = not
    stated."""
    keys = keys_of(case, item)
    if "rated_flow" in getattr(keys, "model_fields_set", ()):
        return float(getattr(keys, "rated_flow"))  # noqa: B009
    stated = getattr(keys, "override", None)
    return None if stated is None else float(stated.at)


@rule(
    id="relief-capacity",
    title="A relief can pass all the flow that may reach it",
    signal="WARNING",
    reason="A relief that is too small lets the pressure climb far above its setting.",
    criterion="rated flow of the relief (or the flow at which its override is stated) >= the flow it passes in "
    "any state, "
    "and that of every pump that it alone guards",
    remedy="Fit a relief rated for the whole pump flow at the highest speed.",
    source="a trade answer on reliefs of fixed pumps (seen as an excerpt); mass balance",
)
def capacity(case: Case) -> Iterable[Finding]:
    id, u, r = "relief-capacity", Units(case.circuit), case.results
    alone: dict[tuple[str, str], float] = {}
    for pump, items in guarded(case):
        if len(items) == 1:
            key = (items[0].part, items[0].role)
            alone[key] = alone.get(key, 0.0) + float(np.max(pump.flow))
    reliefs = walk.limiters(case.circuit, case.network)
    for item in reliefs:
        passes = r.worst(item.flow(r))
        needed = max(passes.value if passes else 0.0, alone.get((item.part, item.role), 0.0))
        rated = stated_flow(case, item)
        place = case.circuit.parts[item.part].place
        if needed <= 0:
            yield Finding(id, "does not apply", "WARNING", item.part, f"No pump's flow reaches {item.label}")
        elif rated is None:
            yield Finding(
                id, "not checked", "WARNING", item.part,
                f"{item.label} may have to pass {u.both(needed, 'flow')}: nobody stated what it can",
                missing="its rated flow, or its override at a flow", figures={"flow": needed}, place=place,
            )  # fmt: skip
        elif needed <= rated * ROUNDED:
            yield Finding(id, "ok", "WARNING", item.part,
                          f"{item.label} passes {u.flow(needed)}, rated {u.flow(rated)}",
                          figures={"flow": needed, "rating": rated})  # fmt: skip
        else:
            yield Finding(
                id, "finding", "WARNING", item.part,
                f"{item.label} may have to pass {u.both(needed, 'flow')}, its figures end at {u.both(rated, 'flow')}",
                text="Beyond its rated flow the pressure climbs far above the setting; an engine that over-revs "
                "adds to it.",
                remedy="Fit a relief rated for the whole pump flow at the highest speed, or state its curve up to it.",
                figures={"flow": needed, "rating": rated, "ratio": needed / rated}, place=place,
            )  # fmt: skip
    if not reliefs:
        yield Finding(id, "does not apply", "WARNING", "", "No relief in this circuit")
