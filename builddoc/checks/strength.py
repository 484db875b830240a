"""Ratings of ports, conduits and fittings against the pressures of the states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .. import kinds
from ..circuit import Fitting, Line, Part, Rating
from ..declarations import AdapterFacts, Half, JointFacts
from ..kinds.conduit import notes_of, rating_of
from ..messages import Place
from ..network import Array, Network
from ..standards import Choices, FittingRating, connector_rating
from ..standards.threads import fits
from .base import Case, once

PROOF = 1.5
"""Proof over rated pressure where the maker does not say; common practice, no source."""
NO_ROOM = 1.1
"""Below this ratio of rating to pressure there is no room for gauge error and relief override."""
WORKING = ("working", "")


@dataclass(frozen=True, slots=True)
class Member:
    """Something with a rating. label: as printed. owner: the part or line it belongs to. port: "" for a conduit or a
    fitting. rating None = nobody stated one."""

    label: str
    owner: str
    rating: Rating | None
    place: Place | None
    port: str = ""
    fitting: Fitting | None = None
    salvaged: bool = False

    @property
    def value(self) -> float | None:
        """Pa that count as a rated working pressure, else None."""
        if self.rating is None or self.rating.value is None or self.rating.kind not in WORKING:
            return None
        return self.rating.value

    @property
    def missing(self) -> str:
        """What is needed to check it; "" if nothing is missing."""
        if self.value is not None:
            return ""
        if self.rating is not None and self.rating.value is not None:
            return f"a rated working pressure (only a {self.rating.kind} pressure is stated)"
        if self.rating is not None:
            return "a rated working pressure (stated as unknown)"
        return "a rated working pressure"


def port_members(part: Part) -> list[Member]:
    """The ports of a part that its kind rates, in the order of its ports."""
    kind = kinds.registry()[part.kind]
    rated = kind.port_ratings(part.params)
    place = next((part.places[k] for k in ("rating", "kind") if k in part.places), part.place)
    return [
        Member(f"{part.name}.{port}", part.name, rating, place, port, salvaged=bool(part.params.salvaged))
        for port, rating in rated.items()
    ]


@once
def line_members(case: Case, name: str) -> list[Member]:
    """Conduit, fittings, connectors whose rating is known, and the ports at both ends of a line, in the order along the
    run."""
    line = case.circuit.lines[name]
    own: list[Member] = []
    if line.conduit is not None:
        place = next((line.places[k] for k in ("rating", line.conduit.kind) if k in line.places), line.place)
        own.append(Member(line.conduit.label, name, line.conduit.rating, place))
    own += [
        Member(f.label, name, f.rating, f.place or line.places.get("fittings") or line.place, fitting=f)
        for f in line.fittings
    ]
    joints = joint_members(case, line)
    ends: list[Member] = []
    for end in (line.start, line.end):
        part = case.circuit.parts.get(end.part)
        if part is None:
            ends.append(Member("", "", None, None))
        else:
            found = [m for m in port_members(part) if m.port == end.port]
            ends.append(found[0] if found else Member("", "", None, None))
    return [m for m in (ends[0], *own, *joints, ends[1]) if m.label]


def joint_members(case: Case, line: Line) -> list[Member]:
    """Connectors of the declared joints of a line, where their rating is known, and all adapters."""
    return [m for at, facts in _declared(line) for m in _joint(case, line, at, facts)]


def _declared(line: Line) -> Iterator[tuple[str, JointFacts]]:
    """Every joint of a line that is declared, with its end as printed."""
    if line.declare is not None:
        for end, facts in ((line.start, line.declare.start), (line.end, line.declare.end)):
            if facts is not None and not end.line:
                yield str(end), facts


def _joint(case: Case, line: Line, at: str, facts: JointFacts) -> Iterator[Member]:
    """The connector, where its rating is known, and every adapter."""
    place, choices = line.places.get("declare", line.place), case.circuit.tables

    def member(label: str, given: Rating | None, row: FittingRating | None) -> Member:
        rating, notes = rating_of(row, given), notes_of(row) if row else ()
        return Member(label, line.name, rating, place,
                      fitting=Fitting(label, 0.0, rating=rating, place=place, notes=notes))  # fmt: skip

    row = _connector(facts, choices)
    if facts.rating is not None or row is not None:
        half = Half(facts.form or facts.onto, facts.size).words if facts.form or facts.onto else ""
        yield member(f"connector at {at}" + (f", {half}" if half else ""), facts.rating, row)
    for n, adapter in enumerate(facts.adapters or (), 1):
        ends = f", {Half(adapter.from_, adapter.from_size).words} to {Half(adapter.to, adapter.to_size).words}"
        if adapter.described:
            yield member(f"adapter {n} at {at}{ends}", adapter.rating, _adapter(adapter, choices))
        elif facts.rating is None:  # a rating of the joint counts for the adapters that are only numbered
            yield member(f"adapter {n} at {at}", None, None)


def joint_rating(facts: JointFacts, choices: Choices) -> Rating | None:
    """What a connector may bear: as declared, else of its form and size by a table; None where nobody knows, also where
    its halves do not belong together: then no table holds."""
    return rating_of(_connector(facts, choices), facts.rating)


def adapter_rating(facts: AdapterFacts, choices: Choices) -> Rating | None:
    """What an adapter may bear: as declared, else the lower figure of its two ends by the tables, where both are
    listed."""
    return rating_of(_adapter(facts, choices), facts.rating)


def _connector(facts: JointFacts, choices: Choices) -> FittingRating | None:
    """The row of a table that rates a connector; None where the writer does, or no table."""
    if facts.rating is not None:
        return None
    for c in facts.chain:
        if c.one.form and c.other.form and not fits(c.one.form, c.one.size, c.other.form, c.other.size):
            return None
    across = not any(a.described for a in facts.adapters or ())  # the halves meet: one size stands for both
    halves = ((facts.form, facts.size), (facts.onto, facts.onto_size or (facts.size if across else "")))
    return _lowest([(form, size) for form, size in halves if form], choices)


def _adapter(facts: AdapterFacts, choices: Choices) -> FittingRating | None:
    if facts.rating is not None or facts.from_ is None or facts.to is None:
        return None
    return _lowest([(facts.from_, facts.from_size), (facts.to, facts.to_size)], choices)


def _lowest(halves: Sequence[tuple[str, str]], choices: Choices) -> FittingRating | None:
    """The lowest row, where every half has one."""
    rows = [connector_rating(form, size, choices) for form, size in halves]
    known = [row for row in rows if row is not None and row.rating is not None]
    if not known or len(known) < len(rows):
        return None
    return min(known, key=lambda row: row.rating or 0.0)


def line_nodes(network: Network, name: str) -> set[int]:
    """Both ends of a line and the points where others start on it."""
    nodes = {*network.line_nodes[name]}
    for k in network.line_branches[name]:
        nodes |= {network.branches[k].i, network.branches[k].j}
    return nodes


@dataclass(frozen=True, slots=True)
class Seen:
    """The highest pressure a place sees over the states. least: the state leaves the pressure open and this is the
    lowest it can be."""

    value: float
    index: int
    state: str
    least: bool

    @property
    def words(self) -> str:
        """`at least ` before a lower bound."""
        return "at least " if self.least else ""


def levels(case: Case, nodes: Iterable[int]) -> tuple[Array, NDArray[np.bool_]]:
    """Highest pressure (Pa) at these nodes per state (S,), nan where nothing is known, and whether it is a lower bound.

    Where a state does not fix a pressure but keeps it above some positive figure (oil let in through a check valve),
    that figure counts: the pressure cannot be lower."""
    r = case.results
    value, least = np.full(r.size, np.nan), np.zeros(r.size, dtype=bool)
    for n in sorted(nodes):
        here, bound = r.node_pressure(n).copy(), np.zeros(r.size, dtype=bool)
        for s in np.flatnonzero(r.solved):
            low = case.solution.states[s].ranges.get(n, (np.nan, np.nan))[0]
            if low > 0:
                here[s], bound[s] = low, True
        higher = ~np.isnan(here) & ~(here <= value)
        value, least = np.where(higher, here, value), np.where(higher, bound, least)
    return value, least


def seen(case: Case, nodes: Iterable[int]) -> Seen | None:
    """The worst of `levels` over the states, None if no state says anything."""
    return _seen(case, frozenset(nodes))


@once
def _seen(case: Case, nodes: frozenset[int]) -> Seen | None:
    value, least = levels(case, nodes)
    worst = case.results.worst(value)
    return Seen(worst.value, worst.index, worst.state, bool(least[worst.index])) if worst else None


@dataclass(frozen=True, slots=True)
class Top:
    """The highest pressure of a state, Pa, and its node. least: the state leaves it open, it is at least that."""

    value: float
    node: int
    least: bool


def highest(case: Case, s: int) -> Top | None:
    """Anywhere in state `s`; an open pressure counts with the lowest it can be. None without figures."""
    r = case.results
    if not r.solved[s]:
        return None
    known = np.where(r.fixed[s], r.p[s], -np.inf)
    node = int(np.argmax(known))
    top = Top(float(known[node]), node, False)
    for other, (low, _) in case.solution.states[s].ranges.items():
        if low > top.value * (1 + 1e-6):
            top = Top(low, other, True)
    return top


def trapped_states(case: Case, nodes: set[int]) -> list[str]:
    """Solved states in which the pressure at one of these nodes is not fixed."""
    return [
        state
        for s, state in enumerate(case.results.states)
        if case.results.solved[s] and nodes & case.solution.states[s].ranges.keys()
    ]


def weakest(members: Iterable[Member]) -> Member | None:
    """The member with the lowest rating; None if none has one."""
    rated = [m for m in members if m.value]
    return min(rated, key=lambda m: m.value or 0.0, default=None)


def basis(rating: Rating | None) -> str:
    """Where a rating was read, as printed; "" if nobody said."""
    if rating is None:
        return ""
    words = [w for w in (rating.basis, rating.document) if w]
    if rating.status and rating.status != "seen":
        words.append(rating.status)
    return ", ".join(words)


def caveat(rating: Rating | None) -> str:
    """What must stand at the figure itself: `computed, from memory`, `guess`; "" where it was read in print."""
    if rating is None or not rating.value:
        return ""
    if rating.status not in ("", "seen"):
        return rating.status
    return rating.basis if rating.basis == "guess" else ""


def is_bend_note(note: str) -> bool:
    """A remark on bend radii: it belongs to the details of a hose, not among the notes of the page."""
    return "bend radi" in note


def each_port(case: Case) -> Iterator[tuple[Part, list[Member]]]:
    for part in case.circuit.parts.values():
        members = port_members(part)
        if members:
            yield part, members
