"""Looks for further steady answers of circuits whose pilots may hold themselves where they are.

Such a circuit may have several: a valve that its own effect holds open, and that as well stays shut; or a valve that
its outlet pushes shut while oil flows back through it, and that as well stays shut over oil shut in at a higher
pressure. Each such pilot of a solved state is held shut and held open, the others as they stand: if it then wants to
stay there, it is released and followed to an answer. An answer that certifies and moves oil differently proves that
there are several; finding none proves nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..network import RESERVOIR, Array
from .certificate import Answer
from .equations import OVERTRAVEL, Equations
from .limits import SMALL
from .path import LEAK_PER_ROOT_MU, MU_LAST, Ends, Starts, follow
from .scaling import flow_scale
from .tables import Index, Tables
from .uniqueness import CLEAR, helped_open, shut_by_outlet

HOLD_MU, HOLD_MU_END, HOLD_TOLERANCE, HOLD_STEPS = 1e-5, 1e-6, 1e-3, 20  # only the sign of a condition is wanted
LIFTED, LIFTED_MU = 3.0, 5e-6  # scaled pressure that oil shut in is tried at; at this mu the leakage keeps it there
TIGHT = 0.3  # how far beyond its stop a valve is held shut then
RELEASE_MU = (1e-14, 1e-11, 1e-8, 1e-6, 1e-4)


def other_answers(eq: Equations, states: Index, X: Array, answer: Answer, deadline: float) -> tuple[Index, Ends] | None:
    """Answers met from flipped pilots: (state of each row, rows), not compared or certified yet; None if there are
    none. states: (B,) solved states; X: (B, width) their unknowns; answer: (B, ...) what they are."""
    t, x = eq.scaled.tables, answer.x
    flips = [
        (row, pilot, stop)
        for pilot in np.flatnonzero(helped_open(t) | shut_by_outlet(t))
        for stop in (0.0, 1.0)
        for row in np.flatnonzero(np.abs(x[:, pilot] - stop) > CLEAR)
    ]
    if not flips:
        return None
    row, pilot = np.array([f[0] for f in flips]), np.array([f[1] for f in flips])
    stop = np.array([f[2] for f in flips])
    held = x[row].copy()
    held[np.arange(row.size), pilot] = stop
    start = X[row].copy()
    start[:, eq.at_pilots] = held
    kept, wants, stays = _hold(eq, states[row], start, held, pilot, deadline)
    back = answer.pilot_q[row, pilot] < -SMALL * flow_scale(t)[states[row]]
    lifted: Index = np.flatnonzero(kept.ok & ~stays & (stop == 0.0) & back & shut_by_outlet(t)[pilot])
    if lifted.size:
        start = kept.X[lifted].copy()
        more = np.maximum(LIFTED - start[:, eq.at_nodes], 0.0)
        for n, c in enumerate(lifted):
            more[n] *= _shut_in(t, int(states[row[c]]), int(t.pilot_j[pilot[c]]))[1:]
        start[:, eq.at_nodes] += more
        start[:, eq.at_actuators] += more @ eq.k_t  # what stands against a stop takes it there
        tight = np.where(held[lifted] <= 0.0, -TIGHT, held[lifted])  # where the rounded corner lets next to nothing by
        start[:, eq.at_pilots] = tight
        tried, wants[lifted], stays[lifted] = _hold(
            eq, states[row[lifted]], start, tight, pilot[lifted], deadline, LIFTED_MU
        )
        kept.X[lifted] = tried.X
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


def _shut_in(t: Tables, s: int, node: int) -> NDArray[np.bool_]:
    """(N,) nodes that passages open both ways join with this one; none if the reservoir is among them."""
    free = (t.lo[s] < 0.0) & (t.hi[s] > 0.0) & ~t.leak
    edges: dict[int, list[int]] = {}
    for i, j in zip(t.i[free].tolist(), t.j[free].tolist(), strict=True):
        edges.setdefault(i, []).append(j)
        edges.setdefault(j, []).append(i)
    seen, stack = {node}, [node]
    while stack:
        for other in edges.get(stack.pop(), []):
            if other not in seen:
                seen.add(other)
                stack.append(other)
    inside = np.zeros(t.nodes, dtype=bool)
    if RESERVOIR not in seen:
        inside[list(seen)] = True
    return inside


def _hold(
    eq: Equations, states: Index, start: Array, held: Array, pilot: Index, deadline: float, mu: float = HOLD_MU
) -> tuple[Ends, Array, NDArray[np.bool_]]:
    """Follow with all pilots held: (ends, what acts on each pilot beyond its opening, whether the one asked for then
    wants to stay where it is held)."""
    kept = follow(
        eq, _starts(states, start, mu, held), mu_end=HOLD_MU_END, tolerance=HOLD_TOLERANCE, deadline=deadline,
        most_steps=HOLD_STEPS,
    )  # fmt: skip
    s, each = eq.scaled, np.arange(states.size)
    wants = kept.p @ eq.z_t - s.z0[states] - s.droop[states] * np.clip(held, 0.0, 1.0)
    own = wants[each, pilot]
    stays = np.where(held[each, pilot] > 0.5, own >= -HOLD_TOLERANCE, own <= HOLD_TOLERANCE)
    return kept, wants, kept.ok & stays


def _starts(states: Index, X: Array, mu: float | Array, held: Array | None) -> Starts:
    one = np.ones(states.size)
    return Starts(states, X, mu * one, LEAK_PER_ROOT_MU * one, 0.0 * one, held)
