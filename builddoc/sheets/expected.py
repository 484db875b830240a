"""What instruments should show: at gauges, at reliefs, with a watch."""

from __future__ import annotations

import math

import numpy as np

from ..checks import walk
from ..checks.base import Case
from ..checks.words import Units, listed
from ..report import motion
from ..report.cells import Scale, text_column
from ..report.model import Cell, Table
from ..tolerances import RULES, careful
from .model import blank, text


def points_table(case: Case) -> Table | None:
    """Where each gauge point sits and the highest that it sees in a state that is no fault; None without any."""
    r, u = case.results, Units(case.circuit)
    points = [part for part in case.circuit.parts.values() if part.kind == "gauge point"]
    if not points:
        return None
    ordinary = np.array([r.solved[s] and not case.circuit.states[n].fault for s, n in enumerate(r.states)])
    worst = {p.name: r.worst(np.where(ordinary, r.pressure(p.name, "port"), np.nan)) for p in points}
    level = Scale(u, "pressure", [w.value for w in worst.values() if w is not None])
    rows = []
    for point in points:
        found = worst[point.name]
        rows.append(
            (
                text(point.name, point.params.note, subject=point.name), text(_sits_at(case, point.name)),
                level.cell(found.value if found else math.nan, found.state if found else "no state fixes it"), blank(),
            )
        )  # fmt: skip
    columns = (
        text_column("Test point"), text_column("Sits at"), level.column("Highest"), text_column("Gauge: scale, class"),
    )  # fmt: skip
    caption = "A gauge that ends near twice the highest reads well and bears a mistake (common practice)"
    return Table("points", "Test points", caption, columns, tuple(rows))


def _sits_at(case: Case, name: str) -> str:
    ends = [
        str(other)
        for line in case.circuit.lines.values()
        for own, other in ((line.start, line.end), (line.end, line.start))
        if own.part == name
    ]
    return listed(ends) or "nothing joins it"


def gauges_table(case: Case) -> Table | None:
    """Every gauge point in every state that is no fault and fixes its pressure; None without gauge points."""
    r, u = case.results, Units(case.circuit)
    points = [part for part in case.circuit.parts.values() if part.kind == "gauge point"]
    ordinary = [s for s, name in enumerate(r.states) if r.solved[s] and not case.circuit.states[name].fault]
    seen = {point.name: r.pressure(point.name, "port") for point in points}
    level = Scale(u, "pressure", [float(seen[p.name][s]) for p in points for s in ordinary])
    rows: list[tuple[Cell, ...]] = []
    for point in points:
        for s in ordinary:
            value = float(seen[point.name][s])
            if not math.isnan(value):
                low, high = (level.text(max(value + side * careful("pressure", value), 0.0)) for side in (-1, 1))
                rows.append(
                    (
                        text(point.name, subject=point.name), text(r.states[s]), level.cell(value),
                        text(f"{low} to {high}"), text(u.show(float(r.temperature[s]), "temperature")), blank(),
                    )
                )  # fmt: skip
    if not rows:
        return None
    columns = (
        text_column("Gauge"), text_column("State"), level.column("Should show"), text_column("Agrees within"),
        text_column("Oil at"), text_column("Read"),
    )  # fmt: skip
    share, least = RULES["pressure"]
    caption = (
        f"Predicted. Agrees within {share * 100:g} % or {u.show(least, 'pressure difference')}, whichever is more, at "
        "the working speed (common practice); what the gauge itself may be off comes on top"
    )
    return Table("gauges", "What the gauges should show", caption, columns, tuple(rows))


def reliefs_table(case: Case) -> Table | None:
    """Every relief, lowest setting first: where it is read, its setting, its pressure at the most flow that any state
    sends over it; None without reliefs."""
    r, u = case.results, Units(case.circuit)
    found = sorted(walk.limiters(case.circuit, case.network), key=lambda item: item.setting)
    level = Scale(u, "pressure", [item.setting for item in found])
    rows = []
    for item in found:
        flow = r.worst(item.flow(r))
        passes = flow is not None and flow.value > 1e-9
        full = float(item.pressure(r)[flow.index]) if flow and passes else math.nan
        rows.append(
            (
                text(item.label, subject=item.part), text(_read_at(case, item)), level.cell(item.setting),
                level.cell(full, f"{u.flow(flow.value)}, {flow.state}" if flow and passes else "no state opens it"),
                blank(), blank(),
            )
        )  # fmt: skip
    if not rows:
        return None
    columns = (
        text_column("Relief"), text_column("Read at"), level.column("Opens at"), level.column("At full flow"),
        text_column("Set to"), text_column("Sealed"),
    )  # fmt: skip
    caption = "Lowest first. Set at working speed with warm oil: at idle the pressure at full flow reads too low"
    return Table("reliefs", "Reliefs to set", caption, columns, tuple(rows))


def _read_at(case: Case, item: walk.Limiter) -> str:
    """Gauge points that see the relief's inlet with nothing between but lines."""
    inlets = item.inlets(case.network)
    lines = set(case.circuit.lines)
    near = walk.reach(case.network, inlets, walk.ALWAYS, lambda part, role: part in lines, pilots=False)
    names = [p.name for p in case.circuit.parts.values() if p.kind == "gauge point"]
    seen = [name for name in names if case.network.port_nodes[name, "port"] in near]
    return listed(seen) or "no gauge there: fit one"


def strokes_table(case: Case) -> Table | None:
    """Stroke times of every rod in every ordinary state in which it moves; None without any."""
    r, u = case.results, Units(case.circuit)
    rods = [(name, m) for name, m in motion.motions(case) if m.stroke_time is not None]
    found = [
        (name, s, float(m.stroke_time[s]), float(m.speed[s]))
        for name, m in rods
        if m.stroke_time is not None
        for s, state in enumerate(r.states)
        if r.solved[s] and not case.circuit.states[state].fault and np.isfinite(m.stroke_time[s])
    ]
    if not found:
        return None
    time = Scale(u, "time", [t for _, _, t, _ in found], by_smallest=True)
    rows = [
        (
            text(name, subject=name), text(r.states[s]), text("out" if speed > 0 else "in"), time.cell(t),
            text(f"{time.text(t - careful('time', t))} to {time.text(t + careful('time', t))}"), blank(),
        )
        for name, s, t, speed in found
    ]  # fmt: skip
    columns = (
        text_column("Cylinder"), text_column("State"), text_column("Goes"), time.column("Full stroke in"),
        text_column("Agrees within"), text_column("Timed"),
    )  # fmt: skip
    share, least = RULES["time"]
    caption = (
        f"Predicted for the load of the state. Agrees within {share * 100:g} % or {least:g} s, whichever is more "
        "(common practice)"
    )
    return Table("strokes", "Stroke times", caption, columns, tuple(rows))
