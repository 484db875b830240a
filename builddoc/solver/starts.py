"""Where states start again that the cold start did not solve."""

from __future__ import annotations

import numpy as np

from ..network import Array
from .equations import Equations
from .path import LEAK_PER_ROOT_MU, MU_START, Starts, cold
from .tables import Index

NEAREST = 3  # answers that an unsolved state starts from
NEAR_MU = (1e-3, 1e-8)  # each at these mu: farther from the answer it starts from, and nearer
NEAR_STEPS = 60  # who needs more hardly ever arrives


def neighbours(eq: Equations, bad: Index, solved: Index, X: Array, tried: set[tuple[int, int]]) -> Starts | None:
    """The answers of those solved states whose data differ from the unsolved one's in the fewest numbers, as a fault
    differs from the state it befalls. X: (S, width) unknowns of the solved states. tried: pairs of both that are left
    out, to which those given are added."""
    pairs = []
    for state in bad.tolist():
        differing = (eq.data[solved] != eq.data[state]).sum(axis=1)
        nearest = solved[np.argsort(differing, kind="stable")[:NEAREST]]
        pairs += [(state, near) for near in nearest.tolist() if (state, near) not in tried]
    if not pairs:
        return None
    tried.update(pairs)
    state, near = np.repeat(np.array(pairs), len(NEAR_MU), axis=0).T
    one = np.ones(state.size)
    return Starts(state, X[near], np.tile(np.array(NEAR_MU), len(pairs)), LEAK_PER_ROOT_MU * one, 0.0 * one)


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
