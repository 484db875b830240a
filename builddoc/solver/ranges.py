"""Pressures that the steady state does not fix (oil shut in between closed ports): the range each of them may hold.

The active laws of a solved state are equalities and inequalities on the pressures. Nodes that must move together are
joined; an equality with one unknown class fixes it; a linked group with one freedom has a closed form; the rest go
into one stacked linear program for all states.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..network import RESERVOIR, Array
from .certificate import Answer, passage_drop
from .limits import P_BURST, P_CAV, P_SCALE
from .scaling import flow_scale
from .split import UnionFind
from .tables import Tables
from .uniqueness import helped_open

ACTIVE = 1e-6  # scaled flow, speed or opening up to which a bound counts as active
NARROW = 100.0  # Pa: a narrower range counts as a fixed pressure
STILL = 1e-9  # coefficient that counts as zero

Row = tuple[tuple[int, float], ...]  # (node, weight), ...
Form = dict[int, float]  # class -> weight


@dataclass(slots=True)
class _Job:
    """One linear program pair: how far class direction b may move within limits @ t <= room."""

    state: int
    nodes: list[int]
    direction: Array
    limits: Array
    room: Array


def ranges(t: Tables, answer: Answer, states: Iterable[int]) -> dict[int, dict[int, tuple[float, float]]]:
    """For the given states: {state: {node: (low, high) Pa}} of the nodes whose pressure is not fixed."""
    out: dict[int, dict[int, tuple[float, float]]] = {}
    jobs: list[_Job] = []
    drops = passage_drop(t, answer.q) / P_SCALE
    pressures = answer.p / P_SCALE
    for s in states:
        out[s] = {}
        equal, limited = _active_laws(t, answer, s, pressures[s], drops[s])
        jobs += _moves(t.nodes, s, pressures[s], equal, limited, out[s])
    for job, (low, high) in zip(jobs, _programs(jobs), strict=True):
        for node in job.nodes:
            _note(out[job.state], pressures[job.state], node, low, high)
    return out


def _note(found: dict[int, tuple[float, float]], p: Array, node: int, low: float, high: float) -> None:
    if (high - low) * P_SCALE > NARROW:
        now = float(p[node])
        found[node] = (_boxed((now + low) * P_SCALE), _boxed((now + high) * P_SCALE))


def _boxed(pressure: float) -> float:
    return min(max(pressure, P_CAV), P_BURST)


def _active_laws(t: Tables, answer: Answer, s: int, p: Array, drop: Array) -> tuple[list[Row], list[tuple[Row, float]]]:
    """Rows that must keep their value, and rows with an upper limit."""
    flow = float(flow_scale(t)[s])
    equal: list[Row] = []
    limited: list[tuple[Row, float]] = []
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
        _actuator_rows(t, answer, s, n, flow, p, equal, limited)
    loose = _loose_openings(t, answer, s, flow, equal)
    for c in range(t.z.shape[0]):
        ends: Row = ((int(t.pilot_i[c]), 1.0), (int(t.pilot_j[c]), -1.0))
        nodes = np.flatnonzero(t.z[c])
        condition: Row = tuple((int(n), float(t.z[c, n])) for n in nodes)
        z, x = float(t.z[c] @ p), float(answer.x[s, c])
        if c in loose:  # it may stand anywhere between just open and fully open
            q = float(answer.pilot_q[s, c])
            least = float(t.pilot_b[s, c]) * q * q / P_SCALE
            now = float(p[t.pilot_i[c]] - p[t.pilot_j[c]])
            limited.append((_minus(condition), max(-float(t.z0[s, c]) / P_SCALE, -z)))
            limited.append((_minus(ends), -min(least, now)) if q > 0 else (ends, max(-least, now)))
            continue
        if x > ACTIVE:
            equal.append(ends)
        if ACTIVE < x < 1.0 - ACTIVE:
            equal.append(condition)
        elif x <= ACTIVE:
            limited.append((condition, max(float(t.z0[s, c]) / P_SCALE, z)))
        else:
            limited.append((_minus(condition), max(-float(t.z0[s, c] + t.droop[s, c]) / P_SCALE, -z)))
    return equal, limited


def _loose_openings(t: Tables, answer: Answer, s: int, flow: float, equal: list[Row]) -> set[int]:
    """Pilots that pass oil and may open or close further without any law noticing: what acts on them is the pressure of
    oil that is shut in, which may be anything (an unloader behind whose check valve nothing draws). equal: rows of the
    passages and actuators."""
    x, q = answer.x[s], answer.pilot_q[s]
    open_ = np.flatnonzero(x > ACTIVE)
    asked = [int(c) for c in np.flatnonzero(helped_open(t)) if x[c] > ACTIVE and abs(q[c]) > ACTIVE * flow]
    if not asked:
        return set()
    column = {c: t.nodes + n for n, c in enumerate(asked)}
    rows: list[Row] = [((RESERVOIR, 1.0),), *equal]
    for c in open_.tolist():
        ends: Row = ((int(t.pilot_i[c]), 1.0), (int(t.pilot_j[c]), -1.0))
        condition: Row = tuple((int(n), float(t.z[c, n])) for n in np.flatnonzero(t.z[c]))
        if c in column:
            steeper = 2.0 * float(t.pilot_b[s, c]) * abs(q[c]) * float(q[c]) / float(x[c]) ** 3 / P_SCALE
            rows.append((*ends, (column[c], steeper)))
            rows.append((*condition, (column[c], -float(t.droop[s, c]) / P_SCALE)))
        else:
            rows.append(ends)
            if x[c] < 1.0 - ACTIVE:
                rows.append(condition)
    matrix = np.zeros((len(rows), t.nodes + len(asked)))
    for r, row in enumerate(rows):
        for n, weight in row:
            matrix[r, n] += weight
    _, values, vt = np.linalg.svd(matrix)
    rank = int((values > STILL * max(float(values.max(initial=0.0)), 1.0)).sum())
    free = np.abs(vt[rank:]).max(axis=0, initial=0.0) > 1e-7
    return {c for c in asked if free[column[c]]}


def _actuator_rows(
    t: Tables, answer: Answer, s: int, n: int, flow: float, p: Array, equal: list[Row], limited: list[tuple[Row, float]]
) -> None:
    nodes = np.flatnonzero(t.k[n])
    if not nodes.size:
        return
    k0 = float(np.abs(t.k[n]).max())
    row: Row = tuple((int(m), float(t.k[n, m]) / k0) for m in nodes)
    now = sum(weight * float(p[m]) for m, weight in row)
    force, friction = float(t.force[s, n]) / (k0 * P_SCALE), float(t.friction[s, n]) / (k0 * P_SCALE)
    upper = np.inf if t.v_hi[s, n] <= 0.0 else max(force + friction, now)
    lower = -np.inf if t.v_lo[s, n] >= 0.0 else min(force - friction, now)
    if abs(float(answer.v[s, n])) * k0 / flow > ACTIVE or upper - lower < 1e-12:
        equal.append(row)
        return
    if upper < np.inf:
        limited.append((row, upper))
    if lower > -np.inf:
        limited.append((_minus(row), -lower))


def _minus(row: Row) -> Row:
    return tuple((node, -weight) for node, weight in row)


def _moves(
    nodes: int, s: int, p: Array, equal: list[Row], limited: list[tuple[Row, float]],
    found: dict[int, tuple[float, float]],
) -> list[_Job]:  # fmt: skip
    """Closed forms go into `found`; groups with several freedoms come back as jobs."""
    sets = UnionFind(nodes)
    rest = []
    for row in equal:
        if len(row) == 2 and row[0][1] == -row[1][1]:
            sets.join(row[0][0], row[1][0])
        else:
            rest.append(row)
    root = [sets.find(n) for n in range(nodes)]
    still = root[RESERVOIR]

    def fold(row: Row) -> Form:
        form: Form = {}
        for node, weight in row:
            if root[node] != still:
                form[root[node]] = form.get(root[node], 0.0) + weight
        return {c: w for c, w in form.items() if abs(w) > 1e-12}

    forms = [f for f in map(fold, rest) if f]
    fixed: set[int] = set()
    settled = False
    while not settled:
        settled = True
        forms = [{c: w for c, w in f.items() if c not in fixed} for f in forms]
        for form in forms:
            if len(form) == 1:
                fixed |= form.keys()
                settled = False
        forms = [f for f in forms if len(f) > 1]
    free = sorted({c for c in root if c not in fixed and c != still})
    if not free:
        return []
    limits: list[tuple[Form, float]] = []
    for row, limit in limited:
        form = {c: w for c, w in fold(row).items() if c not in fixed}
        if form:
            limits.append((form, max(limit - sum(w * float(p[n]) for n, w in row), 0.0)))
    members: dict[int, list[int]] = {c: [] for c in free}
    for node in range(nodes):
        if root[node] in members:
            members[root[node]].append(node)
    for c, inside in members.items():
        limits.append(({c: 1.0}, max(min(P_BURST / P_SCALE - float(p[m]) for m in inside), 0.0)))
        limits.append(({c: -1.0}, max(min(float(p[m]) - P_CAV / P_SCALE for m in inside), 0.0)))
    jobs: list[_Job] = []
    linked = UnionFind(nodes)
    for form in (*forms, *(f for f, _ in limits)):
        first, *others = form
        for other in others:
            linked.join(other, first)
    groups: dict[int, list[int]] = {}
    for c in free:
        groups.setdefault(linked.find(c), []).append(c)
    forms_of: dict[int, list[Form]] = {}
    limits_of: dict[int, list[tuple[Form, float]]] = {}
    for form in forms:
        forms_of.setdefault(linked.find(next(iter(form))), []).append(form)
    for form, room in limits:
        limits_of.setdefault(linked.find(next(iter(form))), []).append((form, room))
    for key, classes in groups.items():
        jobs += _group(s, p, classes, members, forms_of.get(key, []), limits_of[key], found)
    return jobs


def _group(
    s: int, p: Array, classes: list[int], members: dict[int, list[int]], forms: list[Form],
    limits: list[tuple[Form, float]], found: dict[int, tuple[float, float]],
) -> list[_Job]:  # fmt: skip
    if len(classes) == 1 and not forms:  # one volume shut in: by far the most common group
        weights = [(form[classes[0]], h) for form, h in limits]
        up = min((h / w for w, h in weights if w > STILL), default=np.inf)
        down = max((h / w for w, h in weights if w < -STILL), default=-np.inf)
        for node in members[classes[0]]:
            _note(found, p, node, down, up)
        return []
    at = {c: n for n, c in enumerate(classes)}

    def matrix(rows: list[Form]) -> Array:
        out = np.zeros((len(rows), len(classes)))
        for r, form in enumerate(rows):
            for c, w in form.items():
                out[r, at[c]] = w
        return out

    basis = np.eye(len(classes))
    if forms:
        _, values, vt = np.linalg.svd(matrix(forms))
        basis = vt[int((values > STILL * max(values[0], 1.0)).sum()) :].T
    if basis.shape[1] == 0:
        return []
    room = np.array([h for _, h in limits])
    rows = matrix([f for f, _ in limits]) @ basis
    if basis.shape[1] == 1:
        c = rows[:, 0]
        up = float((room[c > STILL] / c[c > STILL]).min(initial=np.inf))
        down = float((room[c < -STILL] / c[c < -STILL]).max(initial=-np.inf))
        for cls in classes:
            b = float(basis[at[cls], 0])
            if abs(b) > 1e-7:
                for node in members[cls]:
                    _note(found, p, node, min(b * down, b * up), max(b * down, b * up))
        return []
    return [
        _Job(s, members[cls], basis[at[cls]], rows, room) for cls in classes if np.abs(basis[at[cls]]).max() > 1e-7
    ]


def _programs(jobs: list[_Job]) -> list[tuple[float, float]]:
    """(lowest, highest) displacement of every job, all solved as one stacked linear program."""
    if not jobs:
        return []
    from scipy.optimize import linprog
    from scipy.sparse import csc_matrix

    values, rows, columns, costs, rooms = [], [], [], [], []
    row = column = 0
    for job in jobs:
        r, c = np.nonzero(job.limits)
        v = job.limits[r, c]
        for sign in (1.0, -1.0):
            values.append(v)
            rows.append(r + row)
            columns.append(c + column)
            costs.append(sign * job.direction)
            rooms.append(job.room)
            row += job.room.size
            column += job.direction.size
    limits = csc_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(row, column))
    solved = linprog(
        np.concatenate(costs), A_ub=limits, b_ub=np.concatenate(rooms),
        bounds=(None, None), method="highs",
    )  # fmt: skip
    if solved.status != 0:  # never met: then the widest range is the only honest one
        width = (P_BURST - P_CAV) / P_SCALE
        return [(-width, width)] * len(jobs)
    out, at = [], 0
    for job in jobs:
        size = job.direction.size
        low = float(job.direction @ solved.x[at : at + size])
        high = float(job.direction @ solved.x[at + size : at + 2 * size])
        out.append((low, high))
        at += 2 * size
    return out
