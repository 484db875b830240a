"""Faults that are orders: what a kind says may go wrong with it, two levers at once, cold oil. No kind is named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from .. import kinds
from ..circuit import Circuit, State, Tried
from ..kinds.base import Control
from .basis import fault, still

if TYPE_CHECKING:
    from ..checks.base import Case


def _controls(circuit: Circuit) -> Iterator[tuple[str, Control]]:
    for part in circuit.parts.values():
        for control in kinds.registry()[part.kind].controls(part.params):
            yield part.name, control
    for tie in circuit.ties:
        for control in kinds.tie_controls():
            yield tie, control


def own(case: Case, base: list[int]) -> Iterator[State]:
    """A part's own faults, in the states where they concern it."""
    declared = list(case.circuit.states.values())
    for owner, control in _controls(case.circuit):
        values = case.results.orders(owner, control.name)
        for wrong in control.faults:
            for s in base:
                possible = all(case.results.orders(owner, name)[s] == order for name, order in wrong.beside)
                if possible and values[s] != wrong.value and _concerned(case, s, owner, wrong.moving):
                    orders = {**declared[s].orders, (owner, control.name): wrong.value}
                    yield fault(case, s, f"{owner} {wrong.label}", wrong.sort, (owner,), orders=orders)


def _concerned(case: Case, s: int, owner: str, moving: int) -> bool:
    """Its rod moves that way; or oil passes the part, or never does by nature (an engine)."""
    net, r, least = case.network, case.results, still(case, s)
    if moving:
        sweep = [r.v[s, k] * max(map(abs, a.k.values())) for k, a in enumerate(net.actuators) if a.part == owner]
        return any(moving * q > least for q in sweep)
    flows = [r.q[s, k] for k, b in enumerate(net.branches) if b.part == owner]
    flows += [r.pilot_q[s, k] for k, c in enumerate(net.pilots) if c.part == owner]
    return not flows or any(abs(q) > least for q in flows)


def both(case: Case, base: list[int]) -> Iterator[State]:
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
        alike = one.oil_temperature == two.oil_temperature and set(one.joined) == set(two.joined)
        if not first & second and agree and alike:
            moved = " and ".join(sorted({f"{owner} {name}" for owner, name in first | second}))
            tried = Tried(one.name, "two levers", (two.name,), f"{moved} at once")
            name = f"{one.name} and {two.name} at once"
            yield replace(one, name=name, orders=orders, fault=True, place=None, tried=tried)


def cold(case: Case, base: list[int]) -> Iterator[State]:
    """Every declared state with the coldest oil the machine is started with."""
    coldest = case.circuit.oil.coldest
    declared = list(case.circuit.states.values())
    for s in base:
        if coldest is not None and declared[s].oil_temperature is None:
            yield fault(case, s, "cold start", "cold start", (), oil_temperature=coldest)
