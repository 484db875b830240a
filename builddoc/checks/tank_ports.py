"""Rules on pressure at tank ports and on the way back to the reservoir."""

from __future__ import annotations

from collections.abc import Iterable

from . import strength, walk
from .base import Case, Finding, rule
from .sections import of_kind, section
from .words import Units, listed, percent

CALM = 10e5
"""Pa; more at a tank port or a relief's outlet is worth a remark. Common practice, no source."""


@rule(
    id="path-tank-port-pressurised",
    title="No valve is fed from the tank port of another",
    signal="WARNING",
    reason="The tank gallery and the end seals of the first valve see the full working pressure; its body can crack.",
    criterion="where the tank port of a directional valve leads to the pressure port of another, its highest pressure "
    "is at most its own stated rating",
    remedy="Fit the maker's power-beyond sleeve and pipe a line of its own to the tank, or put this valve last.",
    source="a trade page on power beyond (seen as an excerpt); common practice",
)
def tank_port(case: Case) -> Iterable[Finding]:
    id, u, none = "path-tank-port-pressurised", Units(case.circuit), True
    valves = of_kind(case, "directional valve")
    for valve in valves:
        node = case.network.port_nodes[valve.name, "T"]
        way = section(case, node)
        fed = [v.name for v in valves if v is not valve and case.network.port_nodes[v.name, "P"] in way.nodes]
        if not fed:
            continue
        none = False
        (member,) = [m for m in strength.port_members(valve) if m.port == "T"]
        seen = strength.seen(case, {node})
        joined = f"{valve.name}.T feeds {listed(fed)}"
        if seen is None:
            yield Finding(id, "not checked", "WARNING", valve.name, f"{joined}: no state fixes the pressure there",
                          missing="a state with figures", place=member.place)  # fmt: skip
            continue
        level = f"{seen.words}{u.both(seen.value, 'pressure')}"
        if member.value is not None and seen.value <= member.value:
            yield Finding(
                id, "ok", "WARNING", valve.name, f"{joined} and sees {level}; it is rated {u.pressure(member.value)}",
                state=seen.state, figures={"pressure": seen.value, "rating": member.value},
            )  # fmt: skip
            continue
        rated = f"rated {u.both(member.value, 'pressure')}" if member.value else "taken as a return port: not rated"
        yield Finding(
            id, "finding", "WARNING", valve.name, f"{joined}: its tank port sees {level}, {rated}",
            text="Whatever the second valve needs stands in the tank gallery and at the end seals of the first, and "
            "takes from what its own functions can do. Without a power-beyond sleeve the body is not made for it.",
            remedy="Fit the maker's power-beyond sleeve and a tank line of its own, or put this valve last.",
            state=seen.state, figures={"pressure": seen.value}, place=valve.place,
        )  # fmt: skip
    if none:
        yield Finding(id, "does not apply", "WARNING", "", "No valve is fed from the tank port of another")


@rule(
    id="ret-backpressure",
    title="Oil comes back to the reservoir without much pressure",
    signal="NOTICE",
    reason="Back pressure adds to a relief's setting, pushes on seals and takes from every function.",
    criterion="tank ports of valves and outlets of reliefs see at most 10 bar in every state; at a relief also at most "
    "5 % of its setting. Tank ports that feed another valve are judged by themselves",
    remedy="A wider and shorter return, fewer elbows, a larger filter and cooler; a separate return for the relief.",
    source="follows from the solved pressures; 10 bar and 5 %: common practice, no source",
)
def back_pressure(case: Case) -> Iterable[Finding]:
    id, u = "ret-backpressure", Units(case.circuit)
    places: list[tuple[str, str, int, float]] = []
    pressure_ports = {case.network.port_nodes[v.name, "P"] for v in of_kind(case, "directional valve")}
    for valve in of_kind(case, "directional valve"):
        node = case.network.port_nodes[valve.name, "T"]
        if not section(case, node).nodes & pressure_ports:
            places.append((valve.name, f"{valve.name}.T", node, CALM))
    for item in walk.limiters(case.circuit, case.network):
        node = min(item.outlets(case.network))
        if node and not any(node == n for _, _, n, _ in places) and not section(case, node).nodes & pressure_ports:
            places.append((item.part, f"the outlet of {item.label}", node, min(CALM, 0.05 * item.setting)))
    for subject, label, node, limit in places:
        worst = case.results.worst(case.results.node_pressure(node))
        if worst is None:
            yield Finding(id, "not checked", "NOTICE", subject, f"{label}: no state fixes the pressure there",
                          missing="a state in which the pressure there is fixed")  # fmt: skip
            continue
        figures = {"pressure": worst.value, "limit": limit}
        rated = [m.value for m in strength.port_members(case.circuit.parts[subject]) if m.label == label and m.value]
        if rated and worst.value > rated[0]:
            yield Finding(id, "does not apply", "NOTICE", subject, f"{label} is over its rating: judged there")
            continue
        level = u.both(worst.value, "pressure")
        if worst.value <= limit:
            yield Finding(id, "ok", "NOTICE", subject, f"{label} sees {level} at most", state=worst.state,
                          figures=figures)  # fmt: skip
            continue
        yield Finding(
            id, "finding", "NOTICE", subject, f"{label} sees {level} on the way to the reservoir",
            text=f"That is {percent(worst.value / limit)} of what is usual there. It adds to what every function needs"
            + (", and to the relief's setting." if "relief" in label else "."),
            remedy="A wider and shorter return, fewer elbows, a larger filter or cooler.",
            state=worst.state, figures=figures, place=case.circuit.parts[subject].place,
        )  # fmt: skip
    if not places:
        yield Finding(id, "does not apply", "NOTICE", "", "No tank port and no relief with a line to the reservoir")
