"""Path following: drives the rounding mu of many rows towards zero under damped Newton, then polishes the answers.

Every row has its own mu, step length and phase. A tick evaluates several step lengths of every live row at once,
accepts or halves per row, and computes new directions where a step was accepted; finished rows leave the arrays.
What a row does never depends on the other rows.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import count
from time import thread_time

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from .equations import Equations, Rows
from .limits import P_BURST, P_CAV, P_SCALE
from .tables import Index

MU_START = 0.1
MU_END = 1e-12  # below this the vanishing leakage has reached its floor: the polish takes over
MU_LAST = 1e-18
LEAK_LAST, LEAK_PER_ROOT_MU = 1e-8, 0.1
PULL_BELOW = 1e-5  # from here on the leakage pulls to the current point, not to zero: trapped pressures do not drift
RATIO = 0.1  # of two mu one after the other, as long as whole steps are taken
LEVELS, SEVERAL_BELOW = 3, 1e-4  # how many of them are evaluated along with a whole step; above this mu only one
FEW_ROWS = 24  # more rows: only one
MUCH_BETTER = 0.5  # a half step is taken instead of an acceptable longer one if it leaves less than this share
CLOSE = 3.0  # mu is lowered when the residual is below so many times its root
PATH, POLISH = 0, 1  # phases; 2, 3, ... are further pulls of the leakage towards the answer
LENGTHS = ((4, 8), (12, 6), (24, 4), (10**9, 3))  # up to so many rows: step lengths tried at once
HALVINGS_PATH, HALVINGS_POLISH = 24, 12  # per direction
LOOK_AT_CLOCK = 8  # turns between two looks: asking for processor time takes long on some machines
MOST_STEPS = 120  # Newton steps of one row
GIVE_UP = 12  # rejected directions of one row
CREEPS, PATIENCE = 0.01, 12  # turns one after the other with steps shorter than this, before a row gives way


@dataclass(slots=True)
class Starts:
    """Where rows start. state: (B,) index of the state; X: (B, width); mu, leak, soft: (B,); held: (B, C) or None."""

    state: Index
    X: Array
    mu: Array
    leak: Array
    soft: Array
    held: Array | None = None


@dataclass(slots=True)
class Ends:
    """Where rows ended. ok: (B,); X: (B, width); p, q, v, x, U: scaled, one row each; steps: (B,) Newton steps."""

    ok: NDArray[np.bool_]
    X: Array
    p: Array
    q: Array
    v: Array
    x: Array
    U: Array
    steps: Index


def cold(eq: Equations, states: Index, opening: float = 0.5) -> Starts:
    """Cold starts: all zero, every pilot half open."""
    X = np.zeros((states.size, eq.width))
    X[:, eq.at_pilots] = opening
    one = np.ones(states.size)
    return Starts(states, X, MU_START * one, LEAK_PER_ROOT_MU * one, 0.0 * one)


@dataclass(slots=True)
class _Live:
    """Rows still under way; every array has one row per live row. row: its number in the result."""

    row: Index
    state: Index
    X: Array
    R: Array
    d: Array
    f: Array
    mu: Array
    step: Array
    shift: Array
    rejected: Index
    p_ref: Array
    v_ref: Array
    phase: Index
    ahead: NDArray[np.bool_]
    count: Index
    halvings: Index
    steps: Index
    creeping: Index
    X_path: Array
    mu_end: Array
    tolerance: Array
    leak_rate: Array
    soft: Array

    def keep(self, mask: NDArray[np.bool_]) -> None:
        for f in fields(self):
            setattr(self, f.name, getattr(self, f.name)[mask])

    @property
    def leak(self) -> Array:
        return _leak(self.leak_rate, self.mu)


def _leak(rate: Array, mu: Array) -> Array:
    return LEAK_LAST + rate * np.sqrt(mu)


def follow(
    eq: Equations,
    starts: Starts,
    *,
    mu_end: float = MU_END,
    tolerance: float = 1e-7,
    first_success: bool = False,
    deadline: float | None = None,
    most_steps: int = MOST_STEPS,
) -> Ends:
    """Follow every start to an answer. first_success: rows of one state compete, the first that arrives ends the
    others. deadline: processor time (`thread_time`) after which rows still under way count as failed. most_steps:
    Newton steps after which a row counts as failed."""
    return _Follower(eq, starts, mu_end, tolerance, first_success).run(deadline, most_steps)


def _pulled_to(eq: Equations, starts: Starts) -> Array:
    """Where the leakage pulls at first: to zero, or, late on the path, to where the start stands."""
    start = np.clip(starts.X[:, eq.at_nodes], P_CAV / P_SCALE, P_BURST / P_SCALE)
    return np.where((starts.mu < PULL_BELOW)[:, None], start, 0.0)


class _Follower:
    def __init__(self, eq: Equations, starts: Starts, mu_end: float, tolerance: float, first_success: bool):
        self.eq, self.first_success = eq, first_success
        size = starts.state.size
        self.held = starts.held
        zero, none = np.zeros(size), np.zeros(size, dtype=np.intp)
        self.t = _Live(
            row=np.arange(size), state=starts.state, X=starts.X.copy(), R=np.zeros_like(starts.X),
            d=np.zeros_like(starts.X), f=np.full(size, np.inf), mu=starts.mu.copy(), step=zero.copy(),
            shift=zero.copy(), rejected=none.copy(), p_ref=_pulled_to(eq, starts), v_ref=np.zeros((size, eq.A)),
            phase=none.copy(), ahead=np.zeros(size, dtype=bool), count=none.copy(), halvings=none.copy(),
            steps=none.copy(), creeping=none.copy(), X_path=starts.X.copy(),
            mu_end=np.full(size, mu_end), tolerance=np.full(size, tolerance), leak_rate=starts.leak.copy(),
            soft=starts.soft.copy(),
        )  # fmt: skip
        self.data = eq.rows(starts.state)
        self.values: Rows = np.zeros((size, eq.values_width))
        self.R_ahead = np.zeros((0, *starts.X.shape))  # residuals at the next mu, where `t.ahead`
        self.ends = Ends(
            np.zeros(size, dtype=bool), np.zeros_like(starts.X), np.zeros((size, eq.N)), np.zeros((size, eq.M)),
            np.zeros((size, eq.A)), np.zeros((size, eq.C)), np.zeros((size, eq.C)), none.copy(),
        )  # fmt: skip

    def run(self, deadline: float | None, most_steps: int) -> Ends:
        t = self.t
        for turn in count():
            if not t.row.size or (deadline is not None and turn % LOOK_AT_CLOCK == 0 and thread_time() >= deadline):
                break
            accepted, fresh, length = self._trial()
            again, wants, end, fail = self._judge(accepted, fresh, length)
            done = self._advance(end, again)
            t.halvings[accepted] = 0
            dead = fail | (t.rejected > GIVE_UP) | (t.steps > most_steps) | (t.creeping > PATIENCE)
            if done.any() or dead.any():
                keep = self._retire(done, dead)
                again, wants = again[keep], wants[keep]
                if not t.row.size:
                    break
            self._directions(again, wants)
        return self.ends

    def _lengths(self) -> int:
        """How many step lengths are tried at once: more where few rows are left, which cost little. Which of them is
        taken does not depend on it."""
        rows = self.t.row.size
        return next(lengths for most, lengths in LENGTHS if rows <= most)

    def _trial(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Array]:
        """Evaluate step lengths a, a/2, a/4, ... of every row and take the first that reduces the residual enough."""
        t = self.t
        rows, lengths = t.row.size, self._lengths()
        fresh = t.step == 0.0  # mu or references changed: take the point as it is
        left = np.where(t.phase == PATH, HALVINGS_PATH, HALVINGS_POLISH) - t.halvings
        tried = np.where(fresh, 1, np.minimum(lengths, left))
        # A whole step mostly lowers mu: what comes then is evaluated along, which costs less than another turn.
        whole = (t.step == 1.0) & (t.phase == PATH) & (t.mu > t.mu_end)
        levels = 0
        if whole.any():
            levels = LEVELS if rows <= FEW_ROWS and (t.mu[whole] < SEVERAL_BELOW).any() else 1
        R, values = self._points(lengths, levels)
        self.R_ahead = R[lengths:]
        merit = np.sqrt(np.einsum("kij,kij->ki", R[:lengths], R[:lengths]))
        rank = np.arange(lengths)[:, None]
        good = (merit <= (1.0 - 1e-4 * 0.5**rank * t.step) * t.f) | (merit < 1e-13) | fresh
        good &= np.isfinite(merit) & (rank < tried)
        accepted: NDArray[np.bool_] = np.asarray(good.any(axis=0))
        first = good.argmax(axis=0)
        # About a root of steep slope whole steps swing from side to side: the half one lands in the middle.
        first[good[0] & good[1] & (merit[1] < MUCH_BETTER * merit[0])] = 1
        t.ahead = accepted & whole & (first == 0)
        shortest = 0.5 ** (tried - 1) * t.step
        length = np.where(accepted, 0.5**first * t.step, shortest)
        at = np.flatnonzero(accepted)
        take = first[at]
        # Along the path the slopes of the mu before predict better than those of the new one, with sharper corners.
        new = ~(fresh[at] & (t.phase[at] == PATH) & np.isfinite(t.f[at]))
        t.X[at] += (0.5**take * t.step[at])[:, None] * t.d[at]
        t.R[at], t.f[at] = R[take, at], merit[take, at]
        self.values[at[new]] = values[take[new], at[new]]
        t.halvings += np.where(accepted, 0, tried)
        t.step = np.where(accepted, length, 0.5 * shortest)
        t.steps += accepted & ~fresh
        t.creeping = np.where(fresh, t.creeping, np.where(length < CREEPS, t.creeping + 1, 0))
        return accepted, fresh, length

    def _points(self, lengths: int, levels: int) -> tuple[Array, Rows]:
        """Residuals and values (K, B, ...) at so many step lengths, then, at the first of them, at so many lower mu."""
        t = self.t
        shorter = np.zeros(lengths + levels)
        shorter[:lengths] = np.arange(lengths)
        X = ((0.5**shorter)[:, None] * t.step)[..., None] * t.d
        X += t.X
        lower = np.zeros((lengths + levels, 1))
        lower[lengths:, 0] = np.arange(1, levels + 1)
        mu = np.maximum(t.mu * RATIO**lower, np.minimum(t.mu_end, t.mu))
        leak = _leak(t.leak_rate, mu)
        return self.eq.evaluate(X, mu, leak, self.data, t.p_ref, t.v_ref, t.soft, self.held)

    def _judge(
        self, accepted: NDArray[np.bool_], fresh: NDArray[np.bool_], length: Array
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
        """Per row: evaluate again with new mu or references? wants a direction? phase ended? failed?"""
        t = self.t
        path = t.phase == PATH
        stepped = accepted & ~fresh
        t.shift[stepped] = np.where(t.shift[stepped] > 1e-8, 0.1 * t.shift[stepped], 0.0)
        close = t.f < t.tolerance
        end = path & accepted & (t.mu <= t.mu_end) & close
        lower = path & accepted & ~end & ((t.f < CLOSE * np.sqrt(t.mu)) | close) & (t.mu > t.mu_end)
        if lower.any():
            f, mu = t.f[lower], t.mu[lower]
            ratio = np.where((length[lower] > 0.5) | fresh[lower], RATIO, 0.5)
            ratio[f < 1e-3 * np.sqrt(mu)] = 0.01
            ratio[(f < 1e-6 * np.sqrt(mu)) & (mu < 1e-4)] = 1e-4
            t.ahead[lower] &= ratio == RATIO
            ahead = lower & t.ahead
            t.mu[lower] = np.maximum(mu * np.where(t.ahead[lower], 1.0, ratio), t.mu_end[lower])
            self._lower(np.flatnonzero(ahead))
            self._pull(np.flatnonzero(lower & ~ahead & (t.mu < PULL_BELOW)))
        again = lower & ~t.ahead
        wants = accepted.copy()
        polish = ~path
        t.count[polish & stepped] += 1
        enough = np.where(t.phase == POLISH, 15, 4)
        end |= polish & accepted & ((t.f < 1e-13) | ((t.count >= enough) & (t.f < 1e-9)))
        fail = np.zeros_like(path)
        stuck = ~accepted & (t.halvings >= np.where(path, HALVINGS_PATH, HALVINGS_POLISH))
        if stuck.any():
            t.step[stuck], t.halvings[stuck] = 0.0, 0
            floor = stuck & path & close  # rounding floor of this mu: go on
            end |= floor & (t.mu <= t.mu_end)
            on = floor & (t.mu > t.mu_end)
            t.mu[on] = np.maximum(t.mu[on] * 1e-3, t.mu_end[on])
            again |= on
            regularise = stuck & path & ~floor
            t.shift[regularise] = np.maximum(10.0 * t.shift[regularise], 1e-6)
            t.rejected[regularise] += 1
            wants |= regularise
            end |= stuck & polish & (t.f < 1e-9)
            lost = stuck & polish & ~(t.f < 1e-9)
            back = lost & (t.phase == POLISH) & (t.mu_end > 10.0 * MU_LAST)
            fail = lost & ~back
            if back.any():
                self._back_to_path(np.flatnonzero(back))
                again |= back
        return again, wants, end, fail

    def _lower(self, at: Index) -> None:
        """Lower mu of rows whose residuals at the next ones are known; on and on where they are small there too."""
        t, all_of_them = self.t, at
        several = t.mu[at] < SEVERAL_BELOW
        for R in self.R_ahead:
            mu, last = t.mu[at] * RATIO, t.mu_end[at]
            t.mu[at] = np.where(mu < 1.01 * last, last, mu)  # not once more for a rounding error
            t.R[at] = R[at]
            self._as_pulled(at[t.mu[at] < PULL_BELOW])
            t.f[at] = np.sqrt(np.einsum("ij,ij->i", t.R[at], t.R[at]))
            more = t.mu[at] > last
            on = ~(t.f[at] >= np.maximum(np.where(more, CLOSE * np.sqrt(t.mu[at]), 0.0), t.tolerance[at]))
            t.ahead[at] = ~on
            on &= several & more
            at, several = at[on], several[on]
            if not at.size:
                break
        self._pull(all_of_them[t.mu[all_of_them] < PULL_BELOW])

    def _back_to_path(self, at: Index) -> None:
        """The polish did not take: return to where the path ended and follow it to the last mu instead."""
        t = self.t
        t.X[at], t.mu[at], t.phase[at], t.f[at] = t.X_path[at], t.mu_end[at], PATH, np.inf
        t.mu_end[at], t.tolerance[at] = MU_LAST, 1e-9
        t.p_ref[at], t.v_ref[at] = 0.0, 0.0
        self._floors(at, self.eq.coarse)

    def _pull(self, at: Index) -> None:
        """Let the vanishing leakage pull towards where these rows stand."""
        t = self.t
        t.p_ref[at] = self.values[at, self.eq.value["p"]]
        if self.eq.A:
            t.v_ref[at] = self.values[at, self.eq.value["v"]]

    def _as_pulled(self, at: Index) -> None:
        """Residuals as they will be once the leakage pulls to where these rows stand."""
        t, leak = self.t, self.t.leak[at, None]
        t.R[at, self.eq.at_nodes] += leak * (t.p_ref[at] - self.values[at, self.eq.value["p"]])
        t.R[at, self.eq.at_actuators] += leak * (self.values[at, self.eq.value["v"]] - t.v_ref[at])

    def _floors(self, at: Index, floors: Rows) -> None:
        self.data[at, self.eq.floored] = floors[self.t.state[at]]

    def _advance(self, end: NDArray[np.bool_], again: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Rows whose phase ended enter the next one or are done."""
        t = self.t
        done = np.zeros_like(end)
        at = np.flatnonzero(end)
        if not at.size:
            return done
        jump = np.abs(self.values[at, self.eq.value["p"]] - t.p_ref[at]).max(axis=1, initial=0.0)
        final = (t.phase[at] >= 2) & ((jump < 1e-9) | (t.phase[at] >= 4))
        if self.held is not None:
            final[:] = True
        done[at[final]] = True
        at = at[~final]
        polished = at[t.phase[at] >= POLISH]
        self._as_pulled(polished)
        done[polished[np.einsum("ij,ij->i", t.R[polished], t.R[polished]) < 1e-26]] = True
        at = at[~done[at]]
        self._pull(at)
        first = at[t.phase[at] == PATH]
        if first.size:
            t.X_path[first] = t.X[first]
            t.mu[first] = MU_LAST
            self._floors(first, self.eq.fine)
        t.phase[at] += 1
        t.count[at] = 0
        again[at] = True
        return done

    def _retire(self, done: NDArray[np.bool_], dead: NDArray[np.bool_]) -> NDArray[np.bool_]:
        t = self.t
        if self.first_success and done.any():
            dead = dead | (np.isin(t.state, t.state[done]) & ~done)
        gone = done | dead
        rows = t.row[gone]
        for name in ("p", "q", "v", "x", "U"):
            getattr(self.ends, name)[rows] = self.values[gone, self.eq.value[name]]
        self.ends.X[rows], self.ends.ok[rows], self.ends.steps[rows] = t.X[gone], done[gone], t.steps[gone]
        keep = ~gone
        t.keep(keep)
        self.values, self.data = self.values[keep], self.data[keep]
        if self.held is not None:
            self.held = self.held[keep]
        return keep

    def _directions(self, again: NDArray[np.bool_], wants: NDArray[np.bool_]) -> None:
        t = self.t
        t.step[again], t.d[again], t.halvings[again] = 0.0, 0.0, 0
        at = np.flatnonzero(wants & ~again)
        if not at.size:
            return
        whole = at.size == t.row.size
        values = self.values if whole else self.values[at]
        R = t.R if whole else t.R[at]
        d = self.eq.direction(R, values, t.leak[at], t.shift[at], self.held is not None)
        usable = np.isfinite(d).all(axis=1)
        t.d[at[usable]], t.step[at[usable]] = d[usable], 1.0
        lost = at[~usable]
        t.shift[lost] = np.maximum(10.0 * t.shift[lost], 1e-6)
        t.rejected[lost] += 1
        t.d[lost], t.step[lost] = 0.0, 0.0
