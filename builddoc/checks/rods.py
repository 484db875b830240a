"""Rules on what a cylinder's own geometry does: pressure multiplied on the rod side, a rod that bends."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from ..circuit import Part
from ..physics import buckling
from ..physics import cylinder as laws
from . import walk
from .base import Case, Finding, Signal, rule
from .sections import CAN_SHUT, members, of_kind, section, top_pressure
from .strength import PROOF, weakest
from .words import Units, listed

STEEL, YIELD, SAFETY = 210e9, 350e6, 3.5
"""Pa, Pa; safety against buckling: 3 to 5 is usual for cylinders, common practice, no source."""


@rule(
    id="cyl-rod-intensify",
    title="The rod side holds what the piston can press into it",
    signal="WARNING",
    reason="Where oil cannot leave the rod side, the piston multiplies the pressure by the ratio of its areas: gland, "
    "hose or coupler bursts.",
    criterion="where a coupler, a shut-off or a check valve can close the rod side: highest pressure at a pump "
    "times cap "
    "area over ring area <= lowest rating there. DANGER from 1.5 times if no declared state shows it already",
    remedy="A relief on the rod side, set below its ratings; or nothing there that can shut.",
    source="p_rod = p_cap A_cap / A_ring: elementary; a trade article on pressure intensification (seen as an excerpt)",
)
def intensify(case: Case) -> Iterable[Finding]:
    id, u = "cyl-rod-intensify", Units(case.circuit)
    cylinders = of_kind(case, "cylinder")
    for part in cylinders:
        top = top_pressure(case, frozenset({case.network.port_nodes[part.name, "cap"]}))
        cap, ring = part.params.areas()  # type: ignore[attr-defined]
        node = case.network.port_nodes[part.name, "rod"]
        way = section(case, node)
        shut = [n for n in way.parts if _closes(case, n, way.nodes)]
        phi = f"area ratio {cap / ring:.2f}"
        if not shut:
            yield Finding(id, "ok", "WARNING", part.name, f"{part.name}, {phi}: nothing but a spool can close its rod "
                          "side", figures={"area ratio": cap / ring})  # fmt: skip
            continue
        if top is None:
            yield Finding(id, "not checked", "WARNING", part.name,
                          f"{part.name}, {phi}: no state gives a pump pressure",
                          missing="a state with figures", place=part.place)  # fmt: skip
            continue
        near = section(case, node, without=tuple(shut))
        reliefs = [i for i in walk.limiters(case.circuit, case.network) if i.inlets(case.network) & near.nodes]
        level = float(laws.intensified(top[0], cap, ring))
        limited = min((i.setting for i in reliefs), default=math.inf)
        level = min(level, limited)
        weak = weakest(members(case, near))
        figures = {"pressure": level, "area ratio": cap / ring}
        can = f"{listed(shut, 3)} can shut in the rod side of {part.name}: {u.both(level, 'pressure')}"
        if weak is None or weak.value is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{can}, and nothing there has a rating",
                          missing=f"ratings at the rod side of {part.name}", figures=figures,
                          place=part.place)  # fmt: skip
        elif level <= weak.value:
            yield Finding(id, "ok", "WARNING", part.name, f"{can}; {weak.label} holds {u.pressure(weak.value)}",
                          figures=figures | {"rating": weak.value})  # fmt: skip
        else:
            shown = any(
                case.results.solved[s] and _least(case, node, s) > 0.9 * level for s in range(case.results.size)
            )
            word: Signal = "DANGER" if level >= PROOF * weak.value and not shown else "WARNING"
            yield Finding(
                id, "finding", word, part.name, f"{can}, {weak.label} is rated {u.both(weak.value, 'pressure')}",
                text=f"The piston presses {u.pressure(top[0])} ({_where(top[1])}) into a ring of less area: {phi}. "
                "Gland, hose "
                "or coupler bursts." + (" A declared state shows it." if shown else " No declared state shows it."),
                remedy="A relief on the rod side, set below its ratings; or nothing there that can shut.",
                figures=figures | {"rating": weak.value, "ratio": level / weak.value}, place=part.place,
            )  # fmt: skip
    if not cylinders:
        yield Finding(id, "does not apply", "WARNING", "", "No double-acting cylinder in this circuit")


def _where(state: str) -> str:
    return f"'{state}'" if state else "the setting of its relief"


def _least(case: Case, node: int, s: int) -> float:
    state = case.solution.states[s]
    return float(state.ranges[node][0] if node in state.ranges else case.results.p[s, node])


def _closes(case: Case, name: str, nodes: frozenset[int]) -> bool:
    """A part that can be shut, or a check valve that lets oil into these nodes and not out."""
    kind = case.circuit.parts[name].kind
    if kind != "check valve":
        return kind in CAN_SHUT
    own = [b for b in case.network.branches if b.part == name]
    return any(b.j in nodes and b.i not in nodes and float(b.lo.max()) >= 0 for b in own)


@rule(
    id="cyl-buckling",
    title="A pushing rod does not bend",
    signal="WARNING",
    reason="A slender rod bends at full stroke under full push, and the load comes down.",
    criterion="buckling load of the rod over 3.5 >= highest pump pressure times piston area, what its oil presses it "
    "with in any state (behind a divider it may be more), and `outside push` up to the port relief; length between "
    "pins taken as twice the stroke (fully out a cylinder is never shorter), ends on pins",
    remedy="A thicker rod, a shorter stroke or a lower relief.",
    source="Euler, and Johnson's parabola below its range (see physics.buckling); steel 210 GPa, yield 350 MPa and "
    "safety 3.5: common practice, no source",
)
def rod_buckling(case: Case) -> Iterable[Finding]:
    id, u = "cyl-buckling", Units(case.circuit)
    cylinders = of_kind(case, "cylinder")
    remarks: list[Finding] = []
    for part in cylinders:
        top = top_pressure(case, frozenset({case.network.port_nodes[part.name, "cap"]}))
        params = part.params
        stroke = params.stroke  # type: ignore[attr-defined]
        if stroke is None or top is None:
            yield Finding(id, "not checked", "WARNING", part.name, f"{part.name}: whether its rod bends is open",
                          missing="its stroke" if stroke is None else "a state with figures",
                          place=part.place)  # fmt: skip
            continue
        push, does, state = _push(case, part, top)
        holds = float(buckling.critical(STEEL, YIELD, params.rod, 2 * stroke)) / SAFETY  # type: ignore[attr-defined]
        figures = {"push": push, "allowed": holds, "ratio": push / holds}
        line = f"{part.name} {does} {u.both(push, 'force')}; its rod takes {u.both(holds, 'force')}"
        length = (
            f"Pins {u.show(2 * stroke, 'length')} apart (twice the stroke; the real distance is more, and then it "
            f"takes less), safety {SAFETY:g}."
        )
        if push <= holds:
            yield Finding(id, "ok", "WARNING", part.name, f"{line} with pins at twice the stroke", text=length,
                          figures=figures)  # fmt: skip
            continue
        signal: Signal = "WARNING" if push > holds * SAFETY else "NOTICE"
        found = Finding(
            id, "finding", signal, part.name, f"{line} at full stroke",
            text=f"{length} Loads in line with the rod are assumed; a side load makes it worse. It counts if the rod "
            "ever pushes against a stop or a load with the relief open.",
            remedy="A thicker rod, a shorter stroke or a lower relief.", state=state, figures=figures,
            place=part.place,
        )  # fmt: skip
        if signal == "WARNING":
            yield found
        else:
            remarks.append(found)
    if remarks:  # one remark for all of them: the rod with least to spare speaks for the rest
        worst = max(remarks, key=lambda f: f.figures["ratio"])
        others = listed(f.subject for f in remarks if f is not worst)
        yield replace(worst, text=f"{worst.text} So it is with {others}." if others else worst.text)
    if not cylinders:
        yield Finding(id, "does not apply", "WARNING", "", "No double-acting cylinder in this circuit")


def _push(case: Case, part: Part, top: tuple[float, str]) -> tuple[float, str, str]:
    """N, the greatest force along a rod, how it comes about, and the state in which it does. top: Pa and state of the
    highest pressure at a pump."""
    r, network = case.results, case.network
    cap, ring = part.params.areas()  # type: ignore[attr-defined]
    nodes = [network.port_nodes[part.name, port] for port in ("cap", "rod")]
    found = [(cap * top[0], "can push", top[1])]
    for s in np.flatnonzero(r.solved):
        if nodes[1] not in case.solution.states[s].ranges:
            inside = cap * _least(case, nodes[0], int(s)) - ring * float(r.p[s, nodes[1]])
            found.append((inside, "presses its rod with", r.states[s]))
    outside = getattr(part.params, "outside_push", None)
    if outside is not None:
        near = section(case, nodes[0]).nodes
        own = [i.setting * cap for i in walk.limiters(case.circuit, network) if i.inlets(network) & near]
        found.append((min([outside, *own]), "may be pressed from outside with", ""))
    # An earlier one speaks for those that are hardly more: they differ by the losses of lines.
    return max(found, key=lambda one: (round(one[0] / found[0][0], 1) if found[0][0] > 0 else one[0]))
