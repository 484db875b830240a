"""Rules on gauges, couplers and filters."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..network import Array
from ..physics import oil as laws
from . import walk
from .base import Case, Finding, Signal, rule
from .sections import of_kind, section
from .words import Units

COUPLER_DROP = 1e5


@rule(
    id="gauge-points",
    title="Pump pressure can be read",
    signal="NOTICE",
    reason="A relief set by ear is set wrong, and what is predicted here is never compared with the machine.",
    criterion="a gauge or test point stands at the outlet of every pump, before any valve",
    remedy="A threaded test point with a cap, named as on this page.",
    source="common practice, no source",
)
def gauge_points(case: Case) -> Iterable[Finding]:
    id, pumps = "gauge-points", walk.pumps(case.network)
    gauges = {p.name for p in of_kind(case, "gauge point")}
    for pump in pumps:
        seen = gauges & set(section(case, pump.outlet).parts)
        ahead = seen or gauges & _ahead(case, pump.outlet)
        if ahead:
            yield Finding(id, "ok", "NOTICE", pump.part, f"The pressure of {pump.part} is read at {sorted(ahead)[0]}")
        else:
            yield Finding(
                id, "finding", "NOTICE", pump.part, f"No gauge or test point shows the pressure of {pump.part}",
                text="Its relief would be set by ear, and no figure of this page could be checked.",
                remedy="A threaded test point with a cap, named as on this page.",
                place=case.circuit.parts[pump.part].place,
            )  # fmt: skip
    if not pumps:
        yield Finding(id, "does not apply", "NOTICE", "", "No pump in this circuit")


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
