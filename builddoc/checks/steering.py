"""Rules on steering units: pressure on their way back, and what steers when the pump does not."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .. import kinds
from ..circuit import Part
from ..kinds.steering_unit import SteeringUnitParams
from . import strength, walk
from .base import Case, Finding, rule
from .declared import of_machine, of_part, wanting
from .outcomes import About
from .sections import members, of_kind, section
from .strength import weakest
from .words import Units, listed

UNIT = "steering unit"
FEEDS = ("directional valve", "selector valve", UNIT, "priority divider", "spool divider", "flow divider")


def _none(id: str) -> Finding:
    return About(id).none("No steering unit in this circuit")


def _functions(case: Case, nodes: frozenset[int], own: str) -> list[str]:
    """Parts that do work with the oil at these nodes: valves and dividers by their inlet, actuators by any port."""
    ports = case.network.port_nodes
    return [
        p.name
        for p in case.circuit.parts.values()
        if p.name != own
        and (
            (p.kind in FEEDS and {ports.get((p.name, "P")), ports.get((p.name, "inlet"))} & nodes)
            or (kinds.registry()[p.kind].moves and any(n in nodes for (name, _), n in ports.items() if name == p.name))
        )
    ]


@rule(
    id="steer-return-pressure",
    title="A steering unit gives its oil back without pressure",
    signal="WARNING",
    reason="Pressure at its tank port blows the shaft seal, makes the wheel stiff, or turns it by itself.",
    criterion="highest pressure at port T over the states at most `tank port rating`, and nothing that works fed "
    "from T",
    remedy="T straight to the tank, below the oil; no filter, cooler or valve after it unless counted. What is to be "
    "fed onward takes a unit with a power-beyond port.",
    source="a data page of steering units (25 bar for hours, seen as an excerpt); many allow less: their own sheet "
    "decides",
)
def return_pressure(case: Case) -> Iterable[Finding]:
    id, u = "steer-return-pressure", Units(case.circuit)
    units = of_kind(case, UNIT)
    for part in units:
        say, node = About(id, part.name, part.place), case.network.port_nodes[part.name, "T"]
        params = part.params
        assert isinstance(params, SteeringUnitParams)
        fed = _functions(case, section(case, node).nodes, part.name)
        seen = strength.seen(case, {node})
        if fed:
            yield say.finding(
                f"{part.name}.T feeds {listed(fed)}: a tank port is not made to feed anything",
                "Whatever that needs stands at the unit's shaft seal and in its housing.",
                state=seen.state if seen else "", figures={"pressure": seen.value} if seen else {},
            )  # fmt: skip
            continue
        if seen is None:
            yield say.unchecked(f"{part.name}.T: no state fixes the pressure there", "a state with figures")
            continue
        rated = params.tank_port_rating.value if params.tank_port_rating else None
        line, figures = f"{part.name}.T sees {u.both(seen.value, 'pressure')}", {"pressure": seen.value}
        if rated is None:
            yield say.unchecked(f"{line}: what it may see is open", "its 'tank port rating'", figures=figures)
        elif seen.value <= rated:
            yield say.ok(f"{line}; it is rated {u.pressure(rated)}", state=seen.state, figures=figures)
        else:
            yield say.finding(
                f"{line}, rated {u.both(rated, 'pressure')}", "All that lies after it counts, at the flow of that "
                "state.", state=seen.state, figures=figures | {"ratio": seen.value / rated},
            )  # fmt: skip
    if not units:
        yield _none(id)


@rule(
    id="steer-supply",
    title="Steering has a supply of its own, and works without the pump",
    signal="WARNING",
    reason="The machine cannot be steered after a hose bursts, the engine stalls or the pump fails.",
    criterion="its port P is fed by the priority side of a divider, or by a pump that feeds nothing beside it; its "
    "relief is at most the weakest rating at L and R; reliefs of L and R, where it has them, are set above it; "
    "`steers by hand` is declared. DANGER on public roads",
    remedy="Its own pump or a priority divider; keep the check at its inlet; try it: engine off, at walking pace, turn "
    "the wheel. On roads it needs approval in most places.",
    source="a data page of steering units: shock valves above the inlet relief (seen as an excerpt); the rest: common "
    "practice, no source",
)
def supply(case: Case) -> Iterable[Finding]:
    id = "steer-supply"
    units = of_kind(case, UNIT)
    for part in units:
        say, facts = About(id, part.name, part.place), of_part(part)
        params = part.params
        assert isinstance(params, SteeringUnitParams)
        wrong = [*_fed_with_others(case, part), *_reliefs(case, part, params)]
        if facts.steers_by_hand is False:
            wrong.append("it does not steer with the engine off")
        turns = _turns(case, part, params)
        if wrong:
            more = f"Besides: {'; '.join(wrong[1:])}. " if wrong[1:] else ""
            yield say.finding(
                f"{part.name}: {wrong[0]}", f"{more}Who steers by oil alone has nothing else.{turns}",
                signal="DANGER" if of_machine(case).public_roads else None,
            )  # fmt: skip
        elif facts.steers_by_hand is None:
            yield say.unchecked(f"{part.name}: whether it steers with the engine off is open",
                                wanting(facts, "steers_by_hand"))  # fmt: skip
        else:
            yield say.ok(f"{part.name} has its own supply and steers with the engine off.{turns}".removesuffix("."))
    if not units:
        yield _none(id)


def _fed_with_others(case: Case, part: Part) -> list[str]:
    ports = case.network.port_nodes
    way = section(case, ports[part.name, "P"])
    if any(ports[p.name, "controlled"] in way.nodes for p in of_kind(case, "priority divider")):
        return []
    pumps = [p.part for p in walk.pumps(case.network) if p.outlet in way.nodes]
    others = _functions(case, way.nodes, part.name)
    if not pumps:
        return ["its oil comes through another valve, that may leave it none"]
    return [f"{pumps[0]} feeds {listed(others)} beside it, and oil goes where it is easiest"] if others else []


def _reliefs(case: Case, part: Part, params: SteeringUnitParams) -> list[str]:
    u, found = Units(case.circuit), []
    inlet = params.relief.setting if params.relief else None
    if inlet is None:
        return []
    for side in "LR":
        weak = weakest(members(case, section(case, case.network.port_nodes[part.name, side])))
        if weak is not None and weak.value is not None and weak.value < inlet:
            found.append(f"its relief is set to {u.both(inlet, 'pressure')}, {weak.label} is rated "
                         f"{u.pressure(weak.value)}")  # fmt: skip
    if params.port_reliefs is not None and params.port_reliefs.setting <= inlet:
        found.append(
            f"the reliefs of L and R are set to {u.both(params.port_reliefs.setting, 'pressure')}, not above the "
            f"{u.pressure(inlet)} of its inlet"
        )  # fmt: skip
    return list(dict.fromkeys(found))


def _turns(case: Case, part: Part, params: SteeringUnitParams) -> str:
    """How many turns of the wheel from lock to lock, to the side that takes more; "" without strokes."""
    each = []
    for side in "LR":
        nodes = section(case, case.network.port_nodes[part.name, side]).nodes
        volume = sum(
            abs(k) * stroke
            for a in (*case.network.actuators, *case.network.tied)
            if a.part in case.circuit.parts and (stroke := getattr(case.circuit.parts[a.part].params, "stroke", None))
            for node, k in a.k.items() if node in nodes
        )  # fmt: skip
        each.append(volume / (params.displacement * math.tau))
    return f" From lock to lock it takes {max(each):.1f} turns." if max(each) > 0 else ""
