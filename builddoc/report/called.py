"""What a call-out on a photo tells of its part or line: what it is, its highest pressure, what it is rated for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..checks import strength
from ..checks.base import Case
from ..checks.duty import duties
from ..checks.strength import Member
from ..checks.words import Units, listed
from ..history.facts import level_of
from .cells import DASH, Scale, share, text_column, words
from .model import Cell, Table


@dataclass(frozen=True, slots=True)
class Called:
    """A call-out: what it shows, as written (`feed`, `valve`, `valve.T`), and its note."""

    shows: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Place:
    """name: of the part or line. what: what it is made of, or its kind. look: lines of equal look are taken for each
    other, "" = no line. nodes: where its pressure is read. members: whose ratings count. lowest: the lowest pressure
    is what counts."""

    name: str
    what: str
    duty: str
    look: str
    nodes: frozenset[int]
    members: tuple[Member, ...]
    lowest: bool = False


def subject(shows: str, case: Case) -> str:
    """The part or line that a call-out names, "" if there is none: `feed`, `valve`, `valve.ram.A`."""
    known = {**case.circuit.lines, **case.circuit.parts}
    if shows in known:
        return shows
    part, _, port = shows.partition(".")
    return part if (part, port) in case.network.port_nodes else ""


def names(case: Case) -> list[str]:
    """All that a call-out may show."""
    ports = [f"{part}.{port}" for part, port in case.network.port_nodes]
    return [*case.circuit.lines, *case.circuit.parts, *ports]


def called_table(case: Case, wanted: Sequence[Called], state: str) -> Table:
    """One row per call-out, in their order. state: whose pressure stands beside the highest."""
    u, s = Units(case.circuit), list(case.results.states).index(state)
    places = [_place(case, one.shows) for one in wanted]
    now = [_now(case, place, s) for place in places]
    worst = [_worst(case, place) for place in places]
    weak = [strength.weakest(place.members) for place in places]
    level = Scale(u, "pressure", [*(v for v, _ in now), *(v for v, _, _ in worst)])
    rating = Scale(u, "pressure", [m.value for m in weak if m and m.value])
    rows = []
    for n, (one, place) in enumerate(zip(wanted, places, strict=True)):
        limit, (value, note, least) = weak[n], worst[n]
        note = "; ".join(w for w in (note, _shut_in(case, place, value)) if w)
        rated = limit.value if limit and limit.value else math.nan
        unrated = [m.label for m in place.members if m.missing]
        calm = place.lowest or math.isnan(value) or value <= 0
        flag = "not-checked" if unrated and not place.lowest else ""
        rows.append(
            (
                words(f"{n + 1} {one.shows}", one.note, subject=place.name),
                words(place.what, place.duty),
                _cell(level, *now[n]),
                _cell(level, value, note, least),
                rating.cell(rated, strength.caveat(limit.rating if limit else None), flag=flag),
                share(math.nan if calm else value / rated, flag=flag),
                words(limit.label if limit else "not stated", f"no rating: {listed(unrated, 3)}" if unrated else ""),
            )
        )
    columns = (
        text_column("Call-out"), text_column("What it is"), level.column(f"In ‘{state}’"),
        level.column("Highest pressure"), rating.column("Rated"), text_column("Share of rating"),
        text_column("Limited by"),
    )  # fmt: skip
    caption = "Predicted, not measured. Highest over all states; of a suction line the lowest. Not checked is not safe"
    return Table("call-outs", "Call-outs", caption, columns, tuple(rows))


def called_by_state(case: Case, wanted: Sequence[Called]) -> Table:
    """Pressure of every call-out in every state."""
    u = Units(case.circuit)
    places = [_place(case, one.shows) for one in wanted]
    cells = [[_now(case, place, s) for place in places] for s in range(case.results.size)]
    level = Scale(u, "pressure", [v for row in cells for v, _ in row])
    rows = tuple(
        (words(state), *(_cell(level, *cell) for cell in row))
        for state, row in zip(case.results.states, cells, strict=True)
    )
    heads = (level.column(f"{n} {one.shows}") for n, one in enumerate(wanted, 1))
    return Table("call-outs-by-state", "In every state", "", (text_column("State"), *heads), rows)


def look_alikes(case: Case, wanted: Sequence[Called]) -> list[str]:
    """A sentence for each group of call-outs that are made of the same thing: numbers, and how far apart they are."""
    u = Units(case.circuit)
    groups: dict[str, list[tuple[int, str, str]]] = {}
    for n, one in enumerate(wanted, 1):
        place = replace(_place(case, one.shows), lowest=False)
        value, _, least = _worst(case, place)
        if place.look and not math.isnan(value):
            told = f"reaches {'at least ' if least else ''}{u.both(value, 'pressure')}"
            more = _shut_in(case, place, value)
            told += f" ({more})" if more else ""
            groups.setdefault(place.look, []).append((n, one.shows, f"{n} ‘{one.shows}’ ({place.duty}) {told}"))
    return [
        f"{listed([str(n) for n, *_ in members])} look alike ({look}): {', '.join(told for *_, told in members)}."
        for look, members in groups.items()
        if len({shows for _, shows, _ in members}) > 1
    ]


def _shut_in(case: Case, place: _Place, worst: float) -> str:
    """What may be there beyond the highest pressure that is known: oil that a state shuts in holds what it was left
    with."""
    tops = [cell[1] for cell in level_of(case, sorted(place.nodes)) if cell and cell[1] > max(cell[0], worst)]
    if not tops or place.lowest:
        return ""
    if not math.isfinite(max(tops)):
        return "shut in: no upper limit"
    return f"shut in: up to {Units(case.circuit).show(max(tops), 'pressure')}"


def _place(case: Case, shows: str) -> _Place:
    circuit, name = case.circuit, subject(shows, case)
    if name in circuit.lines and shows == name:
        line, duty = circuit.lines[name], duties(circuit, case.network)[name]
        look = line.conduit.label if line.conduit else ""
        nodes = frozenset(strength.line_nodes(case.network, name))
        members = tuple(strength.line_members(case, name))
        return _Place(name, look or "screwed together", duty, look, nodes, members, duty == "suction")
    part = circuit.parts[name]
    ports = [p for owner, p in case.network.port_nodes if owner == name and shows in (name, f"{name}.{p}")]
    nodes = frozenset(case.network.port_nodes[name, p] for p in ports)
    members = tuple(m for m in strength.port_members(part) if m.port in ports)
    what = part.kind if shows == name else f"{part.kind}, port {shows.partition('.')[2]}"
    return _Place(name, what, "", "", nodes, members)


def _now(case: Case, place: _Place, s: int) -> tuple[float, str]:
    """Pressure (Pa) in state s, nan where there is no figure; and what is to be said with it."""
    r = case.results
    if not r.solved[s]:
        return math.nan, "no figures"
    solved = case.solution.states[s]
    if place.nodes & solved.void.keys():
        return math.nan, "starved"
    fixed = [float(r.node_pressure(n)[s]) for n in sorted(place.nodes) if n not in solved.ranges]
    lows = [solved.ranges[n][0] for n in place.nodes if n in solved.ranges]
    if lows and (not fixed or max(lows) > max(fixed)):
        return (max(lows), "or more: shut in") if max(lows) > 0 else (math.nan, "shut in: not fixed")
    if not fixed:
        return math.nan, ""
    return (min(fixed) if place.lowest else max(fixed)), ("and more where shut in" if lows else "")


def _worst(case: Case, place: _Place) -> tuple[float, str, bool]:
    """Highest (suction: lowest) pressure over the states, its state, and whether it is a lower bound."""
    if place.lowest:
        found = [(value, s) for s in range(case.results.size) if not math.isnan(value := _now(case, place, s)[0])]
        value, s = min(found, default=(math.nan, 0))
        return value, f"lowest, {case.results.states[s]}" if found else "", False
    seen = strength.seen(case, place.nodes)
    return (seen.value, seen.state, seen.least) if seen else (math.nan, "", False)


def _cell(scale: Scale, value: float, note: str, least: bool = False) -> Cell:
    if math.isnan(value):
        return words(DASH, note, flag="range" if note.startswith("shut") else "failed" if note == "no figures" else "")
    cell = scale.cell(value, note)
    return replace(cell, text=f"≥ {cell.text}", flag="range") if least or note.startswith("or more") else cell
