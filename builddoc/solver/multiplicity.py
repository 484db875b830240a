"""Looks for further steady answers of circuits whose pilots are helped open by other pressures.

Such a circuit may have several (a valve that its own effect holds open, and that as well stays shut). Each such pilot
of a solved state is held shut and held open, the others as they stand: if it then wants to stay there, it is released
and followed to an answer. An answer that certifies and moves oil differently proves that there are several; finding
none proves nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from .equations import OVERTRAVEL, Equations
from .path import LEAK_PER_ROOT_MU, MU_LAST, Ends, Starts, follow
from .tables import Index
from .uniqueness import CLEAR, helped_open

HOLD_MU, HOLD_MU_END, HOLD_TOLERANCE, HOLD_STEPS = 1e-5, 1e-6, 1e-3, 20  # only the sign of a condition is wanted
RELEASE_MU = (1e-14, 1e-11, 1e-8, 1e-6, 1e-4)


def other_answers(eq: Equations, states: Index, X: Array, x: Array, deadline: float) -> tuple[Index, Ends] | None:
    """Answers met from flipped pilots: (state of each row, rows), not compared or certified yet; None if there are
    none. states: (B,) solved states; X: (B, width) their unknowns; x: (B, C) their openings."""
    flips = [
        (row, pilot, stop)
        for pilot in np.flatnonzero(helped_open(eq.scaled.tables))
        for stop in (0.0, 1.0)
        for row in np.flatnonzero(np.abs(x[:, pilot] - stop) > CLEAR)
    ]
    if not flips:
        return None
    row, pilot = np.array([f[0] for f in flips]), np.array([f[1] for f in flips])
    stop = np.array([f[2] for f in flips])
    each = np.arange(row.size)
    held = x[row].copy()
    held[each, pilot] = stop
    start = X[row].copy()
    start[:, eq.at_pilots] = held
    kept = follow(
        eq, _starts(states[row], start, HOLD_MU, held), mu_end=HOLD_MU_END, tolerance=HOLD_TOLERANCE,
        deadline=deadline, most_steps=HOLD_STEPS,
    )  # fmt: skip
    s = eq.scaled
    wants = kept.p @ eq.z_t - s.z0[states[row]] - s.droop[states[row]] * held
    own = wants[each, pilot]
    stays: NDArray[np.bool_] = kept.ok & np.where(stop > 0.5, own >= -HOLD_TOLERANCE, own <= HOLD_TOLERANCE)
    if not stays.any():
        return None
    beyond = np.where(held >= 1.0, 1.0 + np.maximum(wants, 0.0) / OVERTRAVEL, held)
    beyond = np.where(held <= 0.0, np.minimum(wants, 0.0) / OVERTRAVEL, beyond)
    released = kept.X[stays].copy()
    released[:, eq.at_pilots] = beyond[stays]
    again = np.repeat(states[row[stays]], len(RELEASE_MU))
    mu = np.tile(np.array(RELEASE_MU), int(stays.sum()))
    starts = _starts(again, np.repeat(released, len(RELEASE_MU), axis=0), mu, None)
    return again, follow(eq, starts, mu_end=MU_LAST, tolerance=1e-9, deadline=deadline)


def _starts(states: Index, X: Array, mu: float | Array, held: Array | None) -> Starts:
    one = np.ones(states.size)
    return Starts(states, X, mu * one, LEAK_PER_ROOT_MU * one, 0.0 * one, held)
