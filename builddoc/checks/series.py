"""Rules on motors: several in series, and the pressure that a shaft seal sees."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..circuit import Part
from . import walk
from .base import Case, Finding, rule
from .sections import of_kind, section
from .words import Units, listed

SHARE = 0.85
"""Share of a direct-acting relief's setting that a function can use. Common practice, no source."""
SEAL = 2e5
"""Pa; a shaft seal whose limit nobody states bears little more. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Motors in the order in which the oil meets them. controls: for each the spool (part, control) that puts it to
    work; None where it is always in the way."""

    motors: tuple[Part, ...]
    controls: tuple[tuple[str, str] | None, ...]


def chains(case: Case) -> list[Chain]:
    """Motors on the spools of a valve fed in series, and motors joined outlet to inlet."""
    motors = of_kind(case, "hydraulic motor")
    found: list[Chain] = []
    for valve in of_kind(case, "directional valve"):
        if getattr(valve.params, "feed", "") != "series":
            continue
        on: list[tuple[Part, tuple[str, str]]] = []
        for name in getattr(valve.params, "spools", {}):
            way = section(case, case.network.port_nodes[valve.name, f"{name}.A"])
            on += [(m, (valve.name, name)) for m in motors if m.name in way.parts]
        if len(on) > 1:
            found.append(Chain(tuple(m for m, _ in on), tuple(c for _, c in on)))
    for first in motors:
        way = section(case, case.network.port_nodes[first.name, "B"])
        after = [m for m in motors if m is not first and case.network.port_nodes[m.name, "A"] in way.nodes]
        spool = any(case.circuit.parts[n].kind == "directional valve" for n in way.parts)
        if len(after) == 1 and not spool:
            found.append(Chain((first, after[0]), (None, None)))
    return found


def _needs(case: Case, motor: Part, state: str) -> float:
    """Pa that a resisting load asks of a motor in a state: T / (D mechanical efficiency)."""
    load = case.circuit.states[state].orders.get((motor.name, "load"))
    params = motor.params
    torque = load.resisting if load is not None else 0.0
    return float(torque / (params.displacement * params.mechanical_efficiency))  # type: ignore[attr-defined]


def _works(case: Case, control: tuple[str, str] | None, state: str) -> bool:
    if control is None:
        return True
    order = case.circuit.states[state].orders.get(control)
    return order is not None and order.position in ("A", "B", "regen")


@rule(
    id="path-series-sum",
    title="Functions in series leave the relief room",
    signal="NOTICE",
    reason="In series the pressures add: the first device carries the sum, and above the relief nothing moves.",
    criterion="in each state the sum of what the loaded motors of a series chain need is at most 85 % of the lowest "
    "relief setting (line losses left out)",
    remedy="Run one at a time, or feed them in parallel or through a divider.",
    source="p = T / (D efficiency), pressures in series add: elementary. 85 %: common practice, no source",
)
def series_sum(case: Case) -> Iterable[Finding]:
    id, u = "path-series-sum", Units(case.circuit)
    limit = min((item.setting for item in walk.limiters(case.circuit, case.network)), default=0.0)
    found = chains(case)
    for chain in found:
        names = listed(m.name for m in chain.motors)
        sums = []
        for state in case.results.states:
            each = [
                _needs(case, m, state)
                for m, c in zip(chain.motors, chain.controls, strict=True)
                if _works(case, c, state)
            ]
            if len([p for p in each if p > 0]) > 1:
                sums.append((sum(each), state, each))
        if not sums or not limit:
            missing = "a state in which more than one of them works against a load" if limit else "a relief"
            yield Finding(id, "not checked", "NOTICE", chain.motors[0].name, f"{names} are in series: what they need "
                          "together is open", missing=missing)  # fmt: skip
            continue
        total, state, each = max(sums)
        figures = {"pressure": total, "setting": limit, "share of setting": total / limit}
        adds = " + ".join(u.pressure(p) for p in each if p > 0)
        line = f"{names} in series need {adds} = {u.both(total, 'pressure')} of a relief set to {u.pressure(limit)}"
        if total <= SHARE * limit:
            yield Finding(id, "ok", "NOTICE", chain.motors[0].name, line, state=state, figures=figures)
            continue
        stalls = total > limit
        yield Finding(
            id, "finding", "NOTICE", chain.motors[0].name, f"{line}: {'they stall' if stalls else 'no room left'}",
            text="Pressures in series add, and what the lines and valves take comes on top."
            + (" The oil goes over the relief and heats." if stalls else ""),
            remedy="Run one at a time, or feed them in parallel or through a divider.",
            state=state, figures=figures, place=case.circuit.states[state].place,
        )  # fmt: skip
    if not found:
        yield Finding(id, "does not apply", "NOTICE", "", "No motors in series")


def _seal(case: Case, motor: Part) -> tuple[float, str] | None:
    """Highest pressure at the shaft seal and its state: that of the drain, else of the lower-pressure port."""
    r = case.results
    if getattr(motor.params, "case_drain", False):
        level = r.pressure(motor.name, "drain")
    else:
        level = np.minimum(r.pressure(motor.name, "A"), r.pressure(motor.name, "B"))
    worst = r.worst(level)
    return (worst.value, worst.state) if worst else None


@rule(
    id="motor-series-drain",
    title="Motors in series have case drains",
    signal="CAUTION",
    reason="The outlet of the first motor, and so its shaft seal, stands at the inlet pressure of the next; the seal "
    "goes and hot oil sprays.",
    criterion="every motor of a series chain but the last has a case drain",
    remedy="Pipe the drains to the reservoir, each without filter or coupler.",
    source="a travel-motor maker's manual: with motors in series the drain is always connected (seen as an excerpt)",
)
def series_drain(case: Case) -> Iterable[Finding]:
    id, u = "motor-series-drain", Units(case.circuit)
    found = chains(case)
    for chain in found:
        for motor in chain.motors[:-1]:
            seal = _seal(case, motor)
            if getattr(motor.params, "case_drain", False):
                yield Finding(id, "ok", "CAUTION", motor.name, f"{motor.name}, first in a series, has a case drain")
                continue
            level = f": its shaft seal sees up to {u.both(seal[0], 'pressure')}" if seal else ""
            yield Finding(
                id, "finding", "CAUTION", motor.name,
                f"{motor.name} stands before {chain.motors[-1].name} in series without a case drain{level}",
                text="Without a drain the seal sees the port with the lower pressure, and that feeds the next motor.",
                remedy="Pipe its drain to the reservoir, without filter or coupler, or put it last.",
                state=seal[1] if seal else "", figures={"pressure": seal[0]} if seal else {}, place=motor.place,
            )  # fmt: skip
    if not found:
        yield Finding(id, "does not apply", "CAUTION", "", "No motors in series")


@rule(
    id="motor-case-pressure",
    title="The shaft seal of a motor sees little pressure",
    signal="CAUTION",
    reason="Above its limit the seal is pushed out, and hot oil comes out at the shaft.",
    criterion="pressure of the drain, or of the lower-pressure port where there is none, at most the stated rating of "
    "the case (`drain rating`); unknown and at most 2 bar: passed",
    remedy="A drain line of its own to the reservoir, without filter or coupler.",
    source="a trade article on case drains (seen as an excerpt); 2 bar: common practice, no source",
)
def case_pressure(case: Case) -> Iterable[Finding]:
    id, u = "motor-case-pressure", Units(case.circuit)
    motors = of_kind(case, "hydraulic motor")
    for motor in motors:
        seal, rated = _seal(case, motor), getattr(motor.params, "drain_rating", None)
        limit = rated.value if rated is not None else None
        if seal is None:
            yield Finding(id, "not checked", "CAUTION", motor.name, f"{motor.name}: no state fixes the pressure at its "
                          "shaft seal", missing="a state with figures", place=motor.place)  # fmt: skip
            continue
        level, figures = u.both(seal[0], "pressure"), {"pressure": seal[0]} | ({"rating": limit} if limit else {})
        if seal[0] <= (limit or SEAL):
            yield Finding(id, "ok", "CAUTION", motor.name, f"The shaft seal of {motor.name} sees {level} at most",
                          state=seal[1], figures=figures)  # fmt: skip
        elif limit:
            yield Finding(
                id, "finding", "CAUTION", motor.name,
                f"The shaft seal of {motor.name} sees {level}, its case is rated {u.both(limit, 'pressure')}",
                text="The seal is pushed out, and hot oil comes out at the shaft.",
                remedy="A drain line of its own to the reservoir, without filter or coupler.",
                state=seal[1], figures=figures | {"ratio": seal[0] / limit}, place=motor.place,
            )  # fmt: skip
        else:
            yield Finding(
                id, "not checked", "CAUTION", motor.name,
                f"The shaft seal of {motor.name} sees {level}, in '{seal[1]}': nobody stated what it bears",
                missing="the rated pressure of the case (drain rating)", figures=figures, place=motor.place,
            )  # fmt: skip
    if not motors:
        yield Finding(id, "does not apply", "CAUTION", "", "No motor in this circuit")
