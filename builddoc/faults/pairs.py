"""Faults of a hook-up: a pair of coupler halves apart, two pairs exchanged."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from ..circuit import State
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
    matter to the oil: the second ones change places."""
    declared = list(case.circuit.states.values())
    for s in base:
        for one, two in combinations(declared[s].joined, 2):
            if _passes(case, s, one) or _passes(case, s, two):
                crossed = tuple(
                    (one[0], two[1]) if pair == one else (two[0], one[1]) if pair == two else pair
                    for pair in declared[s].joined
                )
                label = f"{one[1]} and {two[1]} exchanged"
                yield fault(case, s, label, "exchanged hoses", (*one, *two), joined=crossed)


def _passes(case: Case, s: int, pair: tuple[str, str]) -> bool:
    return any(
        b.part == pair[0] and b.role == f"joined with {pair[1]}" and abs(case.results.q[s, k]) > still(case, s)
        for k, b in enumerate(case.network.branches)
    )
