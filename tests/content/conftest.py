"""Our own pages, read from content/ and solved once for all tests of this folder."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from builddoc.blocks import Block, find_blocks
from builddoc.history.registry import Registry
from builddoc.pipeline import Solved, solve_text
from builddoc.sources import find_sources

CONTENT = Path(__file__).parents[2] / "content"
BAR, LPM, RPM = 1e5, 1e-3 / 60, 2 * np.pi / 60


def page_path(name: str) -> str:
    return f"content/{name}"


def page_text(name: str) -> str:
    return (CONTENT / name).read_text(encoding="utf-8")


def block(name: str, number: int = 1) -> Block:
    return find_blocks(page_text(name))[number - 1]


def solve(text: str, name: str, place: Block) -> Solved:
    return solve_text(text, page_path(name), place.line, place.column)


@cache
def bases() -> Registry:
    """Every circuit of our pages, for those that start from one."""
    return Registry.of(find_sources([CONTENT])[0])


def solve_page(name: str, number: int = 1) -> Solved:
    """A circuit of a page, solved once for all tests here."""
    return _solved(name, number)


@cache
def _solved(name: str, number: int) -> Solved:
    place = block(name, number)
    return solve_text(place.text, page_path(name), place.line, place.column, bases())


class Figures:
    """Figures of one solved page in the units of its prose: bar, L/min, mm/s."""

    def __init__(self, solved: Solved):
        assert solved.case is not None, [str(m) for m in solved.messages]
        self.solved, self.case, self.results = solved, solved.case, solved.case.results

    def state(self, name: str) -> int:
        return list(self.results.states).index(name)

    def pressure(self, part: str, port: str, state: str) -> float:
        return float(self.results.pressure(part, port)[self.state(state)]) / BAR

    def least(self, part: str, port: str, state: str) -> float:
        """What a pressure that the state leaves open cannot fall below."""
        found = self.results.pressure_range(part, port, self.state(state))
        assert found is not None
        return found[0] / BAR

    def line_flow(self, line: str, state: str) -> float:
        return float(self.results.line_flow(line)[self.state(state)]) / LPM

    def line_drop(self, line: str, state: str) -> float:
        start, end = self.results.line_pressures(line)
        s = self.state(state)
        return float(start[s] - end[s]) / BAR

    def speed(self, part: str, role: str, state: str) -> float:
        return float(self.results.speed(part, role)[self.state(state)])

    def flow(self, part: str, role: str, state: str) -> float:
        return float(self.results.flow(part, role)[self.state(state)]) / LPM

    def findings(self, *words: str) -> list:  # type: ignore[type-arg]
        """Findings whose subject, headline or text hold all the words."""
        return [
            f
            for f in self.solved.findings
            if f.outcome == "finding"
            and all(w.lower() in f"{f.subject} {f.headline} {f.text} {f.remedy}".lower() for w in words)
        ]


@pytest.fixture(scope="session")
def mill() -> Figures:
    return Figures(solve_page("bandsaw-mill-as-first-built.md"))


@pytest.fixture(scope="session")
def press() -> Figures:
    return Figures(solve_page("shop-press/before.md"))
