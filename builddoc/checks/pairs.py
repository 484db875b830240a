"""Rules on cylinders that one beam ties together."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from .base import Case, Finding, rule
from .sections import top_pressure
from .words import Units, listed

UNEVEN = 5e5
"""Pa; a difference of pressure between the two sides worth a word. Common practice, no source."""


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
    id, u, top = "pair-rigid-force", Units(case.circuit), top_pressure(case)
    for tie in case.circuit.ties.values():
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
    title="Both sides of a tied pair get the same pressure",
    signal="CAUTION",
    reason="Unequal lines to a pair twist the frame: the nearer side pushes first, most of all with cold oil.",
    criterion="difference between members in the pressure at the same port at most 5 bar in every state in which the "
    "pair moves",
    remedy="A tee in the middle with equal legs; equal motion needs a stiff frame or a flow divider.",
    source="follows from the solved line losses; a trade article on dividers (seen as an excerpt); 5 bar: common "
    "practice, no source",
)
def unbalance(case: Case) -> Iterable[Finding]:
    id, u, r = "pair-tee-unbalance", Units(case.circuit), case.results
    for tie in case.circuit.ties.values():
        moving = np.abs(r.speed(tie.parts[0], "rod")) > 1e-6
        worst = None
        for port in ("cap", "rod"):
            if not all((n, port) in case.network.port_nodes for n in tie.parts):
                continue
            levels = np.array([r.pressure(n, port) for n in tie.parts])
            found = r.worst(np.where(moving, np.max(levels, axis=0) - np.min(levels, axis=0), np.nan))
            if found is not None and (worst is None or found.value > worst[0].value):
                worst = (found, port, levels[:, found.index])
        if worst is None:
            yield Finding(id, "not checked", "CAUTION", tie.name, f"{tie.name}: no state shows it moving",
                          missing=f"a solved state in which '{tie.name}' moves", place=tie.place)  # fmt: skip
            continue
        most, port, levels = worst
        figures = {"difference": most.value}
        each = listed(f"{n} {u.pressure(float(p))}" for n, p in zip(tie.parts, levels, strict=True))
        line = f"{tie.name}: the {port} sides differ by {u.both(most.value, 'pressure difference')} ({each})"
        if most.value <= UNEVEN:
            yield Finding(id, "ok", "CAUTION", tie.name, line, state=most.state, figures=figures)
            continue
        yield Finding(
            id, "finding", "CAUTION", tie.name, line,
            text="The lines to them are not alike. The beam has to make up for it: it twists, jams and lets go.",
            remedy="A tee in the middle with equal legs; warm the oil before lifting. Equal motion needs a "
            "stiff frame or "
            "a flow divider.",
            state=most.state, figures=figures, place=tie.place,
        )  # fmt: skip
    if not case.circuit.ties:
        yield Finding(id, "does not apply", "CAUTION", "", "No cylinders are tied together")
