"""Declared states -> fault states, solved as one batch. Each sort of fault has its own source of states."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from ..circuit import FAULTS, Circuit, State
from ..network import Network
from ..solution import Solution, StateSolution, Verdict
from . import hoses, orders, pairs, tripping

if TYPE_CHECKING:
    from ..checks.base import Case

LIMIT = 40  # fault states that a page shows; ours
SOLVED = 96  # fault states that are solved, so that of each fault the gravest can be shown; ours
NUMBERS = 10_000  # of nodes and passages in all fault states: fewer states of a large circuit, which would take long
SECONDS = {"fallback_seconds": 0.6, "look_seconds": 0.2}  # of processor time; with all others below 5 s a page
AGAIN_SECONDS = {"fallback_seconds": 0.2, "look_seconds": 0.0}  # for states again in which something trips


@dataclass(frozen=True, slots=True)
class Extra:
    """states: the fault states. left_out: solved too, but each makes no more pressure than those of its fault that are
    kept. unsettled: left out because they could not be settled. no_room: what else did not fit under the limit, most of
    it never solved. excluded: what the writer excluded -> names of the states that would have been tried."""

    states: tuple[State, ...]
    left_out: tuple[State, ...] = ()
    unsettled: tuple[State, ...] = ()
    no_room: tuple[State, ...] = ()
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
    """Fault states of a solved circuit, in the order of `_in_turn`. States that are declared as faults are not made
    worse still."""
    base = [s for s, state in enumerate(case.circuit.states.values()) if case.results.solved[s] and not state.fault]
    sources = (
        hoses.burst, hoses.capped, pairs.apart, pairs.exchanged, pairs.crossed, orders.own, orders.both, orders.cold,
    )  # fmt: skip
    excluded: dict[str, list[str]] = {key: [] for key in case.circuit.no_faults}
    found: dict[str, State] = {}
    for state in _in_turn(state for source in sources for state in source(case, base)):
        key = _excluding(case.circuit, state)
        if key is not None:
            excluded[key].append(state.name)
        elif state.name not in case.circuit.states:
            found.setdefault(state.name, state)
    tried = tuple(found.values())
    return Extra(tried[:limit], no_room=tried[limit:], excluded={k: tuple(v) for k, v in excluded.items()})


def _in_turn(tried: Iterable[State]) -> list[State]:
    """Everything that may go wrong once before anything in a second state; the sorts of fault take turns."""
    by_sort: dict[str, dict[str, list[State]]] = {sort: {} for sort in FAULTS}
    for state in tried:
        assert state.tried is not None
        by_sort[state.tried.sort].setdefault(state.tried.fault, []).append(state)
    most = max((len(own) for faults in by_sort.values() for own in faults.values()), default=0)
    turns = (
        turn
        for n in range(most)
        for turn in zip_longest(*([own[n] for own in faults.values() if len(own) > n] for faults in by_sort.values()))
    )
    return [state for turn in turns for state in turn if state is not None]


def _excluding(circuit: Circuit, state: State) -> str | None:
    """What the writer excluded that this fault state belongs to."""
    assert state.tried is not None
    return next((k for k in (state.tried.sort, *state.tried.about, state.tried.state) if k in circuit.no_faults), None)


def solve_with(case: Case, limit: int = LIMIT) -> Trial:
    """Solve the faults in one batch and put them behind the declared states. More are solved than `limit`: of each
    fault the states that make the highest pressures are kept."""
    from ..assemble import assemble
    from ..solver import solve

    size = len(case.network.nodes) + len(case.network.branches)
    extra = states(case, max(min(SOLVED, NUMBERS // size), limit))
    circuit = replace(case.circuit, states={**case.circuit.states, **{state.name: state for state in extra.states}})
    network = assemble(circuit)
    if _grown(case.network, network):
        new = solve(network.only(list(range(case.results.size, network.size))), **SECONDS)
        missing = len(network.branches) - len(case.network.branches)
        known = [_padded(state, missing) for state in case.solution.states]
        solution = Solution([*known, *new.states], new.solver_version, new.data_hash)
    else:
        solution = solve(network, **SECONDS)
    whole = _with_tripped(_case(circuit, network, solution))
    circuit, network, solution = whole.circuit, whole.network, whole.solution
    if len(extra.states) <= limit:
        return Trial(whole, extra)
    kept = _in_turn(_gravest_first(whole, extra.states))[:limit]
    names = [*case.circuit.states, *(state.name for state in kept)]
    rows = [whole.results.states.index(name) for name in names]
    some = replace(circuit, states={name: circuit.states[name] for name in names})
    answers = replace(solution, states=[solution.states[row] for row in rows])
    rest = [state for state in extra.states if state not in kept]
    unsettled = tuple(state for state in rest if _verdict(whole, state) is Verdict.NOT_CONVERGED)
    shown = {state.tried.fault for state in kept if state.tried}
    solved = [state for state in rest if state not in unsettled]
    left_out = tuple(state for state in solved if state.tried and state.tried.fault in shown)
    no_room = (*(state for state in solved if state not in left_out), *extra.no_room)
    extra = replace(extra, states=tuple(kept), left_out=left_out, unsettled=unsettled, no_room=no_room)
    return Trial(_case(some, network.only(rows), answers), extra)


def _with_tripped(case: Case) -> Case:
    """Again, with those parts tripped that a fault makes trip; they stay so when another one trips then."""
    from ..assemble import assemble
    from ..solver import solve

    while changed := tripping.over(case):
        circuit = replace(case.circuit, states={**case.circuit.states, **changed})
        network = assemble(circuit)
        rows = [case.results.states.index(name) for name in changed]
        new = solve(network.only(rows), **AGAIN_SECONDS)
        answers = list(case.solution.states)
        for row, answer in zip(rows, new.states, strict=True):
            answers[row] = answer
        case = _case(circuit, network, replace(case.solution, states=answers))
    return case


def _verdict(case: Case, state: State) -> Verdict:
    return case.solution.states[case.results.states.index(state.name)].verdict


def _case(circuit: Circuit, network: Network, solution: Solution) -> Case:
    from ..checks.base import Case
    from ..results import Results

    return Case(circuit, network, solution, Results(circuit, network, solution))


def _gravest_first(case: Case, tried: Iterable[State]) -> list[State]:
    """Those without a steady answer, then by the highest pressure anywhere, the least it can be where it is open; last
    what could not be settled."""
    from ..checks import strength

    def gravity(state: State) -> float:
        top = strength.highest(case, case.results.states.index(state.name))
        if top is None:
            return -np.inf if _verdict(case, state) is Verdict.NOT_CONVERGED else np.inf
        return float(f"{top.value:.3g}")  # what is equal but for rounding stays in the order it was declared in

    return sorted(tried, key=gravity, reverse=True)


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
