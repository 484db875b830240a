"""Rules on gauges, couplers and filters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..circuit import Part
from ..network import Array
from ..physics import oil as laws
from ..standards import gauge_guide
from . import strength, walk
from .base import Case, Finding, Signal, rule
from .outcomes import About
from .sections import of_kind, section, top_pressure
from .words import Units, percent

COUPLER_DROP = 1e5
ABOVE = 1.1
"""Times the pumps' highest pressure from where a gauge at the pump misleads. Common practice, no source."""
RESIDUAL = 1e5
"""Pa that a hand still joins a coupler against. Common practice, no source."""


@rule(
    id="gauge-points",
    title="Pump pressure can be read, and what a piston multiplies",
    signal="NOTICE",
    reason="A relief set by ear is set wrong, and what is predicted here is never compared with the machine.",
    criterion="a gauge or test point stands at the outlet of every pump, before any valve, and at every side of a "
    "cylinder that sees more than 1.1 times the highest pressure of the pumps",
    remedy="A threaded test point with a cap, named as on this page.",
    source="common practice, no source",
)
def gauge_points(case: Case) -> Iterable[Finding]:
    id, pumps = "gauge-points", walk.pumps(case.network)
    gauges = {p.name for p in of_kind(case, "gauge point")}
    for pump in pumps:
        ports = [p for (part, p), n in case.network.port_nodes.items() if part == pump.part and n == pump.outlet]
        several = sum(other.part == pump.part for other in pumps) > 1
        name = f"{pump.part}.{ports[0]}" if several and ports else pump.part
        seen = gauges & set(section(case, pump.outlet).parts)
        ahead = seen or gauges & _ahead(case, pump.outlet)
        if ahead:
            yield Finding(id, "ok", "NOTICE", name, f"The pressure of {name} is read at {sorted(ahead)[0]}")
        else:
            yield Finding(
                id, "finding", "NOTICE", name, f"No gauge or test point shows the pressure of {name}",
                text="Its relief would be set by ear, and no figure of this page could be checked.",
                remedy="A threaded test point with a cap, named as on this page.",
                place=case.circuit.parts[pump.part].place,
            )  # fmt: skip
    yield from _multiplied(case, gauges)
    if not pumps:
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")


def _multiplied(case: Case, gauges: set[str]) -> Iterator[Finding]:
    """Sides of cylinders that get above all pumps, where no gauge shows it."""
    u, top = Units(case.circuit), top_pressure(case)
    for part in of_kind(case, "cylinder") if top is not None else ():
        assert top is not None
        for port in ("cap", "rod"):
            node = case.network.port_nodes[part.name, port]
            seen = strength.seen(case, {node})
            if seen is None or seen.value <= ABOVE * top[0]:
                continue
            say, shown = About("gauge-points", part.name, part.place), gauges & set(section(case, node).parts)
            figures = {"pressure": seen.value, "pump": top[0]}
            line = f"{part.name}.{port} gets to {seen.words}{u.both(seen.value, 'pressure')}"
            if shown:
                yield say.ok(f"{line}; it is read at {min(shown)}", state=seen.state, figures=figures)
            else:
                yield say.finding(
                    f"{line}, and no gauge or test point shows it",
                    f"A gauge at the pump shows {u.both(top[0], 'pressure')} at most.", state=seen.state,
                    figures=figures, remedy="A threaded test point with a cap on that side, on a scale for it.",
                )  # fmt: skip


def _ahead(case: Case, outlet: int) -> set[str]:
    """Parts behind a check valve that the pump's oil passes: they show its pressure when it delivers."""
    checks = [p.name for p in of_kind(case, "check valve")]
    nodes = set(section(case, outlet).nodes)
    for b in case.network.branches:
        if b.part in checks and b.i in nodes:
            nodes |= section(case, b.j).nodes
    return {part for (part, _), n in case.network.port_nodes.items() if n in nodes}


@rule(
    id="coup-flow",
    title="Couplers take little pressure",
    signal="NOTICE",
    reason="A small coupler turns power into heat and puts back pressure on what returns through it.",
    criterion="drop of every joined coupler at most 1 bar at the largest flow of any state",
    remedy="The next size.",
    source="one selection guide aims at less than 1 bar at the continuous flow; common practice, no source",
)
def coupler_flow(case: Case) -> Iterable[Finding]:
    id, u, r = "coup-flow", Units(case.circuit), case.results
    couplers = of_kind(case, "quick coupler")
    for part in couplers:
        flow = r.worst(np.abs(r.flow(part.name, "passage")))
        if flow is None:
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: no state gives a flow in it",
                          missing="a state with figures", place=part.place)  # fmt: skip
            continue
        pair = part.params.drop  # type: ignore[attr-defined]
        drop = pair.value * (flow.value / pair.at) ** 2
        given = "drop" in part.params.model_fields_set
        figures = {"drop": drop, "flow": flow.value}
        line = f"{part.name} takes {u.both(drop, 'pressure difference')} at {u.both(flow.value, 'flow')}"
        if drop <= COUPLER_DROP:
            yield Finding(id, "ok", "NOTICE", part.name, line, state=flow.state, figures=figures)
            continue
        yield Finding(
            id, "finding", "NOTICE", part.name, line,
            text=f"That is {u.power(drop * flow.value)} of heat." + ("" if given else " Its drop is assumed."),
            remedy="The next size.", state=flow.state, figures=figures, place=part.place,
        )  # fmt: skip
    if not couplers:
        yield Finding(id, "does not apply", "NOTICE", "", "No quick coupler in this circuit")


@rule(
    id="filt-bypass-cold",
    title="A filter does not choke on cold oil",
    signal="NOTICE",
    reason="Cold oil goes past the element every winter morning; without a bypass the element or the bowl gives way.",
    criterion="drop of the clean element, in proportion to the viscosity at the coldest start and at the "
    "largest flow of any "
    "state, at most the bypass setting; without a bypass at most the rating (WARNING where the drop is stated)",
    remedy="A larger element, or a warm-up at idle.",
    source="a filter-sizing paper: drop in proportion to flow and viscosity (seen as an excerpt)",
)
def cold_filter(case: Case) -> Iterable[Finding]:
    id, u, r, oil = "filt-bypass-cold", Units(case.circuit), case.results, case.circuit.oil
    filters = of_kind(case, "filter")
    for part in filters:
        flow = r.worst(np.abs(r.flow(part.name, "element") + _bypassed(case, part.name)))
        if flow is None:
            yield Finding(id, "not checked", "NOTICE", part.name, f"{part.name}: no state gives a flow in it",
                          missing="a state with figures", place=part.place)  # fmt: skip
            continue
        params = part.params
        cold = min([float(t) for t in r.temperature] + ([oil.coldest] if oil.coldest is not None else []))
        thicker = float(
            laws.viscosity(oil.nu40, oil.nu100, cold) / laws.viscosity(oil.nu40, oil.nu100, oil.temperature)
        )
        drop = params.drop.value * flow.value / params.drop.at * max(thicker, 1.0)  # type: ignore[attr-defined]
        bypass = params.bypass  # type: ignore[attr-defined]
        limit = bypass if bypass is not None else (params.rating.value if params.rating else None)
        at = f"{u.flow(flow.value)} at {u.show(cold, 'temperature')}"
        line = f"{part.name} would take {u.both(drop, 'pressure difference')} for {at}"
        figures = {"drop": drop, "flow": flow.value}
        if limit is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{line}, and has no bypass",
                          missing="its rating, or a bypass", figures=figures, place=part.place)  # fmt: skip
        elif drop <= limit:
            yield Finding(id, "ok", "NOTICE", part.name, line, state=flow.state, figures=figures)
        else:
            given = "drop" in params.model_fields_set
            signal: Signal = "WARNING" if bypass is None and given else "NOTICE"
            opens = f": its bypass opens at {u.pressure(limit)}" if bypass is not None else \
                f", without a bypass, rated {u.pressure(limit)}"
            yield Finding(
                id, "finding", signal, part.name, f"{line}{opens}",
                text="Its drop grows with the oil's viscosity; the solved states leave that out. "
                + ("" if given else "Its drop is assumed. ")
                + ("Element or bowl gives way." if bypass is None else "Cold oil goes past unfiltered."),
                remedy="A larger element, or a warm-up at idle.", state=flow.state, figures=figures, place=part.place,
            )  # fmt: skip
    if not filters:
        yield Finding(id, "does not apply", "NOTICE", "", "No filter in this circuit")


def _bypassed(case: Case, part: str) -> Array:
    try:
        return case.results.flow(part, "bypass")
    except KeyError:
        return np.zeros(case.results.size)


@rule(
    id="gauge-range",
    title="A gauge's scale fits its pressure",
    signal="NOTICE",
    reason="It reads uselessly, or its tube bursts.",
    criterion="highest pressure in 25 to 75 % of `range` (at the low end the setting of a relief beside it counts); "
    "WARNING where it is above the range",
    remedy="A scale about twice the working pressure; a rod side that multiplies pressure needs more; damped.",
    source="the table of gauges (see the standards pages): EN 837-2, from memory; the low end: common practice, no "
    "source",
)
def gauge_range(case: Case) -> Iterable[Finding]:
    id, u, gauges, guide = "gauge-range", Units(case.circuit), of_kind(case, "gauge point"), gauge_guide()
    for part in gauges:
        say, top = About(id, part.name, part.place), part.params.range  # type: ignore[attr-defined]
        seen = strength.seen(case, {case.network.port_nodes[part.name, "port"]})
        if top is None or seen is None:
            yield say.unchecked(f"{part.name}: how its scale fits is open",
                                "its range" if top is None else "a state with figures")  # fmt: skip
            continue
        figures = {"pressure": seen.value, "range": top}
        line = f"{part.name} shows up to {seen.words}{u.both(seen.value, 'pressure')} on a scale to {u.pressure(top)}"
        if seen.value > top:
            yield say.finding(line, "Its tube is bent for good, or bursts.", signal="WARNING", state=seen.state,
                              figures=figures)  # fmt: skip
        elif not guide.low * top <= max(seen.value, _opens(case, part)) or seen.value > guide.high * top:
            why = "It hardly leaves its stop." if seen.value < top / 2 else "A spike goes past the end of the scale."
            usual = f" Usual is {percent(guide.low)} to {percent(guide.high)} of the scale ({guide.status})."
            yield say.finding(line, why + usual, state=seen.state, figures=figures)
        else:
            yield say.ok(line, state=seen.state, figures=figures)
    if not gauges:
        yield About(id).none("No gauge in this circuit")


def _opens(case: Case, gauge: Part) -> float:
    """Pa, the highest setting of a relief whose inlet the gauge shows."""
    near = section(case, case.network.port_nodes[gauge.name, "port"]).nodes
    reliefs = walk.limiters(case.circuit, case.network)
    return max((i.setting for i in reliefs if i.inlets(case.network) & near), default=0.0)


@rule(
    id="coup-pressure-connect",
    title="Couplers are not joined or parted under pressure",
    signal="WARNING",
    reason="Under pressure halves do not join, or they fly apart and oil sprays.",
    criterion="in every solved state in which it is apart, and in every one in which all pumps stand, the pressure at "
    "both halves at most 1 bar above `joins at` (0 where that is left out)",
    remedy="Stop the engine, lower the load, move each lever; a bleed at the half that stays under pressure.",
    source="ISO 16028 couplers are not for connecting under pressure (seen as an excerpt); 29 CFR 1926.956",
)
def coupler_pressure(case: Case) -> Iterable[Finding]:
    id, u, r = "coup-pressure-connect", Units(case.circuit), case.results
    couplers = of_kind(case, "quick coupler")
    pumps = walk.pumps(case.network)
    still = [s for s in range(r.size) if not any(p.flow[s] > 0 for p in pumps)]
    for part in couplers:
        say, limit = About(id, part.name, part.place), float(getattr(part.params, "joins_at", None) or 0.0)
        apart = [s for s, joined in enumerate(r.orders(part.name, "position")) if not joined]
        asked = [s for s in dict.fromkeys([*apart, *still]) if r.solved[s]]
        halves = {case.network.port_nodes[part.name, p] for p in "AB"}
        level, _ = strength.levels(case, halves)
        known = [s for s in asked if np.isfinite(level[s])]
        if not known:
            yield say.unchecked(f"{part.name}: the pressure that stays in it is open",
                                f"a solved state with '{part.name}: open', or with every pump standing")  # fmt: skip
            continue
        s = max(known, key=lambda i: level[i])
        figures = {"pressure": float(level[s]), "limit": limit}
        line = f"{part.name} keeps {u.both(float(level[s]), 'pressure')} in '{r.states[s]}'"
        if level[s] > limit + RESIDUAL:
            allowed = f"it may be joined at {u.pressure(limit)}" if limit else "nobody said that it may be joined so"
            yield say.finding(f"{line}; {allowed}", "A half flies off, or its seal is cut and it sprays.",
                              state=r.states[s], figures=figures)  # fmt: skip
        else:
            yield say.ok(line, state=r.states[s], figures=figures)
    if not couplers:
        yield About(id).none("No quick coupler in this circuit")
