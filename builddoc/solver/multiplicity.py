"""Looks for further steady answers of circuits whose pilots may hold themselves where they are.

Such a circuit may have several: a valve that its own effect holds open, and that as well stays shut; or a valve that
its outlet pushes shut while oil flows back through it, and that as well stays shut over oil shut in at a higher
pressure; or the two sides of a divider that oil comes back through. Each such pilot of a solved state is held shut and
held open, the others (of a divider all but its other side) as they stand: if it then wants to stay there, it is
released and followed to an answer. An answer that certifies and moves oil differently proves that there are several;
finding none proves nothing.

Before that a state is followed from nothing once more on other paths, slower or with more vanishing leakage, if oil
flows back through a pilot, which may then latch one way or the other, or if the first path did not arrive: which answer
was met then is chance.
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
from .path import LEAK_PER_ROOT_MU, MU_LAST, Ends, Starts, cold, follow
from .scaling import flow_scale, scale
from .tables import Index, Tables
from .uniqueness import CLEAR, helped_open, shut_by_outlet

HOLD_MU, HOLD_MU_END, HOLD_TOLERANCE, HOLD_STEPS = 1e-5, 1e-6, 1e-3, 20  # only the sign of a condition is wanted
LIFTED, LIFTED_MU = 3.0, 5e-6  # scaled pressure that oil shut in is tried at; at this mu the leakage keeps it there
TIGHT = 0.3  # how far beyond its stop a valve is held shut then
RELEASE_MU = (1e-14, 1e-4, 1e-10)  # one after the other, until one has met another answer
PATHS = ((1.0, 1.0, 0.0), (0.03, 0.2, 0.01), (0.1, 0.3, 0.0), (0.1, 1.0, 0.0))
"""mu, leakage, softness of pilots: of eight that were tried those that met most, the best one first."""
AT_ONCE = 48  # paths of all states together: few states take them all, many the first one
PATH_SHARE, HOLD_SHARE = 0.5, 0.6  # of the time: for other paths; of what is left then, for holding
DIFFERENT = 1e-4  # share of the pump flow from which two answers of one state count as different
RELEASE_STEPS = 80  # who needs more hardly ever arrives


def further_answers(t: Tables, out: Outcome, budget: Budget) -> NDArray[np.bool_]:
    """(S,) solved states of which a second, different answer is met. t: with the sources that the answers belong to."""
    several = np.zeros(t.size, dtype=bool)
    states = np.flatnonzero(out.ok & out.X.any(axis=1))
    if not states.size or not t.z.shape[0] or budget.look <= 0.0:
        return several
    began = thread_time()
    end = began + budget.look
    with np.errstate(all="ignore"):
        eq = Equations(scale(t))
        chance = states[_by_chance(t, out, states)]
        for path in PATHS[: max(AT_ONCE // max(chance.size, 1), 1)]:
            for rows in in_batches(chance[~several[chance]], eq):
                _note(several, eq, out, rows, _from_nothing(eq, rows, path, began + PATH_SHARE * budget.look))
        flips, held = _flips(t, out.answer, states[~several[states]])
        # Points that are met too late to be followed are of no use.
        deadline = thread_time() + HOLD_SHARE * (end - thread_time())
        batches = in_batches(np.arange(len(flips)), eq)
        points = [_where_pilots_stay(eq, flips[at], held[at], out, deadline) for at in batches]
        if points:
            state, X = np.concatenate([s for s, _ in points]), np.concatenate([x for _, x in points])
            for mu in RELEASE_MU:
                for at in in_batches(np.flatnonzero(~several[state]), eq):
                    _note(several, eq, out, state[at], _released(eq, state[at], X[at], mu, end))
    budget.look -= thread_time() - began
    return several


def _by_chance(t: Tables, out: Outcome, states: Index) -> NDArray[np.bool_]:
    """Which of these states might as well have got another answer."""
    back = (out.answer.pilot_q[states] < -SMALL * flow_scale(t)[states, None]).any(axis=1)
    return np.array([out.method[s] != "path" for s in states], dtype=bool) | back


def _note(several: NDArray[np.bool_], eq: Equations, out: Outcome, rows: Index, ends: Ends) -> None:
    """Set those states true of which a row arrived at another answer."""
    t, arrived = eq.scaled.tables, rows[ends.ok]
    new = _differs(t.take(arrived), to_si(eq.scaled, rows, ends, ends.ok), pick(out.answer, arrived))
    several[arrived[new]] = True


def _from_nothing(eq: Equations, states: Index, path: tuple[float, float, float], deadline: float) -> Ends:
    """To an answer on another path than the first one."""
    starts = cold(eq, states)
    starts.mu[:], starts.leak[:], starts.soft[:] = path
    return follow(eq, starts, mu_end=MU_LAST, tolerance=1e-9, deadline=deadline)


def _flips(t: Tables, answer: Answer, states: Index) -> tuple[Index, Array]:
    """(F, 3): state, pilot and the stop that it may be held at, for whatever may hold itself where it is; and (F, C)
    the openings of all pilots then."""
    x, pilots = answer.x, np.flatnonzero(helped_open(t) | shut_by_outlet(t))
    flips = [
        (state, pilot, stop)
        for state in states
        for pilot in pilots
        for stop in (0, 1)
        if abs(x[state, pilot] - stop) > CLEAR
    ]
    found = np.array(flips, dtype=np.intp).reshape(-1, 3)
    held = x[found[:, 0]]
    held[np.arange(len(found)), found[:, 1]] = found[:, 2]
    swaps = [(s, *pair, stop) for pair in _opposed(t) for s in states for stop in (0, 1) if _back(t, answer, s, pair)]
    for state, pilot, other, stop in swaps:
        if abs(x[state, pilot] - stop) > CLEAR:
            found = np.vstack([found, [state, pilot, stop]])
            row = x[state].copy()
            row[[pilot, other]] = stop, 1 - stop
            held = np.vstack([held, row])
    return found, held


def _opposed(t: Tables) -> list[tuple[int, int]]:
    """Pairs of pilots of which one shuts by what opens the other, as the two sides of a divider."""
    return [
        (c, d) for c in range(t.z.shape[0]) for d in range(c + 1, t.z.shape[0])
        if t.z[c].any() and np.array_equal(t.z[c], -t.z[d])
    ]  # fmt: skip


def _back(t: Tables, answer: Answer, state: int, pair: tuple[int, int]) -> bool:
    """Oil flows back through one of them: then they hold one another."""
    return bool((answer.pilot_q[state, list(pair)] < -SMALL * flow_scale(t)[state]).any())


def _differs(t: Tables, one: Answer, other: Answer) -> NDArray[np.bool_]:
    """(S,) True where two answers are both certified and move oil differently (pressures at rest may well differ)."""
    flow = flow_scale(t)
    k0 = np.abs(t.k).max(axis=1, initial=0.0)
    change = [one.q - other.q, one.pilot_q - other.pilot_q, (one.v - other.v) * k0]
    largest = np.max([np.abs(c).max(axis=1, initial=0.0) for c in change], axis=0) / flow
    return (largest > DIFFERENT) & holds(certify(t, one))


def _where_pilots_stay(
    eq: Equations, flips: Index, held: Array, out: Outcome, deadline: float
) -> tuple[Index, Array]:  # fmt: skip
    """Points from which `_released` may meet further answers, where a flipped pilot wants to stay: of each the state
    and X (B, width). flips, held: see `_flips`."""
    t = eq.scaled.tables
    state, pilot, stop = flips.T
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
