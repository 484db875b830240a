"""Where states start again that the cold start did not solve."""

from __future__ import annotations

import numpy as np

from ..network import Array
from .equations import Equations
from .path import LEAK_PER_ROOT_MU, MU_START, Starts, cold
from .tables import Index

NEAREST = 4  # answers that an unsolved state starts from, one after the other
NEAR_MU = (1e-3, 1e-8)  # from each at these mu: farther from that answer, and nearer
NEAR_STEPS = 60  # who needs more hardly ever arrives


def neighbours(eq: Equations, bad: Index, solved: Index, X: Array, tried: dict[int, set[int]]) -> Starts | None:
    """For each unsolved state the answer of a solved one whose data differ from its own in the fewest numbers, as a
    fault differs from the state it befalls. X: (S, width) unknowns of the solved states. tried: unsolved state -> those
    it has started from, which are left out; the new ones are added."""
    pairs = []
    for state in bad.tolist():
        done = tried.setdefault(state, set())
        new = np.array([s for s in solved.tolist() if s not in done], dtype=np.intp)
        if new.size and len(done) < NEAREST:
            near = int(new[(eq.data[new] != eq.data[state]).sum(axis=1).argmin()])
            pairs.append((state, near))
            done.add(near)
    if not pairs:
        return None
    states, near_states = np.repeat(np.array(pairs), len(NEAR_MU), axis=0).T
    one = np.ones(states.size)
    mu = np.tile(np.array(NEAR_MU), len(pairs))
    return Starts(states, X[near_states], mu, LEAK_PER_ROOT_MU * one, 0.0 * one)


def other_paths(eq: Equations, bad: Index) -> Starts:
    """The cold start again: slower, with stronger vanishing leakage, with softer pilots."""
    settings = [(1.0, 1.0, 0.0), (0.1, 0.3, 0.0), (0.1, 1.0, 0.0)]
    if eq.C:
        settings += [(0.1, 0.1, 0.03), (0.1, 0.3, 0.03), (0.03, 0.2, 0.01), (1.0, 0.3, 0.03), (1.0, 0.1, 0.3)]
    state = np.repeat(bad, len(settings))
    starts = cold(eq, state)
    starts.mu, starts.leak, starts.soft = np.tile(np.array(settings), (bad.size, 1)).T.copy()
    return starts


def other_openings(eq: Equations, bad: Index) -> Starts | None:
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
