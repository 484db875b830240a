"""Looks for further steady answers of circuits whose pilots may hold themselves where they are.

Such a circuit may have several: a valve that its own effect holds open, and that as well stays shut; or a valve that
its outlet pushes shut while oil flows back through it, and that as well stays shut over oil shut in at a higher
pressure. Each such pilot of a solved state is held shut and held open, the others as they stand: if it then wants to
stay there, it is released and followed to an answer. An answer that certifies and moves oil differently proves that
there are several; finding none proves nothing.
"""

from __future__ import annotations

from time import thread_time

import numpy as np
from numpy.typing import NDArray

from ..network import RESERVOIR, Array
from .attempts import Budget, Outcome, holds, in_batches, pick, to_si
from .certificate import Answer, certify
from .equations import OVERTRAVEL, Equations
from .limits import SMALL
from .path import LEAK_PER_ROOT_MU, MU_LAST, Ends, Starts, follow
from .scaling import flow_scale, scale
from .tables import Index, Tables
from .uniqueness import CLEAR, helped_open, shut_by_outlet

HOLD_MU, HOLD_MU_END, HOLD_TOLERANCE, HOLD_STEPS = 1e-5, 1e-6, 1e-3, 20  # only the sign of a condition is wanted
LIFTED, LIFTED_MU = 3.0, 5e-6  # scaled pressure that oil shut in is tried at; at this mu the leakage keeps it there
TIGHT = 0.3  # how far beyond its stop a valve is held shut then
RELEASE_MU = (1e-14, 1e-4)  # one after the other, until one has met another answer: one of them met all that others did
HOLD_SHARE = 0.6  # of the time, for holding them
DIFFERENT = 1e-4  # share of the pump flow from which two answers of one state count as different
RELEASE_STEPS = 80  # who needs more hardly ever arrives


def further_answers(t: Tables, out: Outcome, budget: Budget) -> NDArray[np.bool_]:
    """(S,) solved states of which a second, different answer is met. t: with the sources that the answers belong to."""
    several = np.zeros(t.size, dtype=bool)
    flips = _flips(t, out.answer, np.flatnonzero(out.ok & out.X.any(axis=1)))
    if not flips.size or budget.look <= 0.0:
        return several
    began = thread_time()
    with np.errstate(all="ignore"):
        eq = Equations(scale(t))
        # Points that are met too late to be followed are of no use.
        deadline = began + HOLD_SHARE * budget.look
        points = [_where_pilots_stay(eq, flips[at], out, deadline) for at in in_batches(np.arange(len(flips)), eq)]
        state, X = np.concatenate([s for s, _ in points]), np.concatenate([x for _, x in points])
        for mu in RELEASE_MU:
            for at in in_batches(np.flatnonzero(~several[state]), eq):
                ends = _released(eq, state[at], X[at], mu, began + budget.look)
                arrived = state[at][ends.ok]
                answer = to_si(eq.scaled, state[at], ends, ends.ok)
                new = _differs(t.take(arrived), answer, pick(out.answer, arrived))
                several[arrived[new]] = True
    budget.look -= thread_time() - began
    return several


def _flips(t: Tables, answer: Answer, states: Index) -> Index:
    """(F, 3): state, pilot and the stop that it may be held at, for whatever may hold itself where it is."""
    x, pilots = answer.x, np.flatnonzero(helped_open(t) | shut_by_outlet(t))
    flips = [
        (state, pilot, stop)
        for state in states
        for pilot in pilots
        for stop in (0, 1)
        if abs(x[state, pilot] - stop) > CLEAR
    ]
    return np.array(flips, dtype=np.intp).reshape(-1, 3)


def _differs(t: Tables, one: Answer, other: Answer) -> NDArray[np.bool_]:
    """(S,) True where two answers are both certified and move oil differently (pressures at rest may well differ)."""
    flow = flow_scale(t)
    k0 = np.abs(t.k).max(axis=1, initial=0.0)
    change = [one.q - other.q, one.pilot_q - other.pilot_q, (one.v - other.v) * k0]
    largest = np.max([np.abs(c).max(axis=1, initial=0.0) for c in change], axis=0) / flow
    return (largest > DIFFERENT) & holds(certify(t, one))


def _where_pilots_stay(eq: Equations, flips: Index, out: Outcome, deadline: float) -> tuple[Index, Array]:
    """Points from which `_released` may meet further answers, where a flipped pilot wants to stay: of each the state
    and X (B, width)."""
    t = eq.scaled.tables
    state, pilot, stop = flips.T
    held = out.answer.x[state]
    held[np.arange(state.size), pilot] = stop
    start = out.X[state]
    start[:, eq.at_pilots] = held
    kept, wants, stays = _hold(eq, state, start, held, pilot, deadline)
    back = out.answer.pilot_q[state, pilot] < -SMALL * flow_scale(t)[state]
    lifted: Index = np.flatnonzero(kept.ok & ~stays & (stop == 0) & back & shut_by_outlet(t)[pilot])
    if lifted.size:
        start = kept.X[lifted].copy()
        more = np.maximum(LIFTED - start[:, eq.at_nodes], 0.0)
        for n, c in enumerate(lifted):
            more[n] *= _shut_in(t, int(state[c]), int(t.pilot_j[pilot[c]]))[1:]
        start[:, eq.at_nodes] += more
        start[:, eq.at_actuators] += more @ eq.k_t  # what stands against a stop takes it there
        tight = np.where(held[lifted] <= 0.0, -TIGHT, held[lifted])  # where the rounded corner lets next to nothing by
        start[:, eq.at_pilots] = tight
        tried, wants[lifted], stays[lifted] = _hold(eq, state[lifted], start, tight, pilot[lifted], deadline, LIFTED_MU)
        kept.X[lifted] = tried.X
    beyond = np.where(held >= 1.0, 1.0 + np.maximum(wants, 0.0) / OVERTRAVEL, held)
    beyond = np.where(held <= 0.0, np.minimum(wants, 0.0) / OVERTRAVEL, beyond)
    points = kept.X[stays].copy()
    points[:, eq.at_pilots] = beyond[stays]
    return state[stays], points


def _released(eq: Equations, states: Index, X: Array, mu: float, deadline: float) -> Ends:
    """Where such points come to rest from this mu on; not compared with the known answer or certified yet."""
    return follow(
        eq, _starts(states, X, mu, None), mu_end=MU_LAST, tolerance=1e-9, deadline=deadline, most_steps=RELEASE_STEPS
    )


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
