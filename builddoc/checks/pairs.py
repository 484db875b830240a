"""Rules on cylinders side by side, tied together by a beam or not."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from ..circuit import Tie
from . import legs
from .base import Case, Finding, rule
from .legs import View
from .sections import top_pressure
from .words import Units, listed

UNEVEN = 5e5
"""Pa; a difference of pressure between the two sides worth a word. Common practice, no source."""
UNLEVEL = 0.02
"""Share of the stroke by which one may be behind. Common practice, no source."""


def _areas(case: Case, name: str) -> tuple[float, float]:
    """Cap and ring area, m2; a single-acting cylinder has no ring."""
    params = case.circuit.parts[name].params
    if hasattr(params, "areas"):
        cap, ring = params.areas()
        return float(cap), float(ring)
    return float(np.pi / 4 * params.bore**2), 0.0  # type: ignore[attr-defined]


@rule(
    id="pair-rigid-force",
    title="Each side of a tied pair can carry what one cylinder can do alone",
    signal="WARNING",
    reason="A twisted frame lets one cylinder take the whole load; pins, rod or frame corner then carry it alone.",
    criterion="told for every tie with a load: the pressure at which one member alone moves the whole load, "
    "against the "
    "highest pressure at a pump",
    remedy="Build each side, its pins and the cross-tube for the full force of one cylinder at the relief.",
    source="p = F / A: elementary",
)
def rigid_force(case: Case) -> Iterable[Finding]:
    id, u = "pair-rigid-force", Units(case.circuit)
    for tie in case.circuit.ties.values():
        ends = frozenset(n for (part, _), n in case.network.port_nodes.items() if part in tie.parts)
        top = top_pressure(case, ends)
        loads = [float(case.circuit.states[s].orders.get((tie.name, "load"), 0.0)) for s in case.results.states]
        load = max(loads, key=abs, default=0.0)
        if not load or top is None:
            yield Finding(id, "not checked", "WARNING", tie.name, f"{tie.name}: what one side alone may carry is open",
                          missing=f"a solved state with a load on '{tie.name}'", place=tie.place)  # fmt: skip
            continue
        areas = {n: _areas(case, n)[0 if load > 0 else 1] for n in tie.parts}
        name = min(areas, key=lambda n: areas[n])
        alone = abs(load) / areas[name] if areas[name] else float("inf")
        most = areas[name] * top[0]
        figures = {"load": abs(load), "pressure alone": alone, "force at the relief": most}
        if alone >= top[0]:
            yield Finding(
                id, "ok", "WARNING", tie.name,
                f"{name} alone cannot move the {u.both(abs(load), 'force')} of {tie.name}: it gives "
                f"{u.show(most, 'force')} at most",
                figures=figures,
            )  # fmt: skip
            continue
        yield Finding(
            id, "finding", "WARNING", tie.name,
            f"{name} alone can carry the whole {u.both(abs(load), 'force')} of {tie.name}, at "
            f"{u.both(alone, 'pressure')}",
            text=f"Nothing here shares the load but the beam. At a stop one side gives up to {u.both(most, 'force')}, "
            "whatever the other does.",
            remedy=f"Build each side, its pins and the cross-tube for {u.show(most, 'force')}.",
            figures=figures, place=tie.place,
        )  # fmt: skip
    if not case.circuit.ties:
        yield Finding(id, "does not apply", "WARNING", "", "No cylinders are tied together")


@rule(
    id="pair-tee-unbalance",
    title="Both sides of a pair get the same pressure",
    signal="CAUTION",
    reason="Unequal lines to a pair twist the frame: the nearer side pushes first, most of all with cold oil.",
    criterion="in every state in which the pair moves, with the oil of the state and at the coldest start: members of "
    "a rigid tie differ at most 5 bar at the same port; members that nothing links, from the stop behind them, end "
    "their strokes within 2 % of the stroke",
    remedy="A tee in the middle with equal legs; equal motion needs a stiff frame or a flow divider.",
    source="follows from the solved line losses; a trade article on dividers (seen as an excerpt); 5 bar and 2 %: "
    "common practice, no source",
)
def unbalance(case: Case) -> Iterable[Finding]:
    pairs = legs.sets(case.circuit)
    for pair, rigid in pairs:
        seen = [v for v in legs.views(case) if v.pair is pair and v.layout == legs.DRAWN and not v.stalled]
        if rigid:
            yield _uneven(case, pair, [v for v in seen if not math.isnan(v.pressure_difference)])
        else:
            yield _behind(case, pair, [v for v in seen if v.sides])
    if not pairs:
        yield Finding("pair-tee-unbalance", "does not apply", "CAUTION", "", "No cylinders are set side by side")


def _unmoved(pair: Tie) -> Finding:
    return Finding("pair-tee-unbalance", "not checked", "CAUTION", pair.name, f"{pair.name}: no state shows it moving",
                   missing=f"a solved state in which '{pair.name}' moves", place=pair.place)  # fmt: skip


def _uneven(case: Case, pair: Tie, seen: list[View]) -> Finding:
    id, u = "pair-tee-unbalance", Units(case.circuit)
    if not seen:
        return _unmoved(pair)
    most = max(seen, key=lambda v: v.pressure_difference)
    port = most.worst_port
    figures = {"difference": most.pressure_difference, "temperature": most.temperature}
    each = listed(f"{side.part} {u.pressure(side.ports[port])}" for side in most.sides)
    line = f"{pair.name}: the {port} sides differ by {u.both(most.pressure_difference, 'pressure difference')} ({each})"
    line += f" at the coldest start, {u.show(most.temperature, 'temperature')}" if most.cold else ""
    if most.pressure_difference <= UNEVEN:
        return Finding(id, "ok", "CAUTION", pair.name, line, state=most.state, figures=figures)
    warm = max((v.pressure_difference for v in seen if not v.cold), default=math.nan)
    fades = f" Warm it is {u.both(warm, 'pressure difference')}." if most.cold and not math.isnan(warm) else ""
    return Finding(
        id, "finding", "CAUTION", pair.name, line,
        text=f"The lines to them are not alike. The beam has to make up for it: it twists, jams and lets go.{fades}",
        remedy="A tee in the middle with equal legs; warm the oil before lifting. Equal motion needs a stiff frame or "
        "a flow divider.",
        state=most.state, figures=figures, place=pair.place,
    )  # fmt: skip


def _behind(case: Case, pair: Tie, seen: list[View]) -> Finding:
    """How far the last of a pair that nothing links is behind, at worst."""
    id, u = "pair-tee-unbalance", Units(case.circuit)
    if not seen:
        return _unmoved(pair)
    strokes = {name: getattr(case.circuit.parts[name].params, "stroke", None) for name in pair.parts}
    if not all(strokes.values()):
        return Finding(id, "not checked", "CAUTION", pair.name, f"{pair.name}: how far one is behind is open",
                       missing="the stroke of its cylinders", place=pair.place)  # fmt: skip
    view, side = max(((v, side) for v in seen for side in v.sides), key=lambda found: found[1].left)
    share = side.left / (strokes[side.part] or math.nan)
    figures = {"behind": side.left, "share of stroke": share, "temperature": view.temperature}
    stands = abs(side.speed) <= legs.STILL
    at = f" at the coldest start, {u.show(view.temperature, 'temperature')}" if view.cold else ""
    line = (
        f"{pair.name}: {side.part} does not move until the other is at its stop{at}"
        if stands
        else f"{pair.name}: {side.part} is {u.both(side.left, 'length')} behind when the other is at its stop{at}"
    )
    if share <= UNLEVEL:
        within = u.both(max(side.left, legs.LEVEL), "length")
        return Finding(id, "ok", "CAUTION", pair.name, f"{pair.name}: both end their strokes within {within}",
                       state=view.state, figures=figures)  # fmt: skip
    return Finding(
        id, "finding", "CAUTION", pair.name, line,
        text="Nothing links them, and oil goes where it is easiest: the side with less load or the shorter leg "
        "first.",
        remedy="Link them stiffly, or feed them through a flow divider or in series with rephasing cylinders; a tee in "
        "the middle makes only the line losses alike.",
        state=view.state, figures=figures, place=pair.place,
    )  # fmt: skip
