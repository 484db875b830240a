"""Last batch resort for pilot-moved passages: one opening at a time is searched while the others are held.

With every opening held the circuit is monotone and always solvable, so for one pilot a sign change is always found.
With several pilots the sweeps may cycle; then the search reports nothing and the state stays unsolved.
"""

from __future__ import annotations

from collections.abc import Callable
from time import thread_time

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from .equations import OVERTRAVEL, Equations
from .path import LEAK_PER_ROOT_MU, MU_LAST, Ends, Starts, cold, follow
from .tables import Index

OPENINGS = 17  # tried at once in each bracket
LEVELS = 3  # of bracketing: 16^3 = 4096 parts of the full opening
SWEEPS = 4
RESTART_MU = (1e-14, 1e-11, 1e-8, 1e-6, 1e-4)


class _Search:
    """Openings and the latest answer of each state that is searched."""

    def __init__(self, eq: Equations, states: Index, deadline: float):
        self.eq, self.deadline = eq, deadline
        self.x = {int(s): np.full(eq.C, 0.5) for s in states}
        self.X: dict[int, Array] = {}

    def late(self) -> bool:
        return thread_time() > self.deadline

    def hold(self, states: Index, openings: Array) -> tuple[Ends, Array]:
        """Solve with openings held; the pilots' conditions (B, C) say which way each of them wants to go."""
        eq, s = self.eq, self.eq.scaled
        starts = cold(eq, states)
        for row, state in enumerate(states):
            if int(state) in self.X:
                starts.X[row] = self.X[int(state)]
                starts.mu[row] = 1e-6
        starts.X[:, eq.at_pilots] = openings
        starts.held = openings
        ends = follow(eq, starts, mu_end=1e-14, tolerance=1e-9, deadline=self.deadline)
        return ends, ends.p @ eq.z_t - s.z0[states] - s.droop[states] * openings

    def sweep(self, todo: list[int], pilot: int) -> None:
        """Bracket and refine one opening of every state."""
        low, high = dict.fromkeys(todo, 0.0), dict.fromkeys(todo, 1.0)
        for level in range(LEVELS):
            active = [s for s in todo if high[s] > low[s]]
            if not active or self.late():
                break
            grid = np.array([np.linspace(low[s], high[s], OPENINGS) for s in active])
            openings = np.repeat(np.array([self.x[s] for s in active]), OPENINGS, axis=0)
            openings[:, pilot] = grid.ravel()
            ends, wants = self.hold(np.repeat(np.array(active), OPENINGS), openings)
            ok = ends.ok.reshape(len(active), OPENINGS)
            want = wants[:, pilot].reshape(len(active), OPENINGS)
            X = ends.X.reshape(len(active), OPENINGS, -1)
            for row, s in enumerate(active):
                low[s], high[s], near = _bracket(grid[row], want[row], ok[row], level == 0, self.x[s][pilot])
                if near is not None and ok[row, near]:
                    self.X[s] = X[row, near]
        for s in todo:
            self.x[s][pilot] = 0.5 * (low[s] + high[s])


def _bracket(
    t: Array, want: Array, ok: NDArray[np.bool_], first: bool, now: float
) -> tuple[float, float, int | None]:
    """The part of the grid where the pilot stops wanting to open: (low, high, index of a good answer near it)."""
    last = t.size - 1
    if first and ok[0] and want[0] <= 0.0:
        return 0.0, 0.0, 0
    if first and ok[last] and want[last] >= 0.0:
        return 1.0, 1.0, last
    opens, shuts = np.flatnonzero((want > 0.0) & ok), np.flatnonzero((want <= 0.0) & ok)
    if opens.size and shuts.size and shuts[-1] > opens[0]:
        b = shuts[shuts > opens[0]][0]
        a = opens[opens < b][-1]
        return float(t[a]), float(t[b]), int(a)
    return now, now, (int(np.flatnonzero(ok)[0]) if ok.any() else None)


def search_openings(eq: Equations, states: Index, deadline: float, found: Callable[[Index, Ends], None]) -> None:
    """Search the openings of the given states; `found(states, ends)` takes competing answers of each sweep."""
    search = _Search(eq, states, deadline)
    todo = [int(s) for s in states]
    for _ in range(SWEEPS):
        for pilot in range(eq.C):
            if search.late():
                return
            search.sweep(todo, pilot)
        if search.late():
            return
        index = np.array(todo)
        openings = np.array([search.x[s] for s in todo])
        ends, wants = search.hold(index, openings)
        beyond = np.where(openings >= 1.0, 1.0 + np.maximum(wants, 0.0) / OVERTRAVEL, openings)
        beyond = np.where(openings <= 0.0, np.minimum(wants, 0.0) / OVERTRAVEL, beyond)
        starts_X = ends.X.copy()
        starts_X[:, eq.at_pilots] = beyond
        for row, s in enumerate(todo):
            search.X[s] = ends.X[row]
        rows = np.repeat(index, len(RESTART_MU))
        one = np.ones(rows.size)
        starts = Starts(
            rows, np.repeat(starts_X, len(RESTART_MU), axis=0), np.tile(np.array(RESTART_MU), index.size),
            LEAK_PER_ROOT_MU * one, 0.0 * one,
        )  # fmt: skip
        arrived = follow(eq, starts, mu_end=MU_LAST, tolerance=1e-9, first_success=True, deadline=deadline)
        found(rows, arrived)
        solved = set(rows[arrived.ok].tolist())
        todo = [s for s in todo if s not in solved]
        if not todo:
            return


