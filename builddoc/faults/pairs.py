"""Faults of couplers: a pair of halves of a hook-up apart, two pairs of halves exchanged."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from .. import kinds
from ..checks.declared import of_part
from ..circuit import Circuit, End, State
from ..network import Array
from ..nodes import UnionFind
from .basis import fault, still

if TYPE_CHECKING:
    from ..checks.base import Case


def apart(case: Case, base: list[int]) -> Iterator[State]:
    """Each pair pulled apart, in the states where oil passes it."""
    declared = list(case.circuit.states.values())
    for s in base:
        for pair in declared[s].joined:
            if _passes(case, s, pair):
                rest = tuple(other for other in declared[s].joined if other != pair)
                yield fault(case, s, f"{pair[0]} apart from {pair[1]}", "open couplers", pair, joined=rest)


def exchanged(case: Case, base: list[int]) -> Iterator[State]:
    """Two pairs coupled crosswise, in the states where oil passes one of them. Which half is which of a pair does not
    matter to the oil: the second ones change places. Not where a half is declared to fit in one way only."""
    declared = list(case.circuit.states.values())
    for s in base:
        for one, two in combinations(declared[s].joined, 2):
            if any(of_part(case.circuit.parts[half]).one_way for half in (*one, *two)):
                continue
            if _passes(case, s, one) or _passes(case, s, two):
                crossed = tuple(
                    (one[0], two[1]) if pair == one else (two[0], one[1]) if pair == two else pair
                    for pair in declared[s].joined
                )
                label = f"{one[1]} and {two[1]} exchanged"
                yield fault(case, s, label, "exchanged hoses", (*one, *two), joined=crossed)


def crossed(case: Case, base: list[int]) -> Iterator[State]:
    """Two couplers that lead to one attachment, coupled crosswise, in the states where oil passes one of them. Not
    where one of them is declared to fit in one way only."""
    circuit = case.circuit
    halves = {
        part.name: found for part in circuit.parts.values()
        if (found := kinds.registry()[part.kind].halves(part.params)) and not of_part(part).one_way
    }  # fmt: skip
    sides = _sides(circuit, halves)
    flows = {name: _most(case, name) for name in halves}
    declared = list(circuit.states.values())
    for one, two in combinations(halves, 2):
        if len(sides[one]) < 2 or sides[one].keys() != sides[two].keys():
            continue
        here, there = sides[one]
        swapped = ((sides[one][here], sides[two][there]), (sides[two][here], sides[one][there]))
        for s in base:
            if max(flows[one][s], flows[two][s]) > still(case, s):
                orders = {**declared[s].orders, **_apart(circuit, one), **_apart(circuit, two)}
                sort, label = "exchanged hoses", f"{one} and {two} exchanged"
                yield fault(case, s, label, sort, (one, two), orders=orders, crossed=swapped)


def _sides(circuit: Circuit, halves: dict[str, tuple[str, str]]) -> dict[str, dict[Hashable, End]]:
    """Coupler -> what lies behind each half -> that half. What hangs together without couplers is one thing."""
    sets = UnionFind()

    def key(end: End) -> Hashable:
        if end.line:
            return ("line", end.line)
        part = circuit.parts[end.part]
        whole = kinds.registry()[part.kind].halves(part.params) is None
        return ("part", end.part) if whole else ("port", end.part, end.port)

    for line in circuit.lines.values():
        for end in (line.start, line.end):
            sets.join(("line", line.name), key(end))
    return {name: {sets.find(("port", name, port)): End(name, port) for port in own} for name, own in halves.items()}


def _apart(circuit: Circuit, name: str) -> dict[tuple[str, str], object]:
    part = circuit.parts[name]
    controls = kinds.registry()[part.kind].controls(part.params)
    return {(name, c.name): wrong.value for c in controls for wrong in c.faults if wrong.sort == "open couplers"}


def _most(case: Case, name: str) -> Array:
    """m3/s through a coupler, (S,)."""
    own = [k for k, b in enumerate(case.network.branches) if b.part == name]
    return np.abs(np.nan_to_num(case.results.q[:, own])).max(axis=1, initial=0.0)


def _passes(case: Case, s: int, pair: tuple[str, str]) -> bool:
    return any(
        b.part == pair[0] and b.role == f"joined with {pair[1]}" and abs(case.results.q[s, k]) > still(case, s)
        for k, b in enumerate(case.network.branches)
    )
