"""Tables of what moves: every actuator in every state, and what each can do at most both ways."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from .. import kinds
from ..checks import strength, walk
from ..checks.base import Case
from ..checks.closed import rooms
from ..checks.sections import feeders, of_kind, top_pressure, without
from ..checks.words import Units
from ..kinds.base import Motion
from ..network import Actuator
from .cells import DASH, Scale, text_column, words
from .model import Cell, Table

STANDS = 1e-9  # m/s or rad/s
REDUCING = "pressure reducing valve"


def motions(case: Case) -> list[tuple[str, Motion]]:
    return [
        (part.name, motion)
        for part in case.circuit.parts.values()
        for motion in kinds.registry()[part.kind].motions(part, case.results).values()
    ]


def rods_table(case: Case) -> Table | None:
    """Cylinders in every solved state; None without cylinders."""
    return _table(case, "rod", "actuators", "Cylinders", ("velocity", "force"))


def shafts_table(case: Case) -> Table | None:
    """Motors in every solved state; None without motors."""
    return _table(case, "shaft", "motors", "Motors", ("rotational speed", "torque"))


def _table(case: Case, kind: str, key: str, title: str, dimensions: tuple[str, str]) -> Table | None:
    r, u = case.results, Units(case.circuit)
    own = [(name, m) for name, m in motions(case) if m.kind == kind]
    if not own:
        return None
    speed = Scale(u, dimensions[0], [float(abs(v)) for _, m in own for v in m.speed])
    bounds = [b for name, _ in own for s in range(r.size) if r.solved[s] for b in _bounds(case, name, s)]
    efforts = [float(abs(v)) for _, m in own for v in m.given]
    effort = Scale(u, dimensions[1], [*efforts, *bounds])
    output = Scale(u, "power", [float(abs(v)) for _, m in own if m.output is not None for v in m.output])
    time = Scale(u, "time", [float(t) for _, m in own if m.stroke_time is not None for t in m.stroke_time])
    rows: list[tuple[Any, ...]] = []
    for name, m in own:
        for s, state in enumerate(r.states):
            head = (words(name, subject=name), words(state))
            if not r.solved[s]:
                blank = words(DASH, flag="failed")
                rows.append((*head, words("no figures", flag="failed"), *(blank,) * (4 if kind == "rod" else 3)))
                continue
            v, force = float(m.speed[s]), float(m.given[s])
            stands = math.isfinite(v) and abs(v) <= STANDS
            power = float(m.output[s]) if m.output is not None else math.nan
            row = [
                *head,
                words(_what(kind, v, stands), m.notes[s] if m.notes else ""),
                speed.cell(0.0 if stands else v),
                effort.cell(force) if math.isfinite(force) else _bound(case, effort, name, s),
                output.cell(power, second=False),
            ]
            if kind == "rod":
                stroke = float(m.stroke_time[s]) if m.stroke_time is not None and not stands else math.nan
                row.append(time.cell(stroke if math.isfinite(stroke) else math.nan))
            rows.append(tuple(row))
    columns = [
        text_column("Cylinder" if kind == "rod" else "Motor"), text_column("State"), text_column("It"),
        speed.column("Speed"), effort.column("Force" if kind == "rod" else "Torque"), output.column("Power given"),
    ]  # fmt: skip
    if kind == "rod":
        columns.append(time.column("Full stroke in"))
    caption = (
        "Force and speed count positive when extending" if kind == "rod"
        else "Torque and speed count positive from port A to port B"
    ) + (
        "; a negative power is taken from the load. While it moves, what reaches the load; at rest what the oil gives, "
        "friction left out"
    )  # fmt: skip
    return Table(key, title, caption, tuple(columns), tuple(rows))


def _bounds(case: Case, part: str, s: int) -> tuple[float, float]:
    """Least effort of the oil in the positive and in the negative sense, N or N m, where a pressure is open; 0 = none
    is certain."""
    least: list[tuple[float, float]] = []
    for a in (*case.network.actuators, *case.network.tied):
        if a.part == part:
            ends = [sorted(k * p for p in span) for k, span in _sides(case, a, s)]
            least.append((max(sum(e[0] for e in ends), 0.0), max(-sum(e[1] for e in ends), 0.0)))
    if not least:
        return 0.0, 0.0
    return min(push for push, _ in least), min(pull for _, pull in least)  # of several stages the weakest gives way


def _sides(case: Case, a: Actuator, s: int) -> Iterator[tuple[float, tuple[float, float]]]:
    """Areas of an actuator, m2 or m3/rad, with the least and the highest Pa on each; sides that stand open to each
    other (a ram in regeneration) have one pressure, so their areas count together."""
    ranges = case.solution.states[s].ranges
    room_of = {n: room for room in rooms(case, s) for n in room} if len(set(a.k) & set(ranges)) > 1 else {}
    joined: dict[frozenset[int], list[int]] = {}
    for node in a.k:
        if node in ranges and node in room_of:
            joined.setdefault(room_of[node], []).append(node)
        else:
            joined.setdefault(frozenset((node,)), []).append(node)
    for nodes in joined.values():
        spans = [ranges.get(node, (float(case.results.p[s, node]),) * 2) for node in nodes]
        yield sum(a.k[node] for node in nodes), (max(low for low, _ in spans), min(high for _, high in spans))


def _bound(case: Case, effort: Scale, part: str, s: int) -> Cell:
    """What the oil pushes or pulls at least, while the pressure itself is open."""
    positive, negative = _bounds(case, part, s)
    if effort.text(positive + negative) != effort.text(0.0):
        cell = effort.cell(positive or -negative, "at least: oil shut in", flag="range")
        return replace(cell, text=f"{'≥' if positive else '≤'} {cell.text}")
    return words("open", "oil shut in", flag="range")


def _what(kind: str, v: float, stands: bool) -> str:
    if not math.isfinite(v):
        return DASH
    if stands:
        return "stands"
    if kind == "rod":
        return "extends" if v > 0 else "retracts"
    return "turns A to B" if v > 0 else "turns B to A"


def both_ways_table(case: Case) -> Table | None:
    """What each rod can do at most, both ways: on one side the highest pressure that a pump that feeds it can make (of
    the states, or the setting of its relief where none reaches that), none on the other, the whole flow of the largest
    such pump; behind a reducing valve no more than its setting, unless a state shows more there, behind a gear divider
    what a state shows where that is higher. Friction and losses left out. None without pumps or rods."""
    u, rods = Units(case.circuit), [a for a in case.network.actuators if a.role == "rod"]
    sides = [side for a in rods for side in (_side(case, a, 1.0), _side(case, a, -1.0))]
    top = max((s for s in sides if s.level > 0), key=lambda s: (not s.shown, s.level), default=None)
    if top is None:
        return None
    area = Scale(u, "area", [s.area for s in sides])
    force = Scale(u, "force", [s.area * s.level for s in sides if s.level > 0])
    speed = Scale(u, "velocity", [s.flow / s.area for s in sides if s.area > 0 and s.flow > 0])
    rows = []
    several = Counter(a.part for a in rods)
    stage: Counter[str] = Counter()
    for a, pair in zip(rods, zip(sides[::2], sides[1::2], strict=True), strict=True):
        stage[a.part] += 1
        cells = [words(a.part, f"stage {stage[a.part]}" if several[a.part] > 1 else "", subject=a.part)]
        for side in pair:
            can = side.area > 0
            other = "" if side.level == top.level or not side.level > 0 else f"at {u.pressure(side.level)}"
            cells += [
                area.cell(side.area if can else math.nan, second=False),
                force.cell(side.area * side.level if can else math.nan, other if can else ""),
                speed.cell(side.flow / side.area if can else math.nan),
            ]
        rows.append(tuple(cells))
    columns = (
        text_column("Cylinder"), area.column("Area, out"), force.column("Force, out"), speed.column("Speed, out"),
        area.column("Area, in"), force.column("Force, in"), speed.column("Speed, in"),
    )  # fmt: skip
    flows = {s.flow for s in sides if s.flow > 0}
    whole = f", {u.both(max(flows), 'flow')}" if len(flows) == 1 else " that feeds it"
    behind = "what a reducing valve lets through, or what a state shows behind a gear divider where that is more"
    named = any(s.level > 0 and s.level != top.level for s in sides)
    other = f"; where another pressure is named, at that: the highest of another pump, or {behind}" if named else ""
    basis = behind if top.shown else "the highest at a pump's outlet" if top.state else "the setting of its relief"
    basis += f", in '{top.state}'" if top.state else "" if top.shown else ", which no state reaches"
    return Table(
        "both-ways", "What each cylinder can do at most, both ways",
        f"At {u.both(top.level, 'pressure')} ({basis}) with nothing on the other side, and with the "
        f"whole flow of the largest pump{whole}; friction and losses left out{other}",
        columns, tuple(rows),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Way:
    """One side of a rod. area: m2, 0 = oil cannot move it that way. level: Pa, nan where none is known. state: that has
    it, "" where a setting has. flow: m3/s. shown: it is what gets there, not what a pump makes."""

    area: float
    level: float
    state: str
    flow: float
    shown: bool


def _side(case: Case, rod: Actuator, sign: float) -> _Way:
    driven = frozenset(node for node, k in rod.k.items() if k * sign > 0)
    size = sum(abs(rod.k[node]) for node in driven)
    if not size:
        return _Way(0.0, math.nan, "", math.nan, False)
    r, here = case.results, strength.seen(case, driven)
    flow = max((w.value for p in feeders(case, driven) if (w := r.worst(p.delivery(r)))), default=math.nan)
    top = top_pressure(case, driven)
    if top is None:
        return _Way(size, math.nan, "", flow, False)
    made, state = top
    before = walk.reach(case.network, driven, walk.EVER, backward=True)
    valves = [v for v in of_kind(case, REDUCING) if case.network.port_nodes[v.name, "outlet"] in before]
    reduced = bool(valves) and not any(without(case, node, REDUCING) for node in driven)
    if reduced:
        made, state = min(made, max(v.params.setting for v in valves)), ""  # type: ignore[attr-defined]
    multiplied = not any(without(case, node, "flow divider") for node in driven)
    if here is not None and (reduced or multiplied) and here.value >= made:
        return _Way(size, here.value, here.state, flow, True)
    return _Way(size, made, state, flow, reduced)
