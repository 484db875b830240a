"""Solves one independent circuit in all its states: a cold batch first, then what is left from other starts.

Only answers whose certificate holds count. What is still open when the time for fallbacks is over stays unsolved.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from time import thread_time

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from . import scalar
from .certificate import Answer, Residuals, certify
from .equations import Equations
from .limits import DENSE_UNKNOWNS, LARGE_SECONDS, P_BURST, P_CAV, P_SCALE
from .path import MOST_STEPS, MU_LAST, Ends, Starts, cold, follow
from .scaling import Scaled, scale
from .spool_search import search_openings
from .starts import NEAR_STEPS, neighbours, other_openings, other_paths
from .tables import Index, Tables

NUMBERS_AT_ONCE = 8_000  # unknowns of all rows of one batch: what fits the cache; more rows run slower, not faster
FEW_PILOTS = 3
SEARCH_SHARE = 0.3  # of the time, for a search that comes first
HOLDS, ENERGY_HOLDS = 1e-6, 1e-4  # as in solution.Certificate.holds


@dataclass(slots=True)
class Outcome:
    """ok: (S,) certificate holds. method: how, per state ("" where it failed). X: (S, width) scaled unknowns of batch
    answers, zero elsewhere."""

    answer: Answer
    ok: NDArray[np.bool_]
    method: list[str]
    X: Array


class Budget:
    """Time allowed for fallbacks (left) and for the look for further answers (look), over all circuits of a network."""

    def __init__(self, seconds: float, look: float):
        self.left = seconds
        self.look = look

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
    out = Outcome(empty_answer(t), none, [""] * t.size, np.zeros((t.size, 0)))
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
        for states in in_batches(np.arange(t.size), eq):
            ends = follow(eq, cold(eq, states))
            _keep(out, states[ends.ok], to_si(scaled, states, ends, ends.ok), t, "path", ends.X[ends.ok])
        began = thread_time()
        deadline = began + budget.left
        tried: dict[int, set[int]] = {}
        if eq.C <= FEW_PILOTS:  # then the search is mostly quick, and hardly ever fails
            _search(out, eq, began + SEARCH_SHARE * budget.left)
        _from_neighbours(out, eq, tried, deadline)
        _compete(out, eq, other_paths, deadline)
        _from_neighbours(out, eq, tried, deadline)
        _compete(out, eq, other_openings, deadline)
        _search(out, eq, deadline)
        budget.spend(began)
        _one_by_one(out, scaled, budget, "scalar", 0.0)
    return out


def in_batches(rows: Index, eq: Equations) -> list[Index]:
    """Rows in batches of a good size."""
    at_once = max(NUMBERS_AT_ONCE // eq.width, 8)
    return [rows[first : first + at_once] for first in range(0, rows.size, at_once)]


def _from_neighbours(out: Outcome, eq: Equations, tried: dict[int, set[int]], deadline: float) -> None:
    """Unsolved states again from the answers of solved ones that are nearly alike, one after the other. tried: see
    `neighbours`."""
    left = True
    while left and thread_time() < deadline:
        left = False
        for bad in in_batches(np.flatnonzero(~out.ok), eq):
            starts = partial(neighbours, solved=np.flatnonzero(out.ok), X=out.X, tried=tried)
            left |= _compete(out, eq, starts, deadline, bad, NEAR_STEPS)


def _search(out: Outcome, eq: Equations, deadline: float) -> None:
    bad = np.flatnonzero(~out.ok)
    if eq.C and bad.size:
        search_openings(eq, bad, deadline, lambda states, ends: _first(out, eq, states, ends, "search"))


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
    out: Outcome, eq: Equations, starts: Callable[[Equations, Index], Starts | None], deadline: float,
    bad: Index | None = None, most_steps: int = MOST_STEPS,
) -> bool:  # fmt: skip
    """Unsolved states (all, or those given) again, each from several starts; the first that arrives counts. False if
    there was nothing to start from, or no time."""
    if bad is None:
        bad = np.flatnonzero(~out.ok)
    rows = starts(eq, bad) if bad.size and thread_time() < deadline else None
    if rows is None:
        return False
    ends = follow(
        eq, rows, mu_end=MU_LAST, tolerance=1e-9, first_success=True, deadline=deadline, most_steps=most_steps
    )
    _first(out, eq, rows.state, ends, "restart")
    return True


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
