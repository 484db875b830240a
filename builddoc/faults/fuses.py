"""Velocity fuses that a fault makes shut. Whether one has tripped is said by a state that somebody wrote; in a state
that nobody wrote it follows from its flow: more than its trip flow, and it is shut."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..circuit import State

if TYPE_CHECKING:
    from ..checks.base import Case

KIND, TRIPPED = "velocity fuse", (("position", "tripped"),)


def over(case: Case) -> dict[str, State]:
    """Tried states in which fuses stand open and pass more than their trip flow: name -> the same with them tripped."""
    r = case.results
    found: dict[str, State] = {}
    for part in case.circuit.parts.values():
        if part.kind != KIND:
            continue
        out = -r.flow(part.name, "passage")
        for s, state in enumerate(case.circuit.states.values()):
            if state.tried is not None and r.solved[s] and out[s] > part.params.trip_flow:  # type: ignore[attr-defined]
                before = found.get(state.name, state)
                orders = {(part.name, control): value for control, value in TRIPPED}
                found[state.name] = replace(before, orders={**before.orders, **orders})
    return found


def tripped(case: Case, s: int) -> list[str]:
    """Fuses that the fault of state `s` made shut."""
    state = list(case.circuit.states.values())[s]
    if state.tried is None:
        return []
    before = case.circuit.states[state.tried.state].orders
    return [
        part.name
        for part in case.circuit.parts.values()
        if part.kind == KIND
        and all(state.orders.get((part.name, c)) == v != before.get((part.name, c)) for c, v in TRIPPED)
    ]
