"""Solves a network: splits it, solves its circuits, and decides for every state what may be said about it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ..network import Array, Network
from ..solution import Solution, StateSolution, Verdict
from .attempts import Budget, attempt, empty_answer
from .cavitation import missing_at_inlets, reduce_starved_pumps
from .certificate import Answer, Residuals, certify
from .feasibility import ways_out
from .limits import FALLBACK_SECONDS, LOOK_SECONDS, P_BURST, P_CAV, RUNAWAY, SMALL, VERSION
from .multiplicity import further_answers
from .ranges import ranges
from .scaling import flow_scale
from .split import Piece, split
from .tables import Index, Tables, readable, tabulate
from .threads import single_thread
from .uniqueness import half_open, loose, open_split

SEVERITY = (
    Verdict.SOLVED,
    Verdict.SPLIT_OPEN,
    Verdict.NOT_CONVERGED,
    Verdict.RUNAWAY,
    Verdict.OVER_LIMIT,
    Verdict.UNBOUNDED,
)


@dataclass(slots=True)
class _State:
    """What is known of one state; indices of the whole network."""

    verdict: Verdict = Verdict.SOLVED
    methods: list[str] = field(default_factory=list)
    blocked: list[int] = field(default_factory=list)
    runaway: list[int] = field(default_factory=list)
    open_split: list[int] = field(default_factory=list)
    open_speeds: list[int] = field(default_factory=list)
    hunting: list[int] = field(default_factory=list)
    ranges: dict[int, tuple[float, float]] = field(default_factory=dict)
    starved: dict[int, float] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def worsen(self, verdict: Verdict) -> None:
        self.verdict = max(self.verdict, verdict, key=SEVERITY.index)

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)


def solve(
    network: Network, *, fallback_seconds: float = FALLBACK_SECONDS, look_seconds: float = LOOK_SECONDS
) -> Solution:
    """Steady answer of every state of a network, with its certificate, or the reason why there is none.

    fallback_seconds: processor time for states that the first batch does not solve; what is left then is NOT_CONVERGED.
    look_seconds: for the look for further answers; 0 = none is looked for.
    """
    with single_thread():
        return _solve(tabulate(network), Budget(fallback_seconds, look_seconds))


def _solve(t: Tables, budget: Budget) -> Solution:
    legal = readable(t)
    states = [_State() for _ in range(t.size)]
    for s in np.flatnonzero(~legal):
        states[s].worsen(Verdict.NOT_CONVERGED)
        states[s].note("numbers missing or contradictory")
    first, copies = _distinct(t, legal)
    answer, source = empty_answer(t), t.source.copy()
    if first.size:
        distinct = t.take(first)
        for piece in split(distinct):
            _solve_piece(piece, distinct, first, states, answer, source, budget)
        _lone_nodes(distinct, first, states)
    residuals = certify(replace(t, source=source), answer)
    for s in first.tolist():
        _certified(s, states[s], residuals)
    for copy, original in copies.items():
        states[copy] = states[original]
    rows = np.array([copies.get(s, s) for s in range(t.size)], dtype=np.intp)
    return Solution(
        [_finished(states[s], rows[s], t, answer, source, residuals) for s in range(t.size)],
        solver_version=VERSION,
        data_hash=_fingerprint(t),
    )


def _distinct(t: Tables, legal: NDArray[np.bool_]) -> tuple[Index, dict[int, int]]:
    """First state of each set of equal ones, and {other state: that first one}."""
    seen: dict[bytes, int] = {}
    first, copies = [], {}
    for s, row in enumerate(t.rows()):
        if not legal[s]:
            continue
        if row in seen:
            copies[s] = seen[row]
        else:
            seen[row] = s
            first.append(s)
    return np.array(first, dtype=np.intp), copies


def _solve_piece(
    piece: Piece, whole: Tables, first: Index, states: list[_State], answer: Answer, source: Array, budget: Budget
) -> None:
    """Solve one circuit in all distinct states and write what is found where it belongs in the whole."""
    t = piece.tables
    exits = ways_out(t)
    bounded = np.array([e.exists for e in exits], dtype=bool)
    for s, way_out in zip(first, exits, strict=True):
        if not way_out.exists:
            states[s].worsen(Verdict.UNBOUNDED)
            states[s].blocked += piece.nodes[list(way_out.blocked)].tolist()
    rows = np.flatnonzero(bounded)
    if not rows.size:
        return
    t = t.take(rows)
    at = first[rows]
    out = attempt(t, budget)
    used = reduce_starved_pumps(t, out, budget)
    late = budget.left <= 0.0
    solved = replace(t, source=used)
    several = further_answers(solved, out, budget)
    residuals = certify(solved, out.answer)
    for name, columns in (("p", piece.nodes), ("q", piece.branches), ("pilot_q", piece.pilots), ("x", piece.pilots),
                          ("v", piece.actuators)):  # fmt: skip
        getattr(answer, name)[np.ix_(at, columns)] = getattr(out.answer, name)
    source[np.ix_(at, piece.sources)] = used
    missing = missing_at_inlets(t, used)
    unit = flow_scale(t)
    judge = _Judge(piece, solved, out.answer, residuals)
    for row, s in enumerate(at):
        state = states[s]
        if not out.ok[row]:
            state.worsen(Verdict.NOT_CONVERGED)
            if late:
                state.note("time out")
            continue
        state.methods.append(out.method[row])
        for node in np.flatnonzero(missing[row] > SMALL * unit[row]):
            state.starved[int(piece.nodes[node])] = float(missing[row, node])
            state.note("pump starved")
        if several[row]:
            state.note("several solutions")
        judge.say(row, state)
    settled = [row for row, s in enumerate(at) if states[s].verdict is Verdict.SOLVED]
    found = ranges(solved, out.answer, settled)
    for row, open_ in found.pressures.items():
        states[at[row]].ranges |= {int(piece.nodes[node]): ends for node, ends in open_.items()}
    for row in found.rough:
        states[at[row]].note("wide ranges")


class _Judge:
    """Verdict and notes of the converged states of one circuit."""

    def __init__(self, piece: Piece, t: Tables, answer: Answer, residuals: Residuals):
        self.piece, self.t = piece, t
        self.burst = residuals.burst_flow > SMALL * residuals.largest[:, None]
        k0 = np.abs(t.k).max(axis=1, initial=0.0)
        moving = np.abs(answer.v) * k0 > 0.99 * RUNAWAY * flow_scale(t)[:, None]
        push = -t.force  # an actuator whose displacements cancel feels no oil at all: nothing but friction holds it
        unheld = (np.abs(push) > t.friction) & np.where(push > 0.0, t.v_hi > 0.0, t.v_lo < 0.0)
        self.runaway = np.where(k0 > 0.0, moving, unheld)
        self.loose = loose(t, answer)
        self.half_open = half_open(t, answer)

    def say(self, row: int, state: _State) -> None:
        """What is to be said of one row."""
        piece = self.piece
        if self.burst[row].any():
            state.worsen(Verdict.OVER_LIMIT)
            state.blocked += piece.nodes[self.burst[row]].tolist()
            return
        if self.runaway[row].any():
            state.worsen(Verdict.RUNAWAY)
            state.runaway += piece.actuators[self.runaway[row]].tolist()
            return
        split_open = open_split(self.t, self.loose, row)
        if split_open.branches or split_open.actuators:
            state.worsen(Verdict.SPLIT_OPEN)
            state.open_split += piece.branches[split_open.branches].tolist()
            state.open_speeds += piece.actuators[split_open.actuators].tolist()
            return
        if self.half_open[row].any():
            state.hunting += piece.pilots[self.half_open[row]].tolist()
            state.note("may hunt")


def _lone_nodes(t: Tables, first: Index, states: list[_State]) -> None:
    """Nodes that nothing touches may hold any pressure at all."""
    touched = np.zeros(t.nodes, dtype=bool)
    touched[0] = True
    for nodes in (t.i, t.j, t.pilot_i, t.pilot_j, t.source_node):
        touched[nodes] = True
    touched |= (t.k != 0.0).any(axis=0) | (t.z != 0.0).any(axis=0)
    for node in np.flatnonzero(~touched):
        for s in first:
            states[s].ranges[int(node)] = (P_CAV, P_BURST)


def _certified(s: int, state: _State, residuals: Residuals) -> None:
    """A state that its own certificate does not confirm as a whole is not solved."""
    if state.verdict is Verdict.SOLVED and not residuals.of(s, "").holds():
        state.worsen(Verdict.NOT_CONVERGED)


def _finished(state: _State, s: int, t: Tables, answer: Answer, source: Array, residuals: Residuals) -> StateSolution:
    solved = state.verdict is Verdict.SOLVED

    def part(table: Array) -> Array:
        return table[s].copy() if solved else np.zeros(0)

    order = ("path", "restart", "search", "scalar")
    method = max(state.methods, key=order.index, default="path")
    known = state.verdict not in (Verdict.UNBOUNDED, Verdict.NOT_CONVERGED)
    void: dict[int, float] = {}
    if solved:
        nodes = np.flatnonzero(residuals.void_flow[s] > SMALL * residuals.largest[s])
        void = {int(n): float(residuals.void_flow[s, n]) for n in nodes}
        for node, flow in state.starved.items():
            void[node] = void.get(node, 0.0) + flow
    return StateSolution(
        verdict=state.verdict,
        certificate=residuals.of(s, method) if known else None,
        p=part(answer.p),
        q=part(answer.q),
        pilot_q=part(answer.pilot_q),
        pilot_x=part(answer.x),
        v=part(answer.v),
        void=void,
        ranges=dict(sorted(state.ranges.items())) if solved else {},
        blocked=sorted(set(state.blocked)),
        runaway=sorted(state.runaway),
        open_split=sorted(state.open_split),
        open_speeds=sorted(state.open_speeds),
        hunting=sorted(state.hunting),
        source_q=part(source),
        notes=list(state.notes),
    )


def _fingerprint(t: Tables) -> str:
    """Hash of everything that decides the answer: topology, numbers, version of the solver."""
    digest = hashlib.sha256(VERSION.encode())
    for name in t.__slots__:
        value = getattr(t, name)
        digest.update(value.tobytes() if isinstance(value, np.ndarray) else repr(value).encode())
    return digest.hexdigest()
