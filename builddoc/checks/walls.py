"""Rules on steel walls: pipe with its thread, tube, and the barrel of a cylinder. Burst and working pressure apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..circuit import Line, Wall
from ..physics import strength as laws
from . import strength
from .base import Case, Finding, rule
from .duty import duties_of
from .outcomes import About
from .rod_duty import rods
from .strength import Seen
from .words import Units, percent, ratio

PRESSURE = 20e5
"""Pa above which a line counts as a pressure line here, whatever its duty. Common practice, no source."""
SAFETY = 4.0
"""Burst over working pressure: what hose and tube standards ask (four to one)."""


def left(wall: Wall) -> float:
    """m of wall that count: nominal, less what the mill may leave out, less the thread."""
    return max(wall.nominal * (1.0 - wall.mill) - wall.depth, 0.0)


def holds(wall: Wall) -> float:
    """Pa that the wall may carry for good: ASME B31.3 304.1.2 for pipe, Lame for tube."""
    if wall.mill:
        return float(laws.pipe(wall.outside, wall.nominal, wall.stress, wall.depth, wall.mill))
    return float(laws.lame(wall.outside, wall.nominal, wall.stress))


def _seen(case: Case, line: Line) -> Seen | None:
    return strength.seen(case, strength.line_nodes(case.network, line.name))


@rule(
    id="rating-steel-pipe",
    title="A steel pipe holds with the wall that its thread leaves",
    signal="WARNING",
    reason="A thread takes a third to a half of the wall: the pipe splits at its root, or along its weld.",
    criterion="2 S E t / (D - 0.8 t) >= highest pressure, t = 87.5 % of the nominal wall less the thread's depth "
    "(0.8 / threads per inch), S = 110 MPa (16 000 psi), E the joint factor; threaded pipe lighter than schedule 80 in "
    "a pressure line is a finding whatever the result",
    remedy="Drawn hydraulic tube with flared, bite or face-seal ends; else schedule 80 or welded.",
    source="ASME B31.3 304.1.2 and B1.20.1 (tables on reference sites); S and 12.5 % from memory",
)
def steel_pipe(case: Case) -> Iterable[Finding]:
    id, found = "rating-steel-pipe", False
    duty = duties_of(case)
    for line in case.circuit.lines.values():
        wall = line.conduit.wall if line.conduit else None
        if line.conduit is not None and line.conduit.kind == "pipe" and wall is not None:
            found = True
            yield from _pipe(case, line, wall, duty[line.name] == "pressure")
    if not found:
        yield About(id).none("No steel pipe in this circuit")


def _pipe(case: Case, line: Line, wall: Wall, pressure: bool) -> Iterator[Finding]:
    u, say, seen = Units(case.circuit), About("rating-steel-pipe", line.name, line.place), _seen(case, line)
    may = holds(wall)
    keeps = (
        f"of {u.show(wall.nominal, 'length')} wall {u.show(left(wall), 'length')} count "
        f"({percent(left(wall) / wall.nominal)}): {u.both(may, 'pressure')}"
    )
    if seen is None:
        yield say.unchecked(f"{line.name}, pipe: {keeps}; no state fixes its pressure", "a state with figures",
                            figures={"rating": may})  # fmt: skip
        return
    figures = {"pressure": seen.value, "rating": may, "wall": left(wall), "ratio": seen.value / may if may else 99.0}
    level = f"{line.name} sees {seen.words}{u.both(seen.value, 'pressure')}"
    if seen.value > may:
        yield say.finding(f"{level}; {keeps}", f"That is {ratio(figures['ratio'])} what the wall may carry for good.",
                          state=seen.state, figures=figures)  # fmt: skip
    elif wall.threaded and wall.light and (pressure or seen.value > PRESSURE) and seen.value > 0:
        yield say.finding(
            f"{level} and is threaded pipe lighter than schedule 80",
            f"By its wall it would do: {keeps}. Bending, shaking and rust at the thread's root are not in that.",
            state=seen.state, figures=figures,
        )  # fmt: skip
    else:
        yield say.ok(f"{level}; {keeps}", state=seen.state, figures=figures)


@rule(
    id="rating-steel-tube",
    title="A steel tube's wall holds what it sees",
    signal="WARNING",
    reason="It bursts, or tires at a bend.",
    criterion="S (D2 - d2)/(D2 + d2) >= highest pressure, S = 86.2 MPa (12 500 psi: a quarter of the tensile strength) "
    "for steel, 138 MPa for stainless; where a table or a sheet rates the tube, that rating too",
    remedy="A thicker wall before a larger diameter.",
    source="Lame's formula with the stress of SAE J1065's reference pressures (a tube maker's data, seen); stainless "
    "from memory",
)
def steel_tube(case: Case) -> Iterable[Finding]:
    id, u, found = "rating-steel-tube", Units(case.circuit), False
    for line in case.circuit.lines.values():
        wall = line.conduit.wall if line.conduit else None
        if line.conduit is None or line.conduit.kind != "tube" or wall is None:
            continue
        found = True
        say, seen, may = About(id, line.name, line.place), _seen(case, line), holds(wall)
        wall_words = f"its wall may carry {u.both(may, 'pressure')} (burst: {u.pressure(SAFETY * may)}, four to one)"
        if seen is None:
            yield say.unchecked(f"{line.name}, tube: {wall_words}; no state fixes its pressure",
                                "a state with figures", figures={"rating": may})  # fmt: skip
            continue
        figures = {"pressure": seen.value, "rating": may, "ratio": seen.value / may}
        level = f"{line.name} sees {seen.words}{u.both(seen.value, 'pressure')}; {wall_words}"
        if seen.value > may:
            yield say.finding(level, "A quarter of the burst pressure is what is left for bends, shocks and age.",
                              state=seen.state, figures=figures)  # fmt: skip
        else:
            yield say.ok(level, state=seen.state, figures=figures)
    if not found:
        yield About(id).none("No tube in this circuit")


@rule(
    id="rating-cylinder-wall",
    title="The barrel of a cylinder holds what it sees",
    signal="WARNING",
    reason="A home-made or unmarked barrel swells or bursts beside its operator.",
    criterion="where `wall` is given: S (D2 - d2)/(D2 + d2) >= highest pressure at its ports, S = a quarter of "
    "`tensile strength`; ends and welds are not in it",
    remedy="A cylinder with a plate; else a thicker barrel, its ends and welds reckoned too.",
    source="Lame's formula: elementary strength of materials; four to one as for tube",
)
def cylinder_wall(case: Case) -> Iterable[Finding]:
    id, u, found = "rating-cylinder-wall", Units(case.circuit), False
    for rod in rods(case):
        params, say = rod.part.params, About(id, rod.part.name, rod.part.place)
        wall, tensile = getattr(params, "wall", None), getattr(params, "tensile_strength", None)
        if wall is None:
            continue
        found = True
        nodes = {n for (part, _), n in case.network.port_nodes.items() if part == rod.part.name}
        seen = strength.seen(case, nodes)
        if tensile is None or seen is None:
            yield say.unchecked(f"{rod.part.name}: what its barrel holds is open",
                                "a state with figures" if tensile else "its tensile strength")  # fmt: skip
            continue
        may = float(laws.lame(params.bore + 2 * wall, wall, tensile / SAFETY))  # type: ignore[attr-defined]
        figures = {"pressure": seen.value, "rating": may, "ratio": seen.value / may}
        line = (
            f"{rod.part.name} sees {seen.words}{u.both(seen.value, 'pressure')}; its barrel may carry "
            f"{u.both(may, 'pressure')} (burst about {u.pressure(SAFETY * may)})"
        )
        if seen.value > may:
            yield say.finding(line, "Ends, welds and ports are weaker still.", state=seen.state, figures=figures)
        else:
            yield say.ok(line, state=seen.state, figures=figures)
    if not found:
        yield About(id).none("No cylinder states the wall of its barrel")
