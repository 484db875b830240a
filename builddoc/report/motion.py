"""Tables of what moves: every actuator in every state, and what each can do at most both ways."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np

from .. import kinds
from ..checks import walk
from ..checks.base import Case
from ..checks.words import Units
from ..kinds.base import Motion
from .cells import DASH, Scale, text_column, words
from .model import Cell, Table

STANDS = 1e-9  # m/s or rad/s


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
    state, r = case.solution.states[s], case.results
    least: list[tuple[float, float]] = []
    for a in case.network.actuators:
        if a.part == part:
            ends = [
                sorted(k * p for p in state.ranges.get(node, (float(r.p[s, node]),) * 2)) for node, k in a.k.items()
            ]
            least.append((max(sum(e[0] for e in ends), 0.0), max(-sum(e[1] for e in ends), 0.0)))
    if not least:
        return 0.0, 0.0
    return min(push for push, _ in least), min(pull for _, pull in least)  # of several stages the weakest gives way


def _bound(case: Case, effort: Scale, part: str, s: int) -> Cell:
    """What the oil pushes or pulls at least, while the pressure itself is open."""
    positive, negative = _bounds(case, part, s)
    if positive > 0 or negative > 0:
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
    """What each rod can do at most, both ways: the highest pressure of any pump's outlet on one side, none on the
    other, the whole flow of the largest pump; friction and losses left out. None without pumps or rods."""
    r, u = case.results, Units(case.circuit)
    pumps = walk.pumps(case.network)
    rods = [a for a in case.network.actuators if a.role == "rod"]
    levels = [w for p in pumps if (w := r.worst(r.node_pressure(p.outlet)))]
    flows = [w for p in pumps if (w := r.worst(p.delivery(r)))]
    if not rods or not levels or not flows:
        return None
    top = max(levels, key=lambda w: w.value)
    level, flow = top.value, max(w.value for w in flows)
    out = np.array([sum(k for k in a.k.values() if k > 0) for a in rods])
    back = np.array([-sum(k for k in a.k.values() if k < 0) for a in rods])
    area = Scale(u, "area", [*out, *back])
    force = Scale(u, "force", [*(out * level), *(back * level)])
    speed = Scale(u, "velocity", [flow / x for x in (*out, *back) if x > 0])
    rows = []
    several = Counter(a.part for a in rods)
    stage: Counter[str] = Counter()
    for a, x, y in zip(rods, out, back, strict=True):
        stage[a.part] += 1
        cells = [words(a.part, f"stage {stage[a.part]}" if several[a.part] > 1 else "", subject=a.part)]
        for side in (float(x), float(y)):
            can = side > 0
            cells += [
                area.cell(side if can else math.nan, second=False),
                force.cell(side * level if can else math.nan),
                speed.cell(flow / side if can else math.nan),
            ]
        rows.append(tuple(cells))
    columns = (
        text_column("Cylinder"), area.column("Area, out"), force.column("Force, out"), speed.column("Speed, out"),
        area.column("Area, in"), force.column("Force, in"), speed.column("Speed, in"),
    )  # fmt: skip
    return Table(
        "both-ways", "What each cylinder can do at most, both ways",
        f"At {u.both(level, 'pressure')} (the highest at a pump's outlet, in '{top.state}') with nothing on the other "
        f"side, and with the whole flow of the largest pump, {u.both(flow, 'flow')}; friction and losses left out",
        columns, tuple(rows),
    )  # fmt: skip
