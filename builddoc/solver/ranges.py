"""Pressures that the steady state does not fix (oil shut in between closed ports): the range each of them may hold.

The laws of a solved state, given its flows, are equalities and inequalities on the pressures (`pressure_laws`). Nodes
that must move together are joined; an equality with one unknown class fixes it; what is linked forms a group. Where a
valve that other pressures open touches a group and passes nothing, it may be shut or open: a range reaches from the
lowest to the highest value over all such choices that some pressures allow, so it does not depend on the choice that
the solver happened to end in. One freedom has a closed form; the rest go into one stacked linear program for all
states (`polytopes`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..network import Array
from .certificate import Answer
from .limits import P_BURST, P_CAV, P_SCALE
from .polytopes import EMPTY, Polytope, Span, extremes
from .pressure_laws import STILL, Classes, Form, Laws, StateLaws, Switch, at
from .split import UnionFind
from .tables import Tables

NARROW = 100.0  # Pa: a narrower range counts as a fixed pressure
MOST_SWITCHES = 6  # valves of one group whose choices are gone through; further ones are taken to forbid nothing


@dataclass(slots=True)
class Ranges:
    """pressures: {state: {node: (low, high) Pa}} of nodes that are not fixed. rough: states with ranges that are bounds
    only (never narrower than the true ones), because too many valves touch one group."""

    pressures: dict[int, dict[int, tuple[float, float]]]
    rough: set[int]


@dataclass(slots=True)
class _Folded:
    """A switch on classes, as displacements t from the answer: shut: hold @ t <= room; open: ends @ t = drop and
    hold @ t >= room."""

    ends: Form
    drop: float
    hold: Form
    room: float
    open: bool


@dataclass(slots=True)
class _Group:
    """Linked classes that can move. equal: forms that keep their value; limits: (form, room)."""

    classes: list[int]
    equal: list[Form]
    limits: list[tuple[Form, float]]
    switches: list[_Folded]


@dataclass(slots=True)
class _Job:
    """One choice of one group: its classes, where they stand at the origin of the polytope, and how they may move."""

    state: int
    classes: list[int]
    origin: list[float]
    polytope: Polytope


def ranges(t: Tables, answer: Answer, states: Iterable[int]) -> Ranges:
    """For the given states: what their pressures may be."""
    out = Ranges({}, set())
    jobs: list[_Job] = []
    state_laws = StateLaws(t, answer)
    pressures = state_laws.p
    members: dict[int, dict[int, list[int]]] = {}
    for s in states:
        out.pressures[s] = {}
        if state_laws.fixed[s].all():
            continue
        laws = state_laws.laws(s)
        classes, switches = _settled(state_laws.fixed[s], pressures[s], laws)
        if not classes.free:
            continue
        members[s] = _members(classes)
        for group in _groups(t.nodes, pressures[s], laws, classes, switches, members[s]):
            if len(group.switches) > MOST_SWITCHES:
                out.rough.add(s)
            if len(group.classes) == 1 and not group.equal and not group.switches:  # by far the most common group
                _note(out.pressures[s], pressures[s], members[s][group.classes[0]], _alone(group))
            else:
                jobs += _choices(s, group)
    spans: dict[tuple[int, int], Span] = {}
    asked: dict[tuple[int, int], None] = {}
    for job, found in zip(jobs, extremes([job.polytope for job in jobs]), strict=True):
        for n, c in enumerate(job.classes):
            asked[job.state, c] = None
            if found is not None:
                low, high = found[n][0] + job.origin[n], found[n][1] + job.origin[n]
                was = spans.get((job.state, c), (np.inf, -np.inf))
                spans[job.state, c] = (min(was[0], low), max(was[1], high))
    for s, c in asked:
        _note(out.pressures[s], pressures[s], members[s][c], spans.get((s, c), (-np.inf, np.inf)))
    return out


def _note(found: dict[int, tuple[float, float]], p: Array, nodes: list[int], span: Span) -> None:
    low, high = span
    if (high - low) * P_SCALE > NARROW:
        for node in nodes:
            now = float(p[node])
            found[node] = (_boxed((now + low) * P_SCALE), _boxed((now + high) * P_SCALE))


def _boxed(pressure: float) -> float:
    return min(max(pressure, P_CAV), P_BURST)


def _settled(fixed: NDArray[np.bool_], p: Array, laws: Laws) -> tuple[Classes, list[Switch]]:
    """Classes, and the switches that do leave a choice; what the others say joins `laws`."""
    switches = laws.switches
    while True:
        classes = Classes(fixed, laws.equal)
        left, opened = [], False
        for switch in switches:
            ends, condition = classes.fold(switch.ends), classes.fold(switch.condition)
            beyond, drop = at(switch.condition, p) - switch.least, at(switch.ends, p) - switch.drop
            if not condition and (beyond < EMPTY or not ends):
                continue  # shut, or nothing that it joins can move
            if not condition:
                opened = True
                laws.equal.append(switch.ends)
            elif not ends:
                if abs(drop) > EMPTY:  # it would pass oil if it were open
                    laws.limited.append((switch.condition, max(switch.least, at(switch.condition, p))))
            else:
                left.append(switch)
        switches = left
        if not opened:
            return classes, switches


def _members(classes: Classes) -> dict[int, list[int]]:
    members: dict[int, list[int]] = {c: [] for c in classes.free}
    for node, root in enumerate(classes.root):
        if root in members:
            members[root].append(node)
    return members


def _groups(
    nodes: int, p: Array, laws: Laws, classes: Classes, switches: list[Switch], members: dict[int, list[int]]
) -> list[_Group]:
    limits: list[tuple[Form, float]] = []
    for row, limit in laws.limited:
        form = classes.fold(row)
        if form:
            limits.append((form, max(limit - at(row, p), 0.0)))
    for c, inside in members.items():
        limits.append(({c: 1.0}, max(min(P_BURST / P_SCALE - float(p[m]) for m in inside), 0.0)))
        limits.append(({c: -1.0}, max(min(float(p[m]) - P_CAV / P_SCALE for m in inside), 0.0)))
    folded = [_fold(classes, switch, p) for switch in switches]
    linked = UnionFind(nodes)
    for form in (*classes.forms, *(f for f, _ in limits), *({**x.ends, **x.hold} for x in folded)):
        first, *others = form
        for other in others:
            linked.join(other, first)
    groups: dict[int, _Group] = {}
    for c in classes.free:
        groups.setdefault(linked.find(c), _Group([], [], [], [])).classes.append(c)
    for form in classes.forms:
        groups[linked.find(next(iter(form)))].equal.append(form)
    for form, room in limits:
        groups[linked.find(next(iter(form)))].limits.append((form, room))
    for switch in folded:
        groups[linked.find(next(iter(switch.hold)))].switches.append(switch)
    return list(groups.values())


def _fold(classes: Classes, switch: Switch, p: Array) -> _Folded:
    drop, room = switch.drop - at(switch.ends, p), switch.least - at(switch.condition, p)
    return _Folded(classes.fold(switch.ends), drop, classes.fold(switch.condition), room, switch.open)


def _alone(group: _Group) -> Span:
    """One volume shut in."""
    c = group.classes[0]
    weights = [(form[c], room) for form, room in group.limits]
    up = min((room / w for w, room in weights if w > STILL), default=np.inf)
    down = max((room / w for w, room in weights if w < -STILL), default=-np.inf)
    return down, up


def _choices(s: int, group: _Group) -> list[_Job]:
    """One job for every choice of the switches that its equalities allow."""
    at_class = {c: n for n, c in enumerate(group.classes)}

    def matrix(rows: list[Form]) -> Array:
        out = np.zeros((len(rows), len(group.classes)))
        for r, form in enumerate(rows):
            for c, w in form.items():
                out[r, at_class[c]] = w
        return out

    equal, limits = matrix(group.equal), matrix([form for form, _ in group.limits])
    rooms = np.array([room for _, room in group.limits])
    switches = group.switches[:MOST_SWITCHES]
    ends, hold = matrix([x.ends for x in switches]), matrix([x.hold for x in switches])
    drop, room = np.array([x.drop for x in switches]), np.array([x.room for x in switches])
    answer = [x.open for x in switches]
    jobs = []
    for choice in product((False, True), repeat=len(switches)):
        chosen = np.array(choice, dtype=bool)
        sign = np.where(chosen, -1.0, 1.0)
        forms = np.concatenate([equal, ends[chosen]])
        origin, basis = np.zeros(len(group.classes)), np.eye(len(group.classes))
        if forms.shape[0]:
            wanted = np.concatenate([np.zeros(len(equal)), drop[chosen]])
            u, values, vt = np.linalg.svd(forms)
            rank = int((values > STILL * max(float(values[0]), 1.0)).sum())
            basis = vt[rank:].T
            if wanted.any():
                origin = vt[:rank].T @ ((u.T @ wanted)[:rank] / values[:rank])
                if np.abs(forms @ origin - wanted).max() > EMPTY:
                    continue
        rows = np.concatenate([limits, sign[:, None] * hold])
        left = np.concatenate([rooms, sign * room]) - rows @ origin
        polytope = Polytope(rows @ basis, left, basis, met=list(choice) == answer)
        jobs.append(_Job(s, group.classes, origin.tolist(), polytope))
    return jobs
