"""Where the levers stand in a state."""

from __future__ import annotations

from ..circuit import Part
from ..kinds.base import SpoolOrder
from .base import Case
from .sections import of_kind


def spools(case: Case, valve: Part, s: int) -> dict[str, SpoolOrder]:
    """Order of every spool of a directional valve in a state, by the name of its control."""
    orders = case.circuit.states[case.results.states[s]].orders
    names = getattr(valve.params, "spools", None) or {"position": None}
    return {name: orders.get((valve.name, name), SpoolOrder()) for name in names}


def in_neutral(case: Case, s: int) -> bool:
    """Every spool stands in centre and no wheel is turned."""
    valves = of_kind(case, "directional valve")
    return all(o.position == "centre" for v in valves for o in spools(case, v, s).values()) and not any(
        case.results.orders(unit.name, "position")[s] for unit in of_kind(case, "steering unit")
    )
