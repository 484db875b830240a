"""Rules on what a rod must do: force, speed, arriving at its stop, and what its frame bears."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from .. import kinds
from ..circuit import Part
from . import walk
from .base import Case, Finding, once, rule
from .declared import of_part
from .duty import duties_of
from .loads import STANDS
from .outcomes import About
from .sections import of_kind, section, top_pressure
from .settings import limit
from .words import Units, listed, percent

SEALS, USABLE = 0.95, 0.85
"""Share of the ideal force that seals leave (where no friction is stated); share of a relief's setting that a function
can use. Common practice, no source."""
CALM, ARRIVES = 0.15, 0.10
"""m/s at which a rod without a cushion should not meet its stop, and from which mass counts. Common practice."""
SHARE = 0.25
"""Share of its rating that the barrel end may see from a stop beyond the working pressure; common practice."""


@dataclass(frozen=True, slots=True)
class Rod:
    """A cylinder. pushes, pulls: area, m2, that pressure acts on when it extends or retracts, 0 = it cannot."""

    part: Part
    pushes: float
    pulls: float


@once
def rods(case: Case) -> tuple[Rod, ...]:
    """Every part with a rod, its areas read from the equations of the network."""
    found = []
    actuators = {a.part: a for a in (*case.network.actuators, *case.network.tied) if a.role == "rod"}
    for part in case.circuit.parts.values():
        if kinds.registry()[part.kind].moves == "rod" and part.name in actuators:
            k = actuators[part.name].k.values()
            found.append(Rod(part, sum(v for v in k if v > 0), -sum(v for v in k if v < 0)))
    return tuple(found)


def _none(id: str) -> Finding:
    return About(id).none("No cylinder in this circuit")


@rule(
    id="cyl-force-short",
    title="A cylinder can push and pull as hard as it must",
    signal="NOTICE",
    reason="It stalls, or stops half way under the load.",
    criterion="0.85 of the lowest relief setting on the pump's way to it (line losses left out) times the area, times "
    "0.95 for seals or less the stated friction, >= `needed push` and `needed pull`",
    remedy="A larger bore, or a better lever, before the relief is set higher.",
    source="F = p A: elementary. 0.85 and 0.95: common practice, no source",
)
def force_short(case: Case) -> Iterable[Finding]:
    id, u = "cyl-force-short", Units(case.circuit)
    unstated = []
    for rod in rods(case):
        say = About(id, rod.part.name, rod.part.place)
        needs = [
            (word, need, area, lowest_setting(case, rod.part.name, sign))
            for word, need, area, sign in (
                ("push", getattr(rod.part.params, "needed_push", None), rod.pushes, 1),
                ("pull", getattr(rod.part.params, "needed_pull", None), rod.pulls, -1),
            )
            if need is not None
        ]
        if not needs:
            unstated.append(rod.part)
            continue
        friction = float(getattr(rod.part.params, "friction", 0.0))
        known = [(w, n, _force(area * USABLE * top, friction), top) for w, n, area, top in needs if top is not None]
        if len(known) < len(needs):
            yield say.unchecked(f"{rod.part.name}: no relief setting to reckon its force with", "a relief")
            continue
        word, need, has, top = min(known, key=lambda x: x[2] / x[1])
        figures = {"force": has, "needed": need, "ratio": need / has if has > 0 else float("inf")}
        line = (
            f"{rod.part.name} must {word} {u.both(need, 'force')} and has {u.both(has, 'force')} at "
            f"{percent(USABLE)} of {u.pressure(top)}"
        )
        if has >= need:
            yield say.ok(line, figures=figures)
        else:
            yield say.finding(line, "What lines and valves take comes off as well.", figures=figures)
    if unstated:
        yield About.unstated(id, unstated, "nobody stated the force needed", "needed push or needed pull")
    if not rods(case):
        yield _none(id)


def _force(ideal: float, friction: float) -> float:
    return ideal - friction if friction else ideal * SEALS


def pressure_for(need: float, area: float, friction: float) -> float:
    """Pa at which a rod of this area makes the force, seals or its own friction taken off; inverse of `_force`."""
    return (need + friction) / area if friction else need / SEALS / area


def lowest_setting(case: Case, name: str, sign: int) -> float | None:
    """Pa, lowest setting of a relief between the pump that can go highest and the side of a rod that pushes (+) or
    pulls (-)."""
    nodes = {n for a in (*case.network.actuators, *case.network.tied) if a.part == name
             for n, area in a.k.items() if area * sign > 0}  # fmt: skip
    return limit(case, *nodes)


@rule(
    id="rating-frame-force",
    title="The frame bears what the relief lets a cylinder do",
    signal="WARNING",
    reason="Pins shear, beams fold and pieces fly.",
    criterion="highest pressure at its cap port in any state, at least that of the pump where it can stall, times the "
    "piston's area <= `frame rating`; DANGER where a person is declared to stand `in line`",
    remedy="Set the relief of this branch by the weaker of frame and hydraulics, or a stronger frame.",
    source="F = p A: elementary; the rating is the builder's own",
)
def frame_force(case: Case) -> Iterable[Finding]:
    id, u = "rating-frame-force", Units(case.circuit)
    unstated: list[tuple[float, Part]] = []
    for rod in rods(case):
        say = About(id, rod.part.name, rod.part.place)
        rated = getattr(rod.part.params, "frame_rating", None)
        level, state = _stall(case, rod)
        if level is None:
            yield say.unchecked(f"{rod.part.name}: no state fixes its pressure", "a state with figures")
            continue
        force = level * rod.pushes
        figures = {"force": force, "pressure": level}
        can = f"{rod.part.name} can push with {u.both(force, 'force')} at {u.pressure(level)}"
        if rated is None:
            unstated.append((force, rod.part))
        elif force <= rated:
            yield say.ok(f"{can}; its frame is rated {u.show(rated, 'force')}", state=state, figures=figures)
        else:
            in_line = of_part(rod.part).in_line
            yield say.finding(
                f"{can}, its frame is rated {u.both(rated, 'force')}",
                "At a stop or against work that does not give, the relief alone sets the force."
                + (" A person stands in line with what flies off." if in_line else ""),
                signal="DANGER" if in_line else None, state=state,
                figures=figures | {"rating": rated, "ratio": force / rated},
            )  # fmt: skip
    if unstated:
        most = u.both(max(force for force, _ in unstated), "force")
        yield About.unstated(id, [p for _, p in unstated], f"a push of up to {most}, and nobody stated what frame, "
                             "pins and welds bear", "frame rating")  # fmt: skip
    if not rods(case):
        yield _none(id)


def _stall(case: Case, rod: Rod) -> tuple[float | None, str]:
    """Pa at the cap when the rod meets a stop: the most a state shows there; with nothing but a spool between it and
    the pump that is the pump's highest too."""
    r = case.results
    node = case.network.port_nodes[rod.part.name, "cap"]
    worst, top = r.worst(r.node_pressure(node)), top_pressure(case, frozenset({node}))
    seen = (worst.value, worst.state) if worst else None
    way = section(case, node)
    straight = any(case.circuit.parts[n].kind == "directional valve" for n in way.parts)
    if top is not None and straight and (seen is None or top[0] > seen[0]):
        return top
    return seen or (None, "")


@rule(
    id="cyl-speed",
    title="A rod moves at the speed that was meant",
    signal="NOTICE",
    reason="A rod that surprises its builder: it slams, or is too slow for the work. The way back is faster.",
    criterion="speed in every state between `lowest speed` and `highest speed`; without the latter at most 0.15 m/s "
    "where there is no cushion",
    remedy="A restrictor or a flow control for that direction, another bore, a cushion.",
    source="v = Q / A, solved; 0.15 m/s: common practice, no source",
)
def speed(case: Case) -> Iterable[Finding]:
    id = "cyl-speed"
    for rod in rods(case):
        yield from _speed(case, About(id, rod.part.name, rod.part.place), rod)
    if not rods(case):
        yield _none(id)


def _speed(case: Case, say: About, rod: Rod) -> Iterator[Finding]:
    u, r, params = Units(case.circuit), case.results, rod.part.params
    v = np.abs(r.speed(rod.part.name, "rod"))
    moving = np.where(v > STANDS, v, np.nan)
    fast, slow = r.worst(moving), r.worst(moving, lowest=True)
    if fast is None or slow is None:
        yield say.unchecked(f"{rod.part.name}: no state shows it moving", "a state in which it moves")
        return
    highest, lowest = getattr(params, "highest_speed", None), getattr(params, "lowest_speed", None)
    limit = highest if highest is not None else None if getattr(params, "cushion", None) else CALM
    figures = {"speed": fast.value}
    if limit is not None and fast.value > limit:
        why = "" if highest is not None else " without a cushion"
        yield say.finding(
            f"{rod.part.name} moves at {u.both(fast.value, 'velocity')}{why}, more than {u.velocity(limit)}",
            "It meets its stop at that speed. " + ("Common practice, no source." if highest is None else
            "The limit is the one stated for it."),
            state=fast.state, figures=figures | {"limit": limit},
        )  # fmt: skip
    elif lowest is not None and slow.value < lowest:
        yield say.finding(
            f"{rod.part.name} moves at {u.both(slow.value, 'velocity')}, less than the {u.velocity(lowest)} needed",
            "Flow goes elsewhere or is too small for its bore.", remedy="More flow, or a smaller bore.",
            state=slow.state, figures={"speed": slow.value, "limit": lowest},
        )  # fmt: skip
    else:
        yield say.ok(f"{rod.part.name} moves at {u.velocity(fast.value)} at most", state=fast.state, figures=figures)


@rule(
    id="cyl-end-energy",
    title="A mass is stopped gently at the end of the stroke",
    signal="CAUTION",
    reason="Welds crack, the gland pulls off, the load jumps.",
    criterion="with `moving mass` m: no cushion and more than 0.10 m/s is a finding; with `cushion` s: the rise "
    "m v2 / (2 s A) of pressure at most 25 % of the cylinder's rating",
    remedy="Slow it before the end, a longer cushion, or a stop of its own instead of the cylinder's end.",
    source="E = m v2 / 2, work over the cushion: elementary. 0.10 m/s and 25 %: common practice, no source",
)
def end_energy(case: Case) -> Iterable[Finding]:
    id, u, r = "cyl-end-energy", Units(case.circuit), case.results
    unstated = []
    for rod in rods(case):
        params, say = rod.part.params, About(id, rod.part.name, rod.part.place)
        mass = getattr(params, "moving_mass", None)
        worst = r.worst(np.abs(r.speed(rod.part.name, "rod")))
        if mass is None:
            unstated.append(rod.part)
            continue
        if worst is None:
            yield say.unchecked(f"{rod.part.name}: how fast it arrives is open", "a state with figures")
            continue
        energy = 0.5 * mass * worst.value**2
        figures = {"energy": energy, "speed": worst.value}
        line = f"{rod.part.name} arrives at up to {u.both(worst.value, 'velocity')} with {u.show(mass, 'mass')}"
        cushion = getattr(params, "cushion", None)
        if cushion is None:
            if worst.value <= ARRIVES:
                yield say.ok(line, state=worst.state, figures=figures)
            else:
                yield say.finding(f"{line} and has no cushion", f"That is {energy:.2g} J at the rod.",
                                  state=worst.state, figures=figures)  # fmt: skip
            continue
        area = min(a for a in (rod.pushes, rod.pulls) if a > 0)
        rise = energy / (cushion * area)
        rating = params.rating.value if params.rating else None
        if rating is None:
            yield say.unchecked(f"{line}: its cushion makes {u.pressure(rise)}", "the cylinder's rating",
                                figures=figures)  # fmt: skip
        elif rise <= SHARE * rating:
            yield say.ok(f"{line}; its cushion adds {u.pressure(rise)}", state=worst.state, figures=figures)
        else:
            yield say.finding(
                f"{line}; its cushion adds {u.both(rise, 'pressure')}, {percent(rise / rating)} of its rating",
                f"That is {energy:.2g} J over {u.show(cushion, 'length')}.", state=worst.state,
                figures=figures | {"pressure": rise},
            )  # fmt: skip
    if unstated:
        yield About.unstated(id, unstated, "what mass arrives at the end of the stroke is open", "moving mass")
    if not rods(case):
        yield _none(id)


@rule(
    id="cyl-return-flow",
    title="What stands in the return is rated for the flow that cylinders push back",
    signal="CAUTION",
    reason="A cylinder that retracts gives more oil back than the pump feeds it; a bowl bursts or the bypass opens "
    "each stroke.",
    criterion="pump flow times the largest area ratio, or the flow of any state if larger, <= `rated flow` of every "
    "filter and cooler in a return; CAUTION without a bypass, else NOTICE",
    remedy="Size the return by pump flow times the area ratio.",
    source="mass balance: elementary; a trade article on filter bypass (seen as an excerpt)",
)
def return_flow(case: Case) -> Iterable[Finding]:
    id, u, r = "cyl-return-flow", Units(case.circuit), case.results
    double = [rod for rod in rods(case) if rod.pulls > 0]
    duty = duties_of(case)
    stand = of_kind(case, "filter", "cooler")
    ends = {end.part for n, li in case.circuit.lines.items() if duty[n] == "return" for end in (li.start, li.end)}
    returns = {p.name: p for p in stand if p.name in ends}
    ratio = max((rod.pushes / rod.pulls for rod in double), default=1.0)
    feed = sum(float(np.max(p.flow)) for p in walk.pumps(case.network))
    for part in returns.values() if double else ():
        say = About(id, part.name, part.place)
        flows = [np.abs(case.results.q[:, k]) for k, b in enumerate(case.network.branches) if b.part == part.name]
        seen = r.worst(np.sum(flows, axis=0))
        most = max(feed * ratio, seen.value if seen else 0.0)
        rated = part.params.rated_flow  # type: ignore[attr-defined]
        figures = {"flow": most, "area ratio": ratio}
        line = f"{part.name} may have to pass {u.both(most, 'flow')}, {ratio:.2f} times the pump's"
        if rated is None:
            yield say.unchecked(f"{line}: nobody stated what it can", "its rated flow", figures=figures)
        elif most <= rated:
            yield say.ok(f"{line}; rated {u.flow(rated)}", figures=figures)
        else:
            passed = getattr(part.params, "bypass", None) is not None
            yield say.finding(
                f"{line}; rated {u.both(rated, 'flow')}",
                f"A retracting cylinder gives back more than it gets: {listed([rod.part.name for rod in double], 3)}. "
                + ("Its bypass opens each stroke." if passed else "It has no bypass."),
                signal="NOTICE" if passed else None, figures=figures | {"rating": rated, "ratio": most / rated},
            )  # fmt: skip
    if not double or not returns:
        yield About(id).none("No double-acting cylinder, or neither filter nor cooler in a return")
