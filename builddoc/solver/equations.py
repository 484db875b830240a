"""Rounded equations of one circuit, evaluated for many rows at once, and their Newton direction.

Graph form: a monotone law is carried by one parameter s with q = Q(s), drop = D(s), both non-decreasing, so a shut
check, an ideal relief, an end stop or dry friction is a corner instead of an infinite slope. Corners are rounded by one
mu, phi(s) = (s + sqrt(s^2 + 4 mu))/2. An opening x that other pressures move enters as q = x U(dp), never as a divisor.

Unknowns of a row, in this order: one per node but the reservoir (its pressure, boxed between cavitation and burst), one
per actuator, one per pilot, one per branch. Branch unknowns are eliminated, so the matrix has the first three only.
"""

from __future__ import annotations

import numpy as np

from ..network import Array
from .friction import friction_times_re
from .limits import INFINITE, P_BURST, P_CAV, P_SCALE
from .scaling import FINE_FLOOR, STEEP_FLOOR, Scaled
from .tables import Index

Rows = Array  # named blocks of columns side by side, one row per trial point: one gather takes a row with all it has

OVERTRAVEL = 0.1  # scaled pressure per unit of a pilot's parameter beyond its stops
LEAST_SLOPE = 1e-14  # of a branch's drop over its parameter, against division by zero


class Equations:
    """Residuals and Newton directions of `scaled`; the methods take any number of rows."""

    def __init__(self, scaled: Scaled):
        t = scaled.tables
        self.scaled = scaled
        self.N, self.A, self.C, self.M = t.nodes - 1, t.k.shape[0], t.z.shape[0], t.i.size
        n = self.n = self.N + self.A + self.C
        self.width = n + self.M
        self.at_nodes = slice(0, self.N)
        self.at_actuators = slice(self.N, self.N + self.A)
        self.at_pilots = slice(self.N + self.A, n)
        self.at_branches = slice(n, n + self.M)
        self.incidence = _incidence(t.i, t.j, self.N)  # (N, M)
        self.pilot_incidence = _incidence(t.pilot_i, t.pilot_j, self.N)
        self.incidence_t = np.ascontiguousarray(self.incidence.T)
        self.pilot_incidence_t = np.ascontiguousarray(self.pilot_incidence.T)
        self.k, self.k_t = scaled.k, np.ascontiguousarray(scaled.k.T)
        self.z, self.z_t = scaled.z, np.ascontiguousarray(scaled.z.T)
        self.tube = t.tube
        self.with_lo = np.flatnonzero((scaled.lo > -INFINITE).any(axis=0))
        self.with_hi = np.flatnonzero((scaled.hi < INFINITE).any(axis=0))
        self._corner_layout()
        self._matrix_layout()
        self.coarse = np.concatenate(scaled.floors(STEEP_FLOOR), axis=1)
        self.fine = np.concatenate(scaled.floors(FINE_FLOOR), axis=1)
        self.data = self._data()
        N, M, A, C = self.N, self.M, self.A, self.C
        widths = {"p": N, "v": A, "q": M, "x": C, "U": C, "dp": N, "de": N, "dq": M, "dD": M, "dv": A, "df": A, "dx": C}
        self.value = _blocks(widths | {"dU": C, "dY": C})
        self.values_width = 3 * N + 3 * M + 3 * A + 5 * C

    # ---- fixed structure
    def _corner_layout(self) -> None:
        """One gather builds the argument of every corner: sign * X[:, columns] + offset."""
        N, A, C, n = self.N, self.A, self.C, self.n
        nodes, shafts, spools = np.arange(N), N + np.arange(A), N + A + np.arange(C)
        blocks = [nodes, nodes, n + self.with_lo, n + self.with_hi, shafts, shafts, spools, spools]
        signs = [-1.0, 1.0, -1.0, 1.0, 1.0, -1.0, -1.0, 1.0]
        self.columns = np.concatenate(blocks)
        self.signs = np.concatenate([np.full(b.size, s) for b, s in zip(blocks, signs, strict=True)])
        ends = np.cumsum([b.size for b in blocks])
        self.corner = [slice(e - b.size, e) for e, b in zip(ends, blocks, strict=True)]

    def _matrix_layout(self) -> None:
        """The conductance part of the matrix is a sum of +-g at fixed positions; the rest is constant up to scaling."""
        N, A, n = self.N, self.A, self.n
        t = self.scaled.tables
        i, j = np.concatenate([t.i, t.pilot_i]) - 1, np.concatenate([t.j, t.pilot_j]) - 1
        e = np.arange(i.size)
        position = np.concatenate([i * n + i, j * n + j, i * n + j, j * n + i])
        inside = np.concatenate([i >= 0, j >= 0, (i >= 0) & (j >= 0), (i >= 0) & (j >= 0)])
        entry = np.concatenate([e, e, e, e])[inside]
        sign = np.concatenate([np.ones(2 * e.size), -np.ones(2 * e.size)])[inside]
        position = position[inside]
        order = np.argsort(position, kind="stable")
        self.entry, self.entry_sign = entry[order], sign[order]
        self.position, self.entry_start = np.unique(position[order], return_index=True)
        constant = np.zeros((n, n))
        constant[:N, N : N + A] = self.k_t
        constant[N : N + A, :N] = self.k
        constant[:N, N + A :] = self.pilot_incidence
        constant[N + A :, :N] = self.z
        self.constant = constant

    def _data(self) -> Rows:
        s = self.scaled
        size = s.flow.size
        low, high = P_CAV / P_SCALE, P_BURST / P_SCALE
        offsets = [
            np.full((size, self.N), low),
            np.full((size, self.N), -high),
            s.lo[:, self.with_lo],
            -s.hi[:, self.with_hi],
            -s.friction,
            -s.friction,
            np.zeros((size, self.C)),
            -np.ones((size, self.C)),
        ]
        t2, pilot_t2 = self.M, self.C
        blocks = {
            "offsets": np.concatenate(offsets, axis=1), "square": s.square, "crack": s.crack, "laminar": s.laminar,
            "re_per_q": s.re_per_q, "rough": s.rough, "pilot_square": s.pilot_square, "z0": s.z0, "droop": s.droop,
            "force": s.force, "damping": s.damping, "v_lo": s.v_lo, "v_hi": s.v_hi, "injection": s.injection,
            "linear": self.coarse[:, : self.M], "t2": self.coarse[:, self.M : self.M + t2],
            "pilot_t2": self.coarse[:, self.M + t2 : self.M + t2 + pilot_t2],
        }  # fmt: skip
        self.number = _blocks({name: block.shape[1] for name, block in blocks.items()})
        self.floored = slice(self.number["linear"].start, self.number["pilot_t2"].stop)
        return np.concatenate(list(blocks.values()), axis=1)

    def rows(self, index: Index) -> Rows:
        """The data of some states, to be handed to `evaluate` (a copy: columns `floored` may be changed in it)."""
        return self.data[index]

    # ---- laws
    def evaluate(
        self, X: Array, mu: Array, leak: Array, data: Rows, p_ref: Array, v_ref: Array, soft: Array, held: Array | None
    ) -> tuple[Array, Rows]:
        """Residual [nodes | actuators | pilots | branches] (K, B, width) at X (K, B, width), K points of each of B
        rows, and values and slopes (K, B, values_width) in the blocks `value`.

        mu, leak: (K, B). leak: the vanishing leakage of every node and drag of every actuator, which pulls towards
        p_ref (B, N), v_ref (B, A). data: (B, ...), see `rows`. soft (B,): extra droop of the pilots. held: (B, C)
        openings held fixed, or None.
        """
        c = self.corner
        arg = X.take(self.columns, axis=-1)
        arg *= self.signs
        arg += data[:, self.number["offsets"]]
        four_mu = (4.0 * mu)[..., None]
        f, d = _rounded(arg, four_mu)
        g = leak[..., None]
        R = np.empty_like(X)
        V = np.empty((*mu.shape, self.values_width))
        out = self.value
        # nodes: pressure is the parameter clipped to the box; what was clipped is void or burst flow
        e = f[..., c[1]] - f[..., c[0]]
        de = V[..., out["de"]]
        np.add(d[..., c[0]], d[..., c[1]], out=de)
        p = X[..., self.at_nodes] - e
        V[..., out["p"]] = p
        np.subtract(1.0, de, out=V[..., out["dp"]])
        q, drop = self._branches(X, f, d, data, V)
        law = p @ self.incidence
        np.subtract(law, drop, out=R[..., self.at_branches])
        flow = q @ self.incidence_t
        flow -= data[:, self.number["injection"]]
        flow += e
        flow += g * (p - p_ref)
        if self.A:
            v, effort = self._actuators(X, f, d, four_mu, g, data, V)
            R[..., self.at_actuators] = p @ self.k_t - effort - g * (v - v_ref)
            flow += v @ self.k
        if self.C:
            U = self._passages(p, data, V)
            droop = data[:, self.number["droop"]] + (soft * np.sqrt(mu))[..., None]
            over = f[..., c[7]] - f[..., c[6]]
            dover = d[..., c[6]] + d[..., c[7]]
            x = X[..., self.at_pilots] - over
            dx = np.maximum(1.0 - dover, 0.0)
            flow += (x * U) @ self.pilot_incidence_t
            if held is None:
                R[..., self.at_pilots] = p @ self.z_t - data[:, self.number["z0"]] - droop * x - OVERTRAVEL * over
                V[..., out["dY"]] = droop * dx + OVERTRAVEL * dover
            else:
                R[..., self.at_pilots] = held - X[..., self.at_pilots]
                V[..., out["dY"]] = 1.0
            V[..., out["x"]], V[..., out["dx"]] = x, dx
        R[..., self.at_nodes] = flow
        return R, V

    def _branches(self, X: Array, f: Array, d: Array, data: Rows, V: Array) -> tuple[Array, Array]:
        n, out = self.number, self.value
        q = X[..., self.at_branches].copy()
        dq = np.ones_like(q)
        drop = np.zeros_like(q)
        drop += data[:, n["crack"]]
        dD = np.zeros_like(q)
        if self.with_lo.size:
            lam, slope = f[..., self.corner[2]], d[..., self.corner[2]]
            q[..., self.with_lo] += lam
            drop[..., self.with_lo] -= lam
            dq[..., self.with_lo] -= slope
            dD[..., self.with_lo] += slope
        if self.with_hi.size:
            lam, slope = f[..., self.corner[3]], d[..., self.corner[3]]
            q[..., self.with_hi] -= lam
            drop[..., self.with_hi] += lam
            dq[..., self.with_hi] -= slope
            dD[..., self.with_hi] += slope
        np.maximum(dq, 0.0, out=dq)
        square = data[:, n["square"]]
        q2 = q * q
        h = np.sqrt(q2 + data[:, n["t2"]])
        per_q = square * h
        per_q += data[:, n["linear"]]
        drop += q * per_q
        q2 /= h
        q2 *= square
        per_q += q2
        if self.tube.size:
            qt = q[..., self.tube]
            laminar = data[:, n["laminar"]]
            re = data[:, n["re_per_q"]] * np.abs(qt)
            f_re, df_re = friction_times_re(re, data[:, n["rough"]])
            drop[..., self.tube] += laminar * qt * f_re
            per_q[..., self.tube] += laminar * (f_re + re * df_re)
        per_q *= dq
        dD += per_q
        V[..., out["q"]], V[..., out["dq"]], V[..., out["dD"]] = q, dq, dD
        return q, drop

    def _actuators(
        self, X: Array, f: Array, d: Array, four_mu: Array, g: Array, data: Rows, V: Array
    ) -> tuple[Array, Array]:
        n, out, c = self.number, self.value, self.corner
        w, damping = X[..., self.at_actuators], data[:, n["damping"]]
        u = f[..., c[4]] - f[..., c[5]]  # what is left of the parameter after dry friction
        du = d[..., c[4]] + d[..., c[5]]
        arg = np.concatenate([data[:, n["v_lo"]] - u, u - data[:, n["v_hi"]]], axis=-1)
        stop, dstop = _rounded(arg, four_mu)
        push = stop[..., : self.A] - stop[..., self.A :]
        dpush = dstop[..., : self.A] + dstop[..., self.A :]
        v = u + push
        dv = np.maximum(1.0 - dpush, 0.0)
        V[..., out["v"]], V[..., out["dv"]] = v, dv * du
        V[..., out["df"]] = (1.0 - du) + ((damping + g) * dv + dpush) * du
        return v, data[:, n["force"]] + (w - u) + damping * v - push

    def _passages(self, p: Array, data: Rows, V: Array) -> Array:
        """Flow of a fully open pilot-moved passage and its slope: the inverse of dp = b U sqrt(U^2 + t^2)."""
        n, out = self.number, self.value
        b, t2 = data[:, n["pilot_square"]], data[:, n["pilot_t2"]]
        ratio = (p @ self.pilot_incidence) / b
        u2 = 0.5 * (np.sqrt(t2 * t2 + 4.0 * ratio * ratio) - t2)
        h = np.sqrt(u2 + t2)
        U = ratio / h
        V[..., out["U"]], V[..., out["dU"]] = U, 1.0 / (b * (h + u2 / h))
        return U

    # ---- Newton direction
    def direction(self, R: Array, V: Rows, leak: Array, shift: Array, held: bool) -> Array:
        """Newton direction (B, width) for residuals R and the slopes that `evaluate` gave with them; nan where the
        matrix is singular. shift: (B,) added to the diagonal."""
        N, n, rows = self.N, self.n, R.shape[0]
        s = {name: V[:, block] for name, block in self.value.items()}
        B = R[:, self.at_branches]
        dD = np.maximum(s["dD"], LEAST_SLOPE)
        g = s["dq"] / dD
        conductance = np.concatenate([g, s["x"] * s["dU"]], axis=1) if self.C else g
        J = np.repeat(self.constant[None], rows, axis=0)
        if self.position.size:
            terms = conductance[:, self.entry]
            terms *= self.entry_sign
            J.reshape(rows, -1)[:, self.position] += np.add.reduceat(terms, self.entry_start, axis=1)
        column, diagonal = np.empty((rows, n)), np.empty((rows, n))
        column[:, self.at_nodes] = s["dp"]
        diagonal[:, self.at_nodes] = leak[:, None] * s["dp"] + s["de"] + shift[:, None]
        if self.A:
            column[:, self.at_actuators] = s["dv"]
            diagonal[:, self.at_actuators] = -s["df"] - shift[:, None]
        if self.C:
            column[:, self.at_pilots] = s["U"] * s["dx"]
            diagonal[:, self.at_pilots] = -s["dY"] - shift[:, None]
        J *= column[:, None, :]
        if held and self.C:
            J[:, self.at_pilots, :N] = 0.0
        J.reshape(rows, -1)[:, :: n + 1] += diagonal
        right = -R[:, :n]
        right[:, self.at_nodes] -= (g * B) @ self.incidence_t
        y = _solve_each(J, right)
        d = np.empty_like(R)
        d[:, :n] = y
        d[:, self.at_branches] = ((s["dp"] * y[:, self.at_nodes]) @ self.incidence + B) / dD
        return d


def _blocks(widths: dict[str, int]) -> dict[str, slice]:
    """Column slices of named blocks that stand side by side."""
    out, start = {}, 0
    for name, width in widths.items():
        out[name] = slice(start, start + width)
        start += width
    return out


def _rounded(arg: Array, four_mu: Array) -> tuple[Array, Array]:
    """max(arg, 0) with its corner rounded, and its slope; overwrites arg."""
    root = arg * arg
    root += four_mu
    np.sqrt(root, out=root)
    arg += root
    arg *= 0.5
    return arg, arg / root


def _incidence(i: Index, j: Index, nodes: int) -> Array:
    """(nodes, M): +1 where a branch leaves a node, -1 where it enters; the reservoir has no row."""
    matrix = np.zeros((nodes + 1, i.size))
    np.add.at(matrix, (i, np.arange(i.size)), 1.0)
    np.add.at(matrix, (j, np.arange(j.size)), -1.0)
    return np.ascontiguousarray(matrix[1:])


def _solve_each(J: Array, right: Array) -> Array:
    """Solve a stack of systems; a singular one gives nan instead of stopping the others."""
    try:
        return np.asarray(np.linalg.solve(J, right[:, :, None])[:, :, 0], dtype=np.float64)
    except np.linalg.LinAlgError:
        y = np.full_like(right, np.nan)
        for row in range(right.shape[0]):
            try:
                y[row] = np.linalg.solve(J[row], right[row])
            except np.linalg.LinAlgError:
                continue
        return y
