"""Scalar reference solver: one state, one step length at a time, written for reading. Dense or sparse.

The same graph form and the same path as the batch (see `equations`), in its own words: the tests hold one against the
other, large circuits use its sparse matrices, and it is the last attempt for a state the batch could not solve.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import thread_time
from typing import Any

import numpy as np

from ..network import Array
from .certificate import Answer
from .friction import friction_times_re
from .limits import DENSE_UNKNOWNS, INFINITE, P_BURST, P_CAV, P_SCALE
from .scaling import FINE_FLOOR, STEEP_FLOOR, Scaled
from .tables import Index

OVERTRAVEL = 0.1
PULL_BELOW = 1e-5  # below this mu the vanishing leakage pulls to the current point, not to zero: nothing drifts
LOW, HIGH = P_CAV / P_SCALE, P_BURST / P_SCALE


Unknowns = tuple[Array, Array, Array, Array]  # of nodes, branches, actuators, pilots


def rounded(s: Array, mu: float) -> tuple[Array, Array]:
    """max(s, 0) with its corner rounded by mu, and its slope."""
    root = np.sqrt(s * s + 4.0 * mu)
    return 0.5 * (s + root), 0.5 + 0.5 * s / root


@dataclass(slots=True)
class Point:
    """Unknowns (nodes, branches, actuators, pilots), values, slopes and residuals there."""

    X: Unknowns
    p: Array
    dp: Array
    de: Array
    q: Array
    dq: Array
    dD: Array
    v: Array
    dv: Array
    df: Array
    x: Array
    dx: Array
    U: Array
    dU: Array
    dY: Array
    flow: Array
    law: Array
    balance: Array
    condition: Array
    leak: float
    merit: float


class StateEquations:
    """Rounded equations of one state."""

    def __init__(self, scaled: Scaled, s: int):
        from scipy.sparse import csr_matrix

        t = scaled.tables
        self.scaled, self.s = scaled, s
        self.N, self.M, self.A, self.C = t.nodes - 1, t.i.size, t.k.shape[0], t.z.shape[0]
        self.n = self.N + self.A + self.C
        self.tube = t.tube
        self.square, self.crack, self.injection = scaled.square[s], scaled.crack[s], scaled.injection[s]
        self.laminar, self.re_per_q, self.rough = scaled.laminar[s], scaled.re_per_q[s], scaled.rough[s]
        self.pilot_square, self.z0, self.droop = scaled.pilot_square[s], scaled.z0[s], scaled.droop[s]
        self.force, self.friction, self.damping = scaled.force[s], scaled.friction[s], scaled.damping[s]
        self.lo, self.hi, self.v_lo, self.v_hi = scaled.lo[s], scaled.hi[s], scaled.v_lo[s], scaled.v_hi[s]
        self.has_lo, self.has_hi = self.lo > -INFINITE, self.hi < INFINITE

        def incidence(i: Index, j: Index) -> Any:
            e, one = np.arange(i.size), np.ones(i.size)
            ends = (np.concatenate([i, j]), np.concatenate([e, e]))
            return csr_matrix((np.concatenate([one, -one]), ends), shape=(t.nodes, i.size))[1:]

        self.incidence, self.pilot_incidence = incidence(t.i, t.j), incidence(t.pilot_i, t.pilot_j)
        self.k, self.z = csr_matrix(scaled.k), csr_matrix(scaled.z)
        self.soft, self.leak_rate = 0.0, 0.1
        self.pull_to_zero()
        self.floor(STEEP_FLOOR)

    def floor(self, least: float) -> None:
        self.linear, self.t2, self.pilot_t2 = (f[self.s] for f in self.scaled.floors(least))

    def pull_to_zero(self) -> None:
        self.p_ref, self.v_ref = np.zeros(self.N), np.zeros(self.A)

    def start(self, opening: float = 0.5) -> Unknowns:
        return np.zeros(self.N), np.zeros(self.M), np.zeros(self.A), np.full(self.C, opening)

    def at(self, X: Unknowns, mu: float) -> Point:
        """Values, slopes and residuals at X."""
        node, s, w, y = X
        leak = 1e-8 + self.leak_rate * np.sqrt(mu)
        below, dbelow = rounded(LOW - node, mu)
        above, dabove = rounded(node - HIGH, mu)
        p, e = node + below - above, above - below
        de = dbelow + dabove
        lam_lo, dlo = rounded(np.where(self.has_lo, self.lo - s, -1.0), mu)
        lam_hi, dhi = rounded(np.where(self.has_hi, s - self.hi, -1.0), mu)
        lam_lo, dlo = lam_lo * self.has_lo, dlo * self.has_lo
        lam_hi, dhi = lam_hi * self.has_hi, dhi * self.has_hi
        q = s + lam_lo - lam_hi
        dq = np.maximum(1.0 - dlo - dhi, 0.0)
        drop, ddrop = self.drop(q)
        law = self.incidence.T @ p - (self.crack + drop - lam_lo + lam_hi)
        flow = self.incidence @ q - self.injection + e + leak * (p - self.p_ref)

        slide, dslide = rounded(w - self.friction, mu)
        back, dback = rounded(-self.friction - w, mu)
        smooth = self.friction <= 0.0
        u, du = np.where(smooth, w, slide - back), np.where(smooth, 1.0, dslide + dback)
        stop_lo, dstop_lo = rounded(self.v_lo - u, mu)
        stop_hi, dstop_hi = rounded(u - self.v_hi, mu)
        v, dv = u + stop_lo - stop_hi, np.maximum(1.0 - dstop_lo - dstop_hi, 0.0)
        balance = self.k @ p - (self.force + (w - u) + self.damping * v + leak * (v - self.v_ref) + stop_hi - stop_lo)
        df = (1.0 - du) + ((self.damping + leak) * dv + dstop_lo + dstop_hi) * du
        flow = flow + self.k.T @ v

        ratio = (self.pilot_incidence.T @ p) / self.pilot_square
        u2 = 0.5 * (np.sqrt(self.pilot_t2**2 + 4.0 * ratio * ratio) - self.pilot_t2)
        h = np.sqrt(u2 + self.pilot_t2)
        U, dU = ratio / h, 1.0 / (self.pilot_square * (h + u2 / h))
        shut, dshut = rounded(-y, mu)
        wide, dwide = rounded(y - 1.0, mu)
        x, dx = y + shut - wide, np.maximum(1.0 - dshut - dwide, 0.0)
        droop = self.droop + self.soft * np.sqrt(mu)
        condition = self.z @ p - self.z0 - droop * x - OVERTRAVEL * (wide - shut)
        flow = flow + self.pilot_incidence @ (x * U)
        merit = float(np.sqrt(sum(float(r @ r) for r in (flow, law, balance, condition))))
        return Point(
            X=X, p=p, dp=1.0 - de, de=de, q=q, dq=dq, dD=dlo + dhi + ddrop * dq, v=v, dv=dv * du, df=df, x=x, dx=dx,
            U=U, dU=dU, dY=droop * dx + OVERTRAVEL * (dshut + dwide), flow=flow, law=law, balance=balance,
            condition=condition, leak=leak, merit=merit,
        )  # fmt: skip

    def drop(self, q: Array) -> tuple[Array, Array]:
        h = np.sqrt(q * q + self.t2)
        drop = q * (self.linear + self.square * h)
        slope = self.linear + self.square * (h + q * q / h)
        flow = q[self.tube]
        f_re, df_re = friction_times_re(self.re_per_q * np.abs(flow), self.rough)
        drop[self.tube] += self.laminar * flow * f_re
        slope[self.tube] += self.laminar * (f_re + self.re_per_q * np.abs(flow) * df_re)
        return drop, slope

    def direction(self, z: Point, shift: float) -> Unknowns | None:
        """Newton direction, None where the matrix is singular."""
        from scipy.sparse import bmat, diags

        dD = np.maximum(z.dD, 1e-14)
        g = z.dq / dD
        top = self.incidence @ diags(g) @ self.incidence.T
        top = top + self.pilot_incidence @ diags(z.x * z.dU) @ self.pilot_incidence.T
        J = bmat(
            [
                [top @ diags(z.dp) + diags(z.leak * z.dp + z.de + shift), self.k.T @ diags(z.dv),
                 self.pilot_incidence @ diags(z.U * z.dx)],
                [self.k @ diags(z.dp), -diags(z.df + shift), None],
                [self.z @ diags(z.dp), None, -diags(z.dY + shift)],
            ],
            format="csc",
        )  # fmt: skip
        right = -np.concatenate([z.flow + self.incidence @ (g * z.law), z.balance, z.condition])
        d = _solve(J, right)
        if d is None:
            return None
        dn = d[: self.N]
        ds = (self.incidence.T @ (z.dp * dn) + z.law) / dD
        return dn, ds, d[self.N : self.N + self.A], d[self.N + self.A :]


def _solve(J: Any, right: Array) -> Array | None:
    """Dense for small systems; else sparse with diagonal pivots (little fill), and partial pivoting behind it."""
    from scipy.sparse.linalg import splu

    if right.size <= DENSE_UNKNOWNS:
        try:
            d = np.linalg.solve(J.toarray(), right)
        except np.linalg.LinAlgError:
            return None
        return d if np.isfinite(d).all() else None
    for options in ({"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}, {}):
        try:
            d = splu(J, **options).solve(right)
        except RuntimeError:
            continue
        if np.isfinite(d).all() and np.abs(J @ d - right).max() <= 1e-6 * np.abs(right).max():
            return d
    return None


def _line_search(
    eq: StateEquations, z: Point, d: Unknowns, mu: float, halvings: int
) -> tuple[Point, float] | None:
    a = 1.0
    for _ in range(halvings):
        new = eq.at((z.X[0] + a * d[0], z.X[1] + a * d[1], z.X[2] + a * d[2], z.X[3] + a * d[3]), mu)
        if new.merit <= (1.0 - 1e-4 * a) * z.merit or new.merit < 1e-13:
            return new, a
        a *= 0.5
    return None


def follow_path(
    eq: StateEquations, X: Unknowns, mu: float, mu_end: float, tolerance: float, deadline: float
) -> Point | None:
    """Drive mu to mu_end; None if it does not get there."""
    eq.pull_to_zero()
    eq.floor(STEEP_FLOOR)
    z = eq.at(X, mu)
    shift, rejected = 0.0, 0
    for _ in range(300):
        if thread_time() > deadline:
            return None
        d = eq.direction(z, shift)
        taken = None if d is None else _line_search(eq, z, d, mu, 22)
        if taken is None:
            if z.merit < tolerance:  # rounding floor of this mu: go on
                if mu <= mu_end:
                    return z
                mu = max(mu * 1e-3, mu_end)
                z = eq.at(z.X, mu)
                continue
            shift, rejected = max(10.0 * shift, 1e-6), rejected + 1
            if rejected > 12:
                return None
            continue
        z, a = taken
        shift = 0.1 * shift if shift > 1e-8 else 0.0
        if mu <= mu_end and z.merit < tolerance:
            return z
        if z.merit < np.sqrt(mu) or z.merit < tolerance:
            ratio = 0.03 if a > 0.5 else 0.5
            if z.merit < 1e-3 * np.sqrt(mu):
                ratio = 0.01
            if z.merit < 1e-6 * np.sqrt(mu) and mu < 1e-4:
                ratio = 1e-4
            mu = max(mu * ratio, mu_end)
            if mu < PULL_BELOW:
                eq.p_ref, eq.v_ref = z.p.copy(), z.v.copy()
            z = eq.at(z.X, mu)
    return None


def polish(eq: StateEquations, z: Point, mu: float) -> Point | None:
    """Take out what was put in for robustness: slope floors, and the bias of the vanishing leakage, which now pulls
    towards the answer itself. None if the answer is lost on the way."""
    eq.floor(FINE_FLOOR)
    for steps in (15, 4, 4, 4):
        eq.p_ref, eq.v_ref = z.p.copy(), z.v.copy()
        z = eq.at(z.X, mu)
        for _ in range(steps):
            if z.merit < 1e-13:
                break
            d = eq.direction(z, 0.0)
            taken = None if d is None else _line_search(eq, z, d, mu, 7)
            if taken is None:
                break
            z = taken[0]
        if z.merit > 1e-9:
            return None
        if np.abs(z.p - eq.p_ref).max(initial=0.0) < 1e-9:
            break
    return z


def solve_state(scaled: Scaled, s: int, deadline: float = np.inf) -> Answer | None:
    """Answer of one state (arrays with one row) or None. Not certified here: the caller does that."""
    eq = StateEquations(scaled, s)
    with np.errstate(all="ignore"):
        for opening, mu, leak_rate, soft in _ATTEMPTS if eq.C else _ATTEMPTS[:2]:
            eq.leak_rate, eq.soft = leak_rate, soft
            for mu_end, tolerance in ((1e-12, 1e-7), (1e-18, 1e-9)):
                z = follow_path(eq, eq.start(opening), mu, mu_end, tolerance, deadline)
                if z is None:
                    break
                z = polish(eq, z, 1e-18)
                if z is not None:
                    return _answer(scaled, s, z)
            if thread_time() > deadline:
                return None
    return None


_ATTEMPTS = (  # opening of the pilots, first mu, leakage per root mu, softness of the pilots
    (0.5, 0.1, 0.1, 0.0),
    (0.5, 1.0, 1.0, 0.0),
    (0.5, 0.1, 0.1, 0.03),
    (1.2, 0.1, 0.1, 0.0),
    (-0.2, 0.1, 0.1, 0.0),
)


def _answer(scaled: Scaled, s: int, z: Point) -> Answer:
    t, flow = scaled.tables, scaled.flow[s]
    p = np.concatenate([[0.0], np.clip(z.p * P_SCALE, P_CAV, P_BURST)])
    x = np.clip(z.x, 0.0, 1.0)
    return Answer(
        p=p[None],
        q=np.clip(z.q * flow, t.lo[s], t.hi[s])[None],
        pilot_q=(x * z.U * flow)[None],
        x=x[None],
        v=np.clip(z.v * scaled.speeds()[s], t.v_lo[s], t.v_hi[s])[None],
    )
