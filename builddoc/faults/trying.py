"""Declared states -> fault states, solved as one batch. Each sort of fault has its own source of states."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from ..circuit import FAULTS, Circuit, State
from ..network import Network
from ..solution import Solution, StateSolution
from . import hoses, orders, pairs

if TYPE_CHECKING:
    from ..checks.base import Case

LIMIT = 40  # fault states of one circuit; ours
FALLBACK_SECONDS = 0.8  # processor time for states that the first batch leaves; with all others below 5 s a page


@dataclass(frozen=True, slots=True)
class Extra:
    """states: the fault states. left_out: names of those that did not fit under the limit. excluded: what the writer
    excluded -> names of the states that would have been tried."""

    states: tuple[State, ...]
    left_out: tuple[str, ...] = ()
    excluded: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Trial:
    """case: the circuit with declared and fault states, all solved. extra: what was tried and what was not."""

    case: Case
    extra: Extra

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(state.name for state in self.extra.states)


def states(case: Case, limit: int = LIMIT) -> Extra:
    """Fault states of a solved circuit.

    Each sort of fault takes its turn, and within a sort each thing that goes wrong: every coupler is tried once before
    one is tried in a second state. States that are declared as faults are not made worse still.
    """
    base = [s for s, state in enumerate(case.circuit.states.values()) if case.results.solved[s] and not state.fault]
    by_sort: dict[str, list[State]] = {sort: [] for sort in FAULTS}
    sources = (
        hoses.burst, hoses.capped, pairs.apart, pairs.exchanged, pairs.crossed, orders.own, orders.both, orders.cold,
    )  # fmt: skip
    for source in sources:
        for state in source(case, base):
            assert state.tried is not None
            by_sort[state.tried.sort].append(state)
    excluded: dict[str, list[str]] = {key: [] for key in case.circuit.no_faults}
    found: dict[str, State] = {}
    for state in _in_turn(_in_turn(_by_fault(own)) for own in by_sort.values()):
        key = _excluding(case.circuit, state)
        if key is not None:
            excluded[key].append(state.name)
        elif state.name not in case.circuit.states:
            found.setdefault(state.name, state)
    tried = tuple(found.values())
    return Extra(tried[:limit], tuple(s.name for s in tried[limit:]), {k: tuple(v) for k, v in excluded.items()})


def _by_fault(states: Iterable[State]) -> list[list[State]]:
    """The states of one sort, those that are made faulty in the same thing together, in order."""
    found: dict[str, list[State]] = {}
    for state in states:
        label = state.name.removeprefix(f"{state.tried.state}, ") if state.tried else state.name
        found.setdefault(label, []).append(state)
    return list(found.values())


def _in_turn(lists: Iterable[list[State]]) -> list[State]:
    """One of each list, then the second of each, and so on."""
    return [state for turn in zip_longest(*lists) for state in turn if state is not None]


def _excluding(circuit: Circuit, state: State) -> str | None:
    """What the writer excluded that this fault state belongs to."""
    assert state.tried is not None
    return next((k for k in (state.tried.sort, *state.tried.about, state.tried.state) if k in circuit.no_faults), None)


def solve_with(case: Case, limit: int = LIMIT) -> Trial:
    """Solve the faults in one batch and put them behind the declared states."""
    from ..assemble import assemble
    from ..checks.base import Case
    from ..results import Results
    from ..solver import solve

    extra = states(case, limit)
    circuit = replace(case.circuit, states={**case.circuit.states, **{state.name: state for state in extra.states}})
    network = assemble(circuit)
    if _grown(case.network, network):
        new = solve(network.only(list(range(case.results.size, network.size))), fallback_seconds=FALLBACK_SECONDS)
        missing = len(network.branches) - len(case.network.branches)
        known = [_padded(state, missing) for state in case.solution.states]
        solution = Solution([*known, *new.states], new.solver_version, new.data_hash)
    else:
        solution = solve(network, fallback_seconds=FALLBACK_SECONDS)
    return Trial(Case(circuit, network, solution, Results(circuit, network, solution)), extra)


def _grown(old: Network, new: Network) -> bool:
    """Whether `new` is `old` with more states, and more passages behind the others: then what is solved stays so. A
    fault may bring a position that no declared state has, and with it a passage in between."""
    same = [(b.i, b.j, b.part, b.role) for b in old.branches]
    return (
        [(b.i, b.j, b.part, b.role) for b in new.branches[: len(same)]] == same
        and new.nodes == old.nodes
        and [(c.part, c.role) for c in new.pilots] == [(c.part, c.role) for c in old.pilots]
        and len(new.sources) == len(old.sources)
        and [a.k for a in new.actuators] == [a.k for a in old.actuators]
    )


def _padded(state: StateSolution, missing: int) -> StateSolution:
    """Nothing flows through the passages that only a fault opens."""
    return replace(state, q=np.append(state.q, np.zeros(missing))) if state.q.size else state
