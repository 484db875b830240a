"""What the flows and speeds of a solved state say about its pressures, as linear rows.

Given the flows, every law but that of a pilot is an equality or an inequality on the pressures, whatever the path of
the solver was. A pilot that passes nothing leaves a choice (`Switch`): it is shut, or it is open between equal
pressures. Which of both the solver ended in says nothing about the machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..network import RESERVOIR, Array
from .certificate import Answer
from .limits import P_SCALE
from .split import UnionFind
from .tables import Tables

ACTIVE = 1e-6  # scaled flow, speed or opening up to which a bound counts as active
STILL = 1e-9  # coefficient that counts as zero

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

    def __init__(self, nodes: int, equal: list[Row]):
        sets = UnionFind(nodes)
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


def laws_of(t: Tables, answer: Answer, s: int, p: Array, drop: Array, flow: float) -> Laws:
    """Of state s: p (N,) and drop (M,) of every passage at its flow, scaled; flow: m3/s, scale of flows."""
    laws = Laws([], [], [])
    equal, limited = laws.equal, laws.limited
    q = answer.q[s] / flow
    i, j = t.i.tolist(), t.j.tolist()
    at_lo, at_hi = (q <= t.lo[s] / flow + ACTIVE).tolist(), (q >= t.hi[s] / flow - ACTIVE).tolist()
    law = (t.c0[s] / P_SCALE + drop).tolist()
    now = (p[t.i] - p[t.j]).tolist()
    for e in range(len(i)):
        if at_lo[e] and at_hi[e]:
            continue  # shut: says nothing about the pressures
        if at_lo[e]:
            limited.append((((i[e], 1.0), (j[e], -1.0)), max(law[e], now[e])))
        elif at_hi[e]:
            limited.append((((i[e], -1.0), (j[e], 1.0)), max(-law[e], -now[e])))
        else:
            equal.append(((i[e], 1.0), (j[e], -1.0)))
    for n in range(t.k.shape[0]):
        _actuator_rows(t, answer, s, n, flow, p, laws)
    _pilot_rows(t, answer, s, flow, p, laws)
    return laws


def _pilot_rows(t: Tables, answer: Answer, s: int, flow: float, p: Array, laws: Laws) -> None:
    count = t.z.shape[0]
    ends: list[Row] = [((int(t.pilot_i[c]), 1.0), (int(t.pilot_j[c]), -1.0)) for c in range(count)]
    condition: list[Row] = [tuple((int(n), float(t.z[c, n])) for n in np.flatnonzero(t.z[c])) for c in range(count)]
    passing = [c for c in range(count) if abs(answer.pilot_q[s, c]) > ACTIVE * flow]
    loose = _loose_openings(t, answer, s, laws.equal, passing, ends, condition) if passing else set()
    for c in range(count):
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
    t: Tables, answer: Answer, s: int, equal: list[Row], passing: list[int], ends: list[Row], condition: list[Row]
) -> set[int]:
    """Pilots that pass oil and may open or close further without any law noticing: what acts on them is the pressure of
    oil that is shut in, which may be anything (an unloader behind whose check valve nothing draws). equal: rows of the
    passages and actuators."""
    classes = Classes(t.nodes, equal)
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
