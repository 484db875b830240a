"""The trailer's pages by hand.

1. As found. 90 mm bore: 63.6 cm2; 106 kN: 166.6 bar. 1.2 cm3 x 2800 /min x 0.88 = 2.957 L/min, 3.181 L: 64.5 s.
2. The load of a fall: 7.6 kN = 11.9 bar, 35 kN = 55 bar, through 2 m of 9.5 mm hose, the dump valve and 8 mm of tube.
3. Rebuilt. Two rods under 135 kN: 106.1 bar; 129.1 s; limiters of 6 L/min: 15.7 mm/s.
"""

from __future__ import annotations

import math

import pytest

from .conftest import LPM, Figures, page_text, solve_page

AREA = math.pi / 4 * 0.09**2
FOUND, REBUILT = "tipping-trailer/as-found.md", "tipping-trailer/rebuilt.md"


@pytest.fixture(scope="module")
def found() -> Figures:
    return Figures(solve_page(FOUND))


@pytest.fixture(scope="module")
def rebuilt() -> Figures:
    return Figures(solve_page(REBUILT))


def test_first_degrees(found, rebuilt):
    assert found.pressure("ram", "cap", "first degrees") == pytest.approx(106e3 / AREA / 1e5, rel=1e-6)
    both = [rebuilt.pressure(f"{side} ram", "cap", "first degrees") for side in ("left", "right")]
    assert sum(both) == pytest.approx(135e3 / AREA / 1e5, rel=1e-6)
    flow = 1.2e-3 * 2800 * 0.88 * LPM
    assert found.speed("ram", "rod", "first degrees") == pytest.approx(flow / AREA, rel=1e-4)
    assert 0.5 / rebuilt.speed("left ram", "rod", "first degrees") == pytest.approx(2 * AREA * 0.5 / flow, rel=1e-4)


def test_it_falls_fast_and_then_slowly(found, rebuilt):
    assert 0.5 / abs(found.speed("ram", "rod", "lowering, load stuck")) < 2.5
    assert abs(rebuilt.speed("left ram", "rod", "lowering, load stuck")) == pytest.approx(6 * LPM / AREA, rel=1e-3)


def rules(figures: Figures) -> set[str]:
    return {f.rule for f in figures.solved.findings if f.outcome == "finding"}


def test_findings_that_the_pages_tell_of(found, rebuilt):
    assert {"relief-working-margin", "fault-load-falls", "gauge-points"} <= rules(found)
    assert "relief-working-margin" not in rules(rebuilt)
    (tank,) = [f for f in rebuilt.solved.findings if f.rule == "tank-differential" and f.outcome == "finding"]
    assert tank.signal == "WARNING" and "6.36 L" in tank.headline and "5 L" in tank.headline


def test_prose():
    text = page_text(REBUILT)
    assert round(2300 / 1800 * 166.6) == 213 and "213 bar" in text
    assert round(2 * AREA * 0.5 * 1e3, 1) == 6.4 and "6.4 L" in text
