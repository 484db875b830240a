"""Declared states -> fault states. Knows no kind by name: what may go wrong is said by `Control.faults`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, zip_longest
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import kinds
from ..circuit import Circuit, State
from ..kinds.base import Control

if TYPE_CHECKING:
    from ..checks.base import Case

LIMIT = 40  # fault states of one circuit; ours
_STILL = 1e-6  # share of the state's largest flow (or speed, as flow) below which nothing passes; ours


@dataclass(frozen=True, slots=True)
class Tried:
    """case: the circuit with declared and fault states, solved in one batch. names: the fault states. left_out: those
    that did not fit under the limit."""

    case: Case
    names: tuple[str, ...]
    left_out: tuple[str, ...] = ()


def states(case: Case, limit: int = LIMIT) -> tuple[list[State], list[str]]:
    """Fault states of a solved circuit, and the names of those left out above `limit`.

    Each sort of fault takes its turn (a part's own faults, two levers at once, cold start), so that no sort crowds out
    the others. States that are declared as faults are not made worse still.
    """
    base = [s for s, state in enumerate(case.circuit.states.values()) if case.results.solved[s] and not state.fault]
    turns = zip_longest(_own(case, base), _both(case), _cold(case, base))
    taken = set(case.circuit.states)
    found = []
    for state in (state for turn in turns for state in turn if state is not None):
        if state.name not in taken:
            taken.add(state.name)
            found.append(state)
    return found[:limit], [state.name for state in found[limit:]]


def solve_with(case: Case, limit: int = LIMIT) -> Tried:
    """Solve the declared states and the faults together."""
    from ..assemble import assemble
    from ..checks.base import Case
    from ..results import Results
    from ..solver import solve

    extra, left_out = states(case, limit)
    circuit = replace(case.circuit, states={**case.circuit.states, **{state.name: state for state in extra}})
    network = assemble(circuit)
    solution = solve(network)
    whole = Case(circuit, network, solution, Results(circuit, network, solution))
    return Tried(whole, tuple(state.name for state in extra), tuple(left_out))


def _controls(circuit: Circuit) -> Iterator[tuple[str, Control]]:
    for part in circuit.parts.values():
        for control in kinds.registry()[part.kind].controls(part.params):
            yield part.name, control
    for tie in circuit.ties:
        for control in kinds.tie_controls():
            yield tie, control


def _fault(case: Case, s: int, name: str, orders: dict[tuple[str, str], Any]) -> State:
    state = list(case.circuit.states.values())[s]
    return replace(state, name=f"{state.name}, {name}", orders={**state.orders, **orders}, fault=True, place=None)


def _own(case: Case, base: list[int]) -> Iterator[State]:
    """A part's own faults, in the states where oil passes it or it moves that way."""
    for owner, control in _controls(case.circuit):
        values = case.results.orders(owner, control.name)
        for fault in control.faults:
            for s in base:
                if values[s] != fault.value and _concerned(case, s, owner, fault.moving):
                    yield _fault(case, s, f"{owner} {fault.label}", {(owner, control.name): fault.value})


def _concerned(case: Case, s: int, owner: str, moving: int) -> bool:
    net, r = case.network, case.results
    flows = np.abs(r.q[s][np.isfinite(r.q[s])])
    still = _STILL * max(float(flows.max(initial=0.0)), 1e-9)
    if moving:
        sweep = [r.v[s, k] * max(map(abs, a.k.values())) for k, a in enumerate(net.actuators) if a.part == owner]
        return any(moving * q > still for q in sweep)
    return any(abs(r.q[s, k]) > still for k, b in enumerate(net.branches) if b.part == owner)


def _both(case: Case) -> Iterator[State]:
    """Two declared states that shift different levers, at once, where they agree on everything else."""
    levers = {(owner, c.name): c.default for owner, c in _controls(case.circuit) if c.lever}
    shifting = []
    for state in case.circuit.states.values():
        shifted = {key for key, value in state.orders.items() if key in levers and value != levers[key]}
        if shifted and not state.fault:
            shifting.append((state, shifted))
    for (one, first), (two, second) in combinations(shifting, 2):
        orders = {**one.orders, **two.orders}
        for key in first:
            orders[key] = one.orders[key]
        agree = all(one.orders[k] == two.orders[k] for k in (one.orders.keys() & two.orders.keys()) - first - second)
        if not first & second and agree and one.oil_temperature == two.oil_temperature:
            name = f"{one.name} and {two.name} at once"
            yield replace(one, name=name, orders=orders, fault=True, place=None)


def _cold(case: Case, base: list[int]) -> Iterator[State]:
    """Every declared state with the coldest oil the machine is started with."""
    coldest = case.circuit.oil.coldest
    declared = list(case.circuit.states.values())
    for s in base:
        if coldest is not None and declared[s].oil_temperature is None:
            yield replace(_fault(case, s, "cold start", {}), oil_temperature=coldest)
