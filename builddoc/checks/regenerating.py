"""The rule on regenerative connection: oil that leaves the rod side joins the pump's on its way to the cap."""

from __future__ import annotations

from collections.abc import Iterable

from ..circuit import Part
from ..kinds.base import SpoolOrder
from ..standards.guides import velocity_guide
from . import strength
from .base import Case, Finding, rule
from .flows import downstream
from .loads import STANDS
from .outcomes import About
from .sections import of_kind, section, top_pressure
from .velocity import line_velocity
from .words import Units, listed


@rule(
    id="load-regen",
    title="A cylinder in regeneration moves its load, through lines wide enough",
    signal="NOTICE",
    reason="It is faster but weaker: it stops at its load. Its cap line carries the pump's oil and that of the rod "
    "side besides.",
    criterion="where oil of the rod side goes to the cap while a rod comes out, F = p A_rod, v = Q / A_rod, Q_cap = Q "
    "A_cap / A_rod: it moves in that state, and oil in the lines at the cylinder runs within the guide for pressure "
    "lines",
    remedy="Shift out of regeneration before the load is met; larger lines and valve for the flow at the cap. Keep "
    "hands off: it closes faster.",
    source="mass and force balance of both sides at one pressure: elementary; guides as for velocities",
)
def regenerative(case: Case) -> Iterable[Finding]:
    id, none = "load-regen", True
    for part in of_kind(case, "cylinder"):
        ordered = _ordered(case, part)
        states = _states(case, part)
        if ordered or states:
            none = False
            yield _judged(case, About(id, part.name, part.place), part, ordered, states)
    if none:
        yield About(id).none("No state joins both sides of a cylinder to pressure")


def _states(case: Case, part: Part) -> list[int]:
    """Solved states in which the rod comes out and what leaves its side reaches the cap."""
    r, ports = case.results, case.network.port_nodes
    cap, rod, speed = ports[part.name, "cap"], ports[part.name, "rod"], r.speed(part.name, "rod")
    return [s for s in range(r.size) if r.solved[s] and speed[s] > STANDS and cap in downstream(r, rod, s)]


def _ordered(case: Case, part: Part) -> list[int]:
    """States in which a spool at the cylinder is ordered into its regenerative position."""
    way = section(case, case.network.port_nodes[part.name, "rod"])
    return [
        s
        for s, name in enumerate(case.results.states)
        for (owner, _), value in case.circuit.states[name].orders.items()
        if isinstance(value, SpoolOrder) and value.position == "regen" and owner in way.parts
    ]


def _judged(case: Case, say: About, part: Part, ordered: list[int], states: list[int]) -> Finding:
    u, r = Units(case.circuit), case.results
    stalled = [s for s in ordered if r.solved[s] and s not in states and not _at_stop(case, part, s)]
    cap, ring = part.params.areas()  # type: ignore[attr-defined]
    top = top_pressure(case, frozenset({case.network.port_nodes[part.name, "cap"]}))
    force = "" if top is None else (
        f" It pushes with {u.both((cap - ring) * top[0], 'force')} at most, {u.show(cap * top[0], 'force')} without."
    )  # fmt: skip
    if stalled:
        return say.finding(
            f"{part.name} does not move in '{r.states[stalled[0]]}': in regeneration only the area of its rod pushes",
            f"Both sides are at one pressure, so the rod's area is what is left.{force}", state=r.states[stalled[0]],
        )  # fmt: skip
    if not states:
        return say.unchecked(f"{part.name}: no state shows it in regeneration", "a solved state in regeneration")
    nodes = case.network.port_nodes
    near = {n for port in ("cap", "rod") for n in section(case, nodes[part.name, port]).lines}
    runs = [
        (float(line_velocity(case, n)[s]), n, s)
        for n in case.circuit.lines if n in near and case.circuit.lines[n].conduit is not None
        for s in states
    ]  # fmt: skip
    speed = max(float(r.speed(part.name, "rod")[s]) for s in states)
    line = f"{part.name} comes out at {u.both(speed, 'velocity')} in regeneration"
    figures = {"speed": speed, "area": cap - ring}
    if not runs:
        return say.unchecked(f"{line}: how fast oil runs at it is open", "a line with a bore at it", figures=figures)
    guides = {n: _guide(case, n) for _, n, _ in runs}
    v, name, s = max(runs, key=lambda run: run[0] / guides[run[1]])
    figures |= {"velocity": v, "guide": guides[name], "ratio": v / guides[name]}
    if v <= guides[name]:
        return say.ok(f"{line}; oil runs at {u.velocity(v)} at most, in {name}", state=r.states[s], figures=figures)
    return say.finding(
        f"{line}, and oil runs at {u.both(v, 'velocity')} in {name}: usual is up to {u.velocity(guides[name])}",
        f"{listed([name])} carries the pump's oil and what the rod side gives.{force}", state=r.states[s],
        figures=figures,
    )  # fmt: skip


def _guide(case: Case, name: str) -> float:
    """m/s, guide for pressure lines at the highest pressure of the line."""
    seen = strength.seen(case, strength.line_nodes(case.network, name))
    return float(velocity_guide("pressure", seen.value if seen else None, case.circuit.tables).high)


def _at_stop(case: Case, part: Part, s: int) -> bool:
    tie = next((t.name for t in case.circuit.ties.values() if part.name in t.parts), part.name)
    return (tie, "stop") in case.circuit.states[case.results.states[s]].orders
