"""Solves one independent circuit in all its states: a cold batch first, then what is left from other starts.

Only answers whose certificate holds count. What is still open when the time for fallbacks is over stays unsolved.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import thread_time

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from . import scalar
from .certificate import Answer, Residuals, certify
from .equations import Equations
from .limits import DENSE_UNKNOWNS, LARGE_SECONDS, P_BURST, P_CAV, P_SCALE
from .multiplicity import other_answers
from .path import MU_LAST, MU_START, Ends, Starts, cold, follow
from .scaling import Scaled, flow_scale, scale
from .spool_search import search_openings
from .tables import Index, Tables

NUMBERS_AT_ONCE = 8_000  # unknowns of all rows of one batch: what fits the cache; more rows run slower, not faster
FEW_PILOTS = 3
LOOK_SECONDS = 1.0  # always left for the search for further answers
DIFFERENT = 1e-4  # share of the pump flow from which two answers of one state count as different
HOLDS, ENERGY_HOLDS = 1e-6, 1e-4  # as in solution.Certificate.holds


@dataclass(slots=True)
class Outcome:
    """ok: (S,) certificate holds. method: how, per state ("" where it failed). several: (S,) another answer was met.
    X: (S, width) scaled unknowns of batch answers, zero elsewhere."""

    answer: Answer
    ok: NDArray[np.bool_]
    method: list[str]
    several: NDArray[np.bool_]
    X: Array


class Budget:
    """Time allowed for fallbacks, over all circuits of a network."""

    def __init__(self, seconds: float):
        self.left = seconds

    def spend(self, since: float) -> None:
        self.left -= thread_time() - since


def holds(r: Residuals) -> NDArray[np.bool_]:
    """(S,) whether the certificate of each state holds."""
    worst = np.max([r.mass, r.law, r.complementarity, r.actuator, r.pilot], axis=0)
    return (worst <= HOLDS) & (r.energy <= ENERGY_HOLDS)


def attempt(t: Tables, budget: Budget) -> Outcome:
    """Solve every state of one independent circuit."""
    scaled = scale(t)
    none = np.zeros(t.size, dtype=bool)
    out = Outcome(empty_answer(t), none, [""] * t.size, none.copy(), np.zeros((t.size, 0)))
    unknowns = t.nodes - 1 + t.k.shape[0] + t.z.shape[0]
    if unknowns == 0:
        _keep(out, np.arange(t.size), _without_unknowns(t), t, "path")
        return out
    if unknowns > DENSE_UNKNOWNS:
        _one_by_one(out, scaled, budget, "path", LARGE_SECONDS)
        return out
    with np.errstate(all="ignore"):
        eq = Equations(scaled)
        out.X = np.zeros((t.size, eq.width))
        at_once = max(NUMBERS_AT_ONCE // eq.width, 8)
        for first in range(0, t.size, at_once):
            states = np.arange(first, min(first + at_once, t.size))
            ends = follow(eq, cold(eq, states))
            _keep(out, states[ends.ok], to_si(scaled, states, ends, ends.ok), t, "path", ends.X[ends.ok])
        began = thread_time()
        deadline = began + budget.left
        _compete(out, eq, _other_paths, deadline)
        if eq.C <= FEW_PILOTS:  # then the search is quick and hardly ever fails
            _search(out, eq, deadline)
            _compete(out, eq, _other_openings, deadline)
        else:
            _compete(out, eq, _other_openings, deadline)
            _search(out, eq, deadline)
        _look_for_others(out, eq, max(deadline, thread_time() + LOOK_SECONDS), at_once)
        budget.spend(began)
        _one_by_one(out, scaled, budget, "scalar", 0.0)
    return out


def _search(out: Outcome, eq: Equations, deadline: float) -> None:
    bad = np.flatnonzero(~out.ok)
    if eq.C and bad.size:
        search_openings(eq, bad, deadline, lambda states, ends: _first(out, eq, states, ends, "search"))


def _look_for_others(out: Outcome, eq: Equations, deadline: float, at_once: int) -> None:
    """Note the states of which a second, different answer is met."""
    solved = np.flatnonzero(out.ok & out.X.any(axis=1))
    step = max(at_once // max(eq.C, 1), 1)
    for first in range(0, solved.size if eq.C else 0, step):
        group = solved[first : first + step]
        met = other_answers(eq, group, out.X[group], pick(out.answer, group), deadline)
        if met is None:
            continue
        states, ends = met
        at = states[ends.ok]
        answer = to_si(eq.scaled, states, ends, ends.ok)
        for state, new in zip(at, _differs(eq.scaled.tables.take(at), answer, pick(out.answer, at)), strict=True):
            out.several[state] |= new


def _differs(t: Tables, one: Answer, other: Answer) -> NDArray[np.bool_]:
    """(S,) True where two answers are both certified and move oil differently (pressures at rest may well differ)."""
    flow = flow_scale(t)
    k0 = np.abs(t.k).max(axis=1, initial=0.0)
    change = [one.q - other.q, one.pilot_q - other.pilot_q, (one.v - other.v) * k0]
    largest = np.max([np.abs(c).max(axis=1, initial=0.0) for c in change], axis=0) / flow
    return (largest > DIFFERENT) & holds(certify(t, one))


def pick(answer: Answer, rows: Index | NDArray[np.bool_]) -> Answer:
    """Some rows of an answer."""
    return Answer(*(getattr(answer, name)[rows] for name in ("p", "q", "pilot_q", "x", "v")))


def empty_answer(t: Tables) -> Answer:
    s = t.size
    return Answer(
        np.zeros((s, t.nodes)), np.zeros((s, t.i.size)), np.zeros((s, t.z.shape[0])), np.zeros((s, t.z.shape[0])),
        np.zeros((s, t.k.shape[0])),
    )  # fmt: skip


def to_si(scaled: Scaled, states: Index, ends: Ends, rows: NDArray[np.bool_]) -> Answer:
    """Rows of a batch in SI, with the reservoir's pressure in front and rounding beyond the bounds cut off."""
    t, at = scaled.tables, states[rows]
    flow = scaled.flow[at, None]
    p = np.zeros((at.size, t.nodes))
    p[:, 1:] = np.clip(ends.p[rows] * P_SCALE, P_CAV, P_BURST)
    x = np.clip(ends.x[rows], 0.0, 1.0)
    return Answer(
        p=p,
        q=np.clip(ends.q[rows] * flow, t.lo[at], t.hi[at]),
        pilot_q=x * ends.U[rows] * flow,
        x=x,
        v=np.clip(ends.v[rows] * scaled.speeds()[at], t.v_lo[at], t.v_hi[at]),
    )


def _keep(out: Outcome, states: Index, answer: Answer, t: Tables, method: str, X: Array | None = None) -> None:
    """Take over those answers whose certificate holds."""
    if not states.size:
        return
    good = holds(certify(t.take(states), answer))
    for name in ("p", "q", "pilot_q", "x", "v"):
        getattr(out.answer, name)[states[good]] = getattr(answer, name)[good]
    for s in states[good]:
        out.method[s] = method
    out.ok[states[good]] = True
    if X is not None:
        out.X[states[good]] = X[good]


def _first(out: Outcome, eq: Equations, states: Index, ends: Ends, method: str) -> None:
    """Of rows that compete for states, take the first of each that arrived and certifies."""
    t = eq.scaled.tables
    for row in np.flatnonzero(ends.ok):
        if not out.ok[states[row]]:
            this = np.zeros(states.size, dtype=bool)
            this[row] = True
            _keep(out, states[this], to_si(eq.scaled, states, ends, this), t, method, ends.X[this])


def _compete(
    out: Outcome, eq: Equations, starts: Callable[[Equations, Index], Starts | None], deadline: float
) -> None:
    """Unsolved states again, each from several starts; the first that arrives counts."""
    bad = np.flatnonzero(~out.ok)
    rows = starts(eq, bad) if bad.size and thread_time() < deadline else None
    if rows is None:
        return
    ends = follow(eq, rows, mu_end=MU_LAST, tolerance=1e-9, first_success=True, deadline=deadline)
    _first(out, eq, rows.state, ends, "restart")


def _other_paths(eq: Equations, bad: Index) -> Starts:
    """The cold start again: slower, with stronger vanishing leakage, with softer pilots."""
    settings = [(1.0, 1.0, 0.0), (0.1, 0.3, 0.0), (0.1, 1.0, 0.0)]
    if eq.C:
        settings += [(0.1, 0.1, 0.03), (0.1, 0.3, 0.03), (0.03, 0.2, 0.01), (1.0, 0.3, 0.03), (1.0, 0.1, 0.3)]
    state = np.repeat(bad, len(settings))
    starts = cold(eq, state)
    starts.mu, starts.leak, starts.soft = np.tile(np.array(settings), (bad.size, 1)).T.copy()
    return starts


def _other_openings(eq: Equations, bad: Index) -> Starts | None:
    """Other openings of the pilots, and random starts (the same ones for every state)."""
    if not eq.C:
        return None
    openings = (-0.2, 1.2, 0.05, 0.95)
    rng = np.random.default_rng(1)
    points = []
    for opening in openings:
        X = np.zeros(eq.width)
        X[eq.at_pilots] = opening
        points.append(X)
    for _ in range(6):
        X = rng.normal(0.0, 1.0, eq.width)
        X[eq.at_pilots] = rng.uniform(-0.5, 1.5, eq.C)
        points.append(X)
    starts = cold(eq, np.repeat(bad, len(points)))
    starts.X[:] = np.tile(np.array(points), (bad.size, 1))
    starts.mu[:] = MU_START
    return starts


def _one_by_one(out: Outcome, scaled: Scaled, budget: Budget, method: str, at_least: float) -> None:
    """The scalar solver for what is left; a state is begun only while there is time (or `at_least` seconds)."""
    for s in np.flatnonzero(~out.ok):
        began = thread_time()
        allowed = max(budget.left, at_least)
        if allowed <= 0.0:
            return
        found = scalar.solve_state(scaled, int(s), deadline=began + allowed)
        if at_least == 0.0:
            budget.spend(began)
        if found is not None:
            _keep(out, np.array([s]), found, scaled.tables, method)


def _without_unknowns(t: Tables) -> Answer:
    """Passages from the reservoir to itself: nothing drives them."""
    answer = empty_answer(t)
    q: Array = np.clip(answer.q, t.lo, t.hi)
    return Answer(answer.p, q, answer.pilot_q, answer.x, answer.v)
