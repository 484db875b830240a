"""Tables of lines: the worst of each over all states, and all lines in every state."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..checks import strength
from ..checks.base import Case
from ..checks.duty import duties_of, flow_of
from ..checks.strength import Seen
from ..checks.velocity import line_velocity
from ..checks.words import Units, listed
from .cells import DASH, Scale, share, text_column, words
from .effect import effect
from .model import Cell, Table


def lines_table(case: Case) -> Table:
    """One row per line: largest flow and velocity, highest pressure with its state (lowest for a suction line), the
    rating of the weakest member, and the share of it that is used."""
    r, u = case.results, Units(case.circuit)
    names = list(case.circuit.lines)
    duty = duties_of(case)
    flows = {n: r.worst(flow_of(n, case.network, r.q)) for n in names}
    speeds = {n: r.worst(line_velocity(case, n)) for n in names}
    levels = {}
    for n in names:
        nodes = strength.line_nodes(case.network, n)
        levels[n] = _lowest(case, n) if duty[n] == "suction" else strength.seen(case, nodes)
    weak = {n: strength.weakest(strength.line_members(case, n)) for n in names}
    flow = Scale(u, "flow", [w.value for w in flows.values() if w])
    speed = Scale(u, "velocity", [w.value for w in speeds.values() if w])
    level = Scale(u, "pressure", [w.value for w in levels.values() if w])
    rating = Scale(u, "pressure", [m.value for m in weak.values() if m and m.value])
    rows = []
    for n in names:
        line, worst, limit = case.circuit.lines[n], levels[n], weak[n]
        f, v = flows[n], speeds[n]
        unrated = [m.label for m in strength.line_members(case, n) if m.missing]
        lowest = "lowest, " if duty[n] == "suction" else ""
        rated = limit.value if limit and limit.value else float("nan")
        suction = duty[n] == "suction" and (worst is None or worst.value <= 0)
        used = worst.value / rated if worst and not suction else float("nan")
        rows.append(
            (
                words(n, f"{line.start} → {line.end}", subject=n),
                words(duty[n]),
                flow.cell(f.value, f.state) if f else words(DASH, "direct joint" if not line.conduit else ""),
                speed.cell(v.value) if v else words(DASH),
                _shown(case, level, worst, n, lowest),
                rating.cell(
                    rated, strength.caveat(limit.rating if limit else None),
                    flag="" if limit or suction else "not-checked",
                ),
                share(used, flag="not-checked" if unrated and not suction else "", subject=n),
                words(limit.label if limit else DASH, _without(unrated) if not suction else ""),
            )
        )
    columns = (
        text_column("Line"), text_column("Duty"), flow.column("Flow"), speed.column("Velocity"),
        level.column("Highest pressure"), rating.column("Rated"), text_column("Share of rating"),
        text_column("Limited by"),
    )  # fmt: skip
    return Table("lines", "Lines", "Worst over all states; the state is named under the figure", columns, tuple(rows))


def _without(unrated: list[str]) -> str:
    return f"no rating: {listed(unrated, 3)}" if unrated else ""


def _lowest(case: Case, name: str) -> Seen | None:
    i, j = case.results.line_pressures(name)
    worst = case.results.worst(np.fmin(i, j), lowest=True)
    return Seen(worst.value, worst.index, worst.state, False) if worst else None


def _level(scale: Scale, seen: Seen, subject: str = "", before: str = "") -> Cell:
    """The highest pressure with the state that makes it; `≥` where the state only sets a lower bound."""
    cell = scale.cell(seen.value, before + seen.state, subject=subject)
    return replace(cell, text=f"≥ {cell.text}", flag="range") if seen.least else cell


def _shown(case: Case, level: Scale, worst: Seen | None, name: str, lowest: str) -> Cell:
    if worst is None:
        return _no_level(case, name)
    if case.solution.states[worst.index].void.keys() & strength.line_nodes(case.network, name) and worst.value < 0:
        return words("starved", lowest + worst.state, subject=name, flag="over")
    return _level(level, worst, name, lowest)


def _no_level(case: Case, name: str) -> Cell:
    if strength.trapped_states(case, strength.line_nodes(case.network, name)):
        return words("open", "shut in: see the notes", subject=name, flag="range")
    return words(DASH, "no state has figures", subject=name, flag="failed")


def lines_by_state(case: Case) -> Table:
    """Every line in every state: flow (positive from its first-named end to the other), velocity, pressure at both
    ends."""
    r, u = case.results, Units(case.circuit)
    names = list(case.circuit.lines)
    ends = {n: r.line_pressures(n) for n in names}
    speeds = {n: line_velocity(case, n) for n in names}
    flow = Scale(u, "flow", [float(q) for n in names for q in np.abs(r.line_flow(n))])
    speed = Scale(u, "velocity", [float(v) for n in names for v in speeds[n]])
    level = Scale(u, "pressure", [float(p) for n in names for end in ends[n] for p in end])
    rows: list[tuple[Cell, ...]] = []
    for n in names:
        for s, state in enumerate(r.states):
            if not r.solved[s]:
                blank = words(DASH, flag="failed")
                rows.append((words(n, subject=n), words(state), blank, blank, blank, blank, blank))
                continue
            rows.append(
                (
                    words(n, subject=n),
                    words(state),
                    flow.cell(float(r.line_flow(n)[s])),
                    speed.cell(float(speeds[n][s])),
                    *(_end(case, level, n, side, s, float(ends[n][side][s])) for side in (0, 1)),
                    words(effect(case, case.network.line_nodes[n][0], s)),
                )
            )
    columns = (
        text_column("Line"), text_column("State"), flow.column("Flow"), speed.column("Velocity"),
        level.column("Pressure at its start"), level.column("Pressure at its end"),
        text_column("What makes the pressure at its start"),
    )  # fmt: skip
    return Table(
        "lines-by-state", "Lines in every state",
        "Flow counts from the first-named end of the line to the other; a minus runs the other way",
        columns, tuple(rows),
    )  # fmt: skip


def _end(case: Case, level: Scale, name: str, side: int, s: int, value: float) -> Cell:
    node = case.network.line_nodes[name][side]
    low, _ = case.solution.states[s].ranges.get(node, (0.0, 0.0))
    if node in case.solution.states[s].void:
        return words("starved", "oil is missing here", flag="over")
    if low > 0:
        cell = level.cell(low, "shut in", flag="range")
        return replace(cell, text=f"≥ {cell.text}")
    if node in case.solution.states[s].ranges:
        return words("open", "shut in", flag="range")
    return level.cell(value)


def _bends(case: Case, m: strength.Member) -> str:
    """Remarks on the bend radius of the hose that a member is."""
    line = case.circuit.lines.get(m.owner)
    if m.port or m.fitting or line is None or line.conduit is None:
        return ""
    return " ".join(note for note in line.conduit.notes if strength.is_bend_note(note))


def ratings_table(case: Case) -> Table:
    """Every rated place: ports of parts, conduits and fittings of lines; worst pressure, rating, share, where read."""
    u = Units(case.circuit)
    found: list[tuple[str, str, strength.Member, set[int]]] = []
    for part, members in strength.each_port(case):
        found += [(m.label, part.name, m, {case.network.port_nodes[part.name, m.port]}) for m in members]
    for n in case.circuit.lines:
        nodes = strength.line_nodes(case.network, n)
        found += [(f"{n}: {m.label}", n, m, nodes) for m in strength.line_members(case, n) if not m.port]
    worst = [strength.seen(case, nodes) for _, _, _, nodes in found]
    level = Scale(u, "pressure", [w.value for w in worst if w])
    rating = Scale(u, "pressure", [m.rating.value for _, _, m, _ in found if m.rating and m.rating.value])
    rows = []
    for (label, subject, m, nodes), w in zip(found, worst, strict=True):
        stated = m.rating.value if m.rating and m.rating.value else float("nan")
        calm = w is not None and w.value <= 0 and not strength.trapped_states(case, nodes)
        kind = m.rating.kind if m.rating and m.rating.value and m.missing else ""
        unchecked = "not-checked" if m.missing and not calm else ""
        open_note = "shut in: see the notes" if w is None and strength.trapped_states(case, nodes) else ""
        rows.append(
            (
                words(label, "second-hand" if m.salvaged else "", subject=subject),
                _level(level, w) if w else words(DASH, open_note, flag="range" if open_note else "failed"),
                rating.cell(
                    stated, " · ".join(w for w in (kind, strength.caveat(m.rating)) if w), flag=unchecked
                ),
                share(w.value / stated if w and not calm else float("nan"), flag=unchecked),
                words(strength.basis(m.rating) or ("not stated" if m.missing else "as given"), _bends(case, m)),
            )
        )
    columns = (
        text_column("Place"), level.column("Highest pressure"), rating.column("Rated"), text_column("Share of rating"),
        text_column("Where the rating was read"),
    )  # fmt: skip
    return Table("ratings", "Ratings", "Worst over all states; not checked is not safe", columns, tuple(rows))
