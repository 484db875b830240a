"""What the flows and speeds of a solved state say about its pressures, as linear rows.

Given the flows, every law but that of a pilot is an equality or an inequality on the pressures, whatever the path of
the solver was. A pilot that passes nothing leaves a choice (`Switch`): it is shut, or it is open between equal
pressures. Which of both the solver ended in says nothing about the machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..network import RESERVOIR, Array
from .certificate import Answer, passage_drop
from .limits import P_SCALE
from .scaling import flow_scale
from .split import UnionFind
from .tables import Tables

ACTIVE = 1e-6  # scaled flow, speed or opening up to which a bound counts as active
STILL = 1e-9  # coefficient that counts as zero
ROUNDS = 40  # passages in series along which fixed nodes are looked for in all states at once

Row = tuple[tuple[int, float], ...]  # (node, weight), ...
Form = dict[int, float]  # class -> weight


@dataclass(slots=True)
class Switch:
    """A pilot that passes nothing: shut while condition @ p <= least, or open, with ends @ p = drop and
    condition @ p >= least. open: how the solver's answer has it."""

    ends: Row
    drop: float
    condition: Row
    least: float
    open: bool


@dataclass(slots=True)
class Laws:
    """equal: rows that keep their value. limited: (row, upper limit). Pressures in units of P_SCALE."""

    equal: list[Row]
    limited: list[tuple[Row, float]]
    switches: list[Switch]


class Classes:
    """Nodes joined that must move together; `fixed` classes cannot move at all. equal: rows that keep their value."""

    def __init__(self, fixed: NDArray[np.bool_], equal: list[Row]):
        """fixed: (N,) nodes known to be fixed. Rows on these alone need not be among `equal`."""
        nodes = fixed.size
        sets = UnionFind(nodes)
        sets.parent = np.where(fixed, RESERVOIR, np.arange(nodes)).tolist()
        rest = []
        for row in equal:
            if len(row) == 2 and row[0][1] == -row[1][1]:
                sets.join(row[0][0], row[1][0])
            else:
                rest.append(row)
        self.root = [sets.find(n) for n in range(nodes)]
        self.fixed = {self.root[RESERVOIR]}
        forms = [f for f in map(self.fold, rest) if f]
        settled = False
        while not settled:
            settled = True
            forms = [{c: w for c, w in f.items() if c not in self.fixed} for f in forms]
            for form in forms:
                if len(form) == 1:
                    self.fixed |= form.keys()
                    settled = False
            forms = [f for f in forms if len(f) > 1]
        self.forms = forms
        self.free = sorted(set(self.root) - self.fixed)

    def fold(self, row: Row) -> Form:
        """The row on classes that can move."""
        form: Form = {}
        for node, weight in row:
            c = self.root[node]
            if c not in self.fixed:
                form[c] = form.get(c, 0.0) + weight
        return {c: w for c, w in form.items() if abs(w) > 1e-12}


def minus(row: Row) -> Row:
    return tuple((node, -weight) for node, weight in row)


def at(row: Row, p: Array) -> float:
    """Value of a row."""
    return float(sum(weight * p[node] for node, weight in row))


class StateLaws:
    """What all states together say: where passages stand at a bound, and (most) nodes that open passages alone fix.

    at_lo, at_hi: (S, M). fixed: (S, N). Pressures in units of P_SCALE."""

    def __init__(self, t: Tables, answer: Answer):
        self.t, self.answer = t, answer
        self.flow = flow_scale(t)
        q = answer.q / self.flow[:, None]
        self.at_lo, self.at_hi = q <= t.lo / self.flow[:, None] + ACTIVE, q >= t.hi / self.flow[:, None] - ACTIVE
        self.p = answer.p / P_SCALE
        self.law = (t.c0 + passage_drop(t, answer.q)) / P_SCALE
        self.fixed = self._fixed(~self.at_lo & ~self.at_hi)

    def _fixed(self, joins: NDArray[np.bool_]) -> NDArray[np.bool_]:
        i, j = self.t.i, self.t.j
        fixed = np.zeros(self.p.shape, dtype=bool)
        fixed[:, RESERVOIR] = True
        for _ in range(ROUNDS):  # what lies further off is found to be fixed by its rows
            rows, columns = np.nonzero(joins & (fixed[:, i] != fixed[:, j]))
            if not rows.size:
                break
            fixed[rows, i[columns]] = True
            fixed[rows, j[columns]] = True
        return fixed

    def laws(self, s: int) -> Laws:
        """Of state s; rows on fixed nodes alone are left out."""
        t, laws, p, fixed = self.t, Laws([], [], []), self.p[s], self.fixed[s]
        equal, limited = laws.equal, laws.limited
        asked = ~(fixed[t.i] & fixed[t.j]) & ~(self.at_lo[s] & self.at_hi[s])  # shut: says nothing about pressures
        for e in np.flatnonzero(asked).tolist():
            i, j = int(t.i[e]), int(t.j[e])
            if self.at_lo[s, e]:
                limited.append((((i, 1.0), (j, -1.0)), max(float(self.law[s, e]), float(p[i] - p[j]))))
            elif self.at_hi[s, e]:
                limited.append((((i, -1.0), (j, 1.0)), max(-float(self.law[s, e]), float(p[j] - p[i]))))
            else:
                equal.append(((i, 1.0), (j, -1.0)))
        flow = float(self.flow[s])
        for n in np.flatnonzero(((t.k != 0.0) & ~fixed).any(axis=1)).tolist():
            _actuator_rows(t, self.answer, s, n, flow, p, laws)
        touched = ~fixed[t.pilot_i] | ~fixed[t.pilot_j] | ((t.z != 0.0) & ~fixed).any(axis=1)
        _pilot_rows(t, self.answer, s, np.flatnonzero(touched).tolist(), flow, p, fixed, laws)
        return laws


def _pilot_rows(
    t: Tables, answer: Answer, s: int, asked: list[int], flow: float, p: Array, fixed: NDArray[np.bool_], laws: Laws
) -> None:
    """asked: the pilots that touch a node which is not fixed."""
    ends: dict[int, Row] = {c: ((int(t.pilot_i[c]), 1.0), (int(t.pilot_j[c]), -1.0)) for c in asked}
    condition: dict[int, Row] = {
        c: tuple((int(n), float(t.z[c, n])) for n in np.flatnonzero(t.z[c])) for c in asked
    }
    passing = [c for c in asked if abs(answer.pilot_q[s, c]) > ACTIVE * flow]
    classes = Classes(fixed, laws.equal) if passing else None
    loose = _loose_openings(t, answer, s, classes, passing, ends, condition) if classes is not None else set()
    for c in asked:
        x, q, z0 = float(answer.x[s, c]), float(answer.pilot_q[s, c]), float(t.z0[s, c]) / P_SCALE
        z, now = at(condition[c], p), at(ends[c], p)
        if c not in passing:
            open_ = x > ACTIVE
            least = min(z0, z) if open_ else max(z0, z)
            laws.switches.append(Switch(ends[c], now if open_ else 0.0, condition[c], least, open_))
        elif c in loose:  # it may stand anywhere between just open and fully open
            drop = float(t.pilot_b[s, c]) * q * q / P_SCALE
            laws.limited.append((minus(condition[c]), max(-z0, -z)))
            laws.limited.append((minus(ends[c]), -min(drop, now)) if q > 0 else (ends[c], max(-drop, now)))
        else:
            laws.equal.append(ends[c])
            if x < 1.0 - ACTIVE:
                laws.equal.append(condition[c])
            else:
                laws.limited.append((minus(condition[c]), max(-z0 - float(t.droop[s, c]) / P_SCALE, -z)))


def _loose_openings(
    t: Tables, answer: Answer, s: int, classes: Classes, passing: list[int], ends: dict[int, Row],
    condition: dict[int, Row],
) -> set[int]:  # fmt: skip
    """Pilots that pass oil and may open or close further without any law noticing: what acts on them is the pressure of
    oil that is shut in, which may be anything (an unloader behind whose check valve nothing draws). classes: by the
    rows of passages and actuators."""
    folded = {c: (classes.fold(ends[c]), classes.fold(condition[c])) for c in passing}
    asked = [c for c, (one, other) in folded.items() if one or other]
    if not asked:
        return set()
    moving = {t.nodes + c: len(classes.free) + n for n, c in enumerate(asked)}  # openings stand behind the classes
    column = {c: n for n, c in enumerate(classes.free)} | moving
    rows = list(classes.forms)
    for c in asked:
        x, q = float(answer.x[s, c]), float(answer.pilot_q[s, c])
        steeper = 2.0 * float(t.pilot_b[s, c]) * abs(q) * q / x**3 / P_SCALE
        rows.append({**folded[c][0], t.nodes + c: steeper})
        rows.append({**folded[c][1], t.nodes + c: -float(t.droop[s, c]) / P_SCALE})
    matrix = np.zeros((len(rows), len(column)))
    for r, row in enumerate(rows):
        for c, weight in row.items():
            matrix[r, column[c]] += weight
    _, values, vt = np.linalg.svd(matrix)
    rank = int((values > STILL * max(float(values.max(initial=0.0)), 1.0)).sum())
    free = np.abs(vt[rank:]).max(axis=0, initial=0.0) > 1e-7
    return {c for c in asked if free[column[t.nodes + c]]}


def _actuator_rows(t: Tables, answer: Answer, s: int, n: int, flow: float, p: Array, laws: Laws) -> None:
    nodes = np.flatnonzero(t.k[n])
    if not nodes.size:
        return
    k0 = float(np.abs(t.k[n]).max())
    row: Row = tuple((int(m), float(t.k[n, m]) / k0) for m in nodes)
    now = at(row, p)
    force, friction = float(t.force[s, n]) / (k0 * P_SCALE), float(t.friction[s, n]) / (k0 * P_SCALE)
    upper = np.inf if t.v_hi[s, n] <= 0.0 else max(force + friction, now)
    lower = -np.inf if t.v_lo[s, n] >= 0.0 else min(force - friction, now)
    if abs(float(answer.v[s, n])) * k0 / flow > ACTIVE or upper - lower < 1e-12:
        laws.equal.append(row)
        return
    if upper < np.inf:
        laws.limited.append((row, upper))
    if lower > -np.inf:
        laws.limited.append((minus(row), -lower))
