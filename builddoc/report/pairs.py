"""Tables of cylinders side by side: what each leg gets, moving and stalled, warm and cold, in every layout."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from ..checks import legs
from ..checks.base import Case
from ..checks.legs import DRAWN, LEVEL, STILL, Side, View
from ..checks.words import Units, capital, listed
from .cells import DASH, Scale, text_column, words
from .model import Cell, Table

_NOTHING = 1e3  # Pa; less does not show
_HEAD = (text_column("Cylinder"), text_column("State"), text_column("Oil"), text_column("It"))


def pairs_table(case: Case) -> Table | None:
    """Every member of a pair in every state that moves it, and the difference between them; None without pairs."""
    found = [view for view in legs.views(case) if view.layout == DRAWN]
    if not found:
        return None
    u = Units(case.circuit)
    sides = [side for view in found for side in view.sides]
    level = Scale(u, "pressure", [p for side in sides for p in side.ports.values()])
    apart = Scale(u, "pressure difference", [side.loss for side in sides])
    flow = Scale(u, "flow", [side.flow for side in sides])
    speed = Scale(u, "velocity", [side.speed for side in sides])
    force = Scale(u, "force", [side.force for side in sides])
    rows: list[tuple[Cell, ...]] = []
    for view in found:
        oil = words(u.show(view.temperature, "temperature"), "coldest start" if view.cold else "")
        if not view.solved:
            blank = words(DASH, flag="failed")
            head = words(view.pair.name, subject=view.pair.parts[0])
            rows.append((head, words(view.state), oil, words("no figures", flag="failed"), *(blank,) * 7))
            continue
        rows += [
            (
                words(side.part, subject=side.part), words(view.state), oil, words(_doing(view, side)),
                *(_pressure(level, view, side, port) for port in ("cap", "rod")),
                flow.cell(side.flow), apart.cell(side.loss),
                speed.cell(0.0 if abs(side.speed) <= STILL else side.speed),
                _least(force.cell(side.force), side.least), _left(u, view, side),
            )
            for side in view.sides
        ]  # fmt: skip
        spans = [_span(side.ports.get(port, math.nan) for side in view.sides) for port in ("cap", "rod")]
        rows.append(
            (
                words("difference"), words(view.state), oil, words(""), *(level.cell(span) for span in spans),
                flow.cell(view.flow_difference), apart.cell(_span(side.loss for side in view.sides)),
                speed.cell(_span(side.speed for side in view.sides)), force.cell(view.force_difference), words(""),
            )
        )  # fmt: skip
    columns = (
        *_HEAD, level.column("Cap side"), level.column("Rod side"), flow.column("Flow of its leg"),
        apart.column("Loss of its leg"), speed.column("Speed"), force.column("Force"), text_column("Behind"),
    )  # fmt: skip
    return Table("pairs", "Cylinders side by side", _answer(u, found), columns, tuple(rows))


def layouts_table(case: Case) -> Table | None:
    """The pair with legs of other lengths, solved again; None where the writer compares nothing."""
    compared = {view.pair.name for view in legs.views(case) if view.layout != DRAWN}
    found = [view for view in legs.views(case) if view.pair.name in compared and not view.stalled]
    refused = legs.impossible(case)
    if not found:
        return None
    u = Units(case.circuit)
    apart = Scale(u, "pressure difference", [view.pressure_difference for view in found])
    flow = Scale(u, "flow", [view.flow_difference for view in found])
    force = Scale(u, "force", [view.force_difference for view in found])
    rows = [
        (
            words(view.pair.name, subject=view.pair.parts[0]), words(view.state),
            words(u.show(view.temperature, "temperature"), "coldest start" if view.cold else ""), words(view.layout),
            apart.cell(view.pressure_difference), force.cell(view.force_difference), flow.cell(view.flow_difference),
            words(_behind(u, view)),
        )
        for view in sorted(found, key=lambda v: (v.pair.name, v.state, v.cold))
    ]  # fmt: skip
    columns = (
        text_column("Pair"), text_column("State"), text_column("Oil"), text_column("Layout"),
        apart.column("Pressures differ by"), force.column("Forces differ by"), flow.column("Flows differ by"),
        text_column("Behind"),
    )  # fmt: skip
    caption = "Each layout is solved again with its own lengths; everything else is as drawn"
    if refused:
        caption += f". Not solved: {listed(refused)}"
    return Table("pair-layouts", "Where the tee sits", caption, columns, tuple(rows))


def _pressure(level: Scale, view: View, side: Side, port: str) -> Cell:
    return _least(level.cell(side.ports.get(port, math.nan)), side.least and port == view.port)


def _least(cell: Cell, least: bool) -> Cell:
    """A figure that is the least it can be."""
    if not least or cell.value is None:
        return cell
    return replace(cell, text=f"{'≥' if cell.value >= 0 else '≤'} {cell.text}", flag="range")


def _span(values: Iterable[float]) -> float:
    each = list(values)
    return math.nan if any(math.isnan(v) for v in each) else max(each) - min(each)


def _doing(view: View, side: Side) -> str:
    if view.stalled:
        return "pushes at its stop" if view.port == "cap" else "pulls at its stop"
    if abs(side.speed) <= STILL:
        return "stands"
    return "extends" if side.speed > 0 else "retracts"


def _left(u: Units, view: View, side: Side) -> Cell:
    """How far it is behind when the first is at its stop."""
    if view.rigid or view.stalled:
        return words("linked" if view.rigid and not view.stalled else "")
    if abs(side.speed) <= STILL:
        others = listed(other.part for other in view.sides if abs(other.speed) > STILL)
        return words(f"does not move until {others} is at its stop")
    if math.isnan(side.left):
        return words("stroke not given")
    return words("first" if side.left < LEVEL else u.both(side.left, "length"))


def _behind(u: Units, view: View) -> str:
    if view.rigid:
        return "linked"
    if not view.sides:
        return ""
    standing = [side.part for side in view.sides if abs(side.speed) <= STILL]
    if standing:
        return f"{listed(standing)} waits for the other"
    last = max(view.sides, key=lambda side: -math.inf if math.isnan(side.left) else side.left)
    if math.isnan(last.left):
        return "stroke not given"
    return "level" if last.left < LEVEL else f"{last.part} {u.both(last.left, 'length')}"


def _late(u: Units, own: list[View]) -> str:
    """What the last of a pair that nothing links is behind, at worst."""
    sides = [(side, view) for view in own if not view.rigid for side in view.sides if side.left >= LEVEL]
    if not sides:
        return ""
    side, view = max(sides, key=lambda found: found[0].left)
    if abs(side.speed) <= STILL:
        return f" ({_behind(u, view)})"
    return f" ({side.part} {u.both(side.left, 'length')} behind)"


def _answer(u: Units, found: list[View]) -> str:
    """The largest difference while moving at every temperature of the oil, and at a stop, one sentence per pair."""
    said = []
    for name in dict.fromkeys(view.pair.name for view in found):
        told = []
        moving = [v for v in found if v.pair.name == name and not v.stalled and not math.isnan(v.pressure_difference)]
        for temperature in sorted({v.temperature for v in moving}, reverse=True):
            own = [v for v in moving if v.temperature == temperature]
            most = max(own, key=lambda v: v.pressure_difference)
            force = most.force_difference
            told.append(
                f"{u.both(most.pressure_difference, 'pressure difference')}"
                + ("" if not force >= 1.0 else f" and {u.both(force, 'force')}")
                + f" at {u.show(temperature, 'temperature')}" + _late(u, own)
            )
        if told:
            said.append(f"moving, the sides of {name} differ by {listed(told)}{_standing(u, found, name)}")
    return capital("; ".join(said)) if said else "No state with figures moves them"


def _standing(u: Units, found: list[View], name: str) -> str:
    """What they differ by against a stop: nothing flows there."""
    apart = [v.pressure_difference for v in found if v.pair.name == name and v.stalled]
    most = max((p for p in apart if not math.isnan(p)), default=math.nan)
    if math.isnan(most):
        return ""
    return f", at a stop by {'nothing' if most < _NOTHING else u.both(most, 'pressure difference')}"
