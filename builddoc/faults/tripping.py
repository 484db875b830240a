"""Parts that a fault makes trip, as velocity fuses. Whether one has tripped is said by a state that somebody wrote; in
a state that nobody wrote it follows from its figures, as its kind says."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .. import kinds
from ..circuit import State

if TYPE_CHECKING:
    from ..checks.base import Case


def over(case: Case) -> dict[str, State]:
    """Tried states in which parts would trip that have not: name -> the same with them tripped."""
    found: dict[str, State] = {}
    for part in case.circuit.parts.values():
        trips, position = kinds.registry()[part.kind].trips(part, case.results)
        orders = {(part.name, control): value for control, value in position.items()}
        for s, state in enumerate(case.circuit.states.values()):
            if state.tried is not None and trips[s]:
                before = found.get(state.name, state)
                found[state.name] = replace(before, orders={**before.orders, **orders})
    return found


def tripped(case: Case, s: int) -> list[str]:
    """Parts that the fault of state `s` made trip."""
    state = list(case.circuit.states.values())[s]
    if state.tried is None:
        return []
    before = case.circuit.states[state.tried.state].orders
    found = []
    for part in case.circuit.parts.values():
        _, position = kinds.registry()[part.kind].trips(part, case.results)
        keys = {(part.name, control): value for control, value in position.items()}
        if keys and all(state.orders.get(key) == value != before.get(key) for key, value in keys.items()):
            found.append(part.name)
    return found
