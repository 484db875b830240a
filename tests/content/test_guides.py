"""The guides' figures: where the tee sits, what a divider does, and readings beside predictions."""

from __future__ import annotations

import re
from functools import cache

import pytest
from builddoc import standards
from builddoc.blocks import find_blocks
from builddoc.checks import legs
from builddoc.history.readings import outcomes
from builddoc.history.registry import Registry
from builddoc.language.readings import read_readings
from builddoc.physics.strength import npt_depth
from builddoc.pipeline import solve_text
from builddoc.sources import find_sources
from builddoc.tolerances import RULES, SUCTION

from .conftest import BAR, CONTENT, LPM, Figures, page_path, page_text

PAGE = "guides/tee-or-divider.md"


@cache
def revision(letter: str) -> Figures:
    found = Registry.of(find_sources([CONTENT / PAGE])[0])
    place = find_blocks(page_text(PAGE))["ABC".index(letter)]
    return Figures(solve_text(place.text, page_path(PAGE), place.line, place.column, found))


def views(letter: str, layout: str, state: str) -> legs.View:
    (view,) = [v for v in legs.views(revision(letter).case) if (v.layout, v.state, v.stalled) == (layout, state, False)]
    return view


def test_cold_legs_of_the_linked_pair():
    """By hand. Pump 8 cm3 x 2200/min x 0.93 = 16.37 L/min, each cap takes half: 8.184 L/min. ISO VG 46 with 46 cSt at
    40 °C and 6.8 at 100 °C has some 900 cSt at −5 °C, laminar: the losses go as the lengths, 2.5 to 0.3 = 8.33.
    The right piston (19.63 cm2; rod side 13.48) pushes less by what its leg loses and by what its way back holds."""
    a = revision("A")
    assert a.line_flow("left leg", "pushing cold") == pytest.approx(8.184, rel=1e-3)
    near, far = a.line_drop("left leg", "pushing cold"), a.line_drop("right leg", "pushing cold")
    assert far / near == pytest.approx(2.5 / 0.3, rel=1e-3)
    cap = a.pressure("left ram", "cap", "pushing cold") - a.pressure("right ram", "cap", "pushing cold")
    rod = a.pressure("right ram", "rod", "pushing cold") - a.pressure("left ram", "rod", "pushing cold")
    assert cap == pytest.approx(far - near, rel=1e-6)
    difference = views("A", legs.DRAWN, "pushing cold").force_difference
    assert difference == pytest.approx((cap * 19.635 + rod * 13.477) * 10, rel=1e-3)
    assert 3000 < difference < 4000


def test_equal_legs_take_the_difference_away():
    for letter, state in (("A", "pushing"), ("A", "pushing cold"), ("B", "pushing cold")):
        half = views(letter, "tee half way", state)
        assert half.force_difference == pytest.approx(0.0, abs=1.0), state
        assert half.flow_difference / LPM == pytest.approx(0.0, abs=1e-3), state
    assert views("A", legs.DRAWN, "pushing").force_difference > 100


def test_free_rams_with_unequal_loads_wait_for_each_other_wherever_the_tee_sits():
    for layout in (legs.DRAWN, "tee half way"):
        left, right = views("B", layout, "log lies to the left").sides
        assert left.speed == pytest.approx(0.0, abs=1e-6)
        assert right.flow / LPM == pytest.approx(16.37, rel=1e-3)


def test_divider_by_hand():
    """Rotor: p_A + p_B = 2 (p_inlet − 5 bar). Left cap, rod side near 0.9 bar: (12,000 + 300) N / 19.63 cm2 + 0.9 x
    13.48/19.63 = 62.64 + 0.61 = 63.26 bar, more than the 53.4 bar at the inlet. Leakage 0.3 L/min at 100 bar: the left
    section runs 9.9 bar against its inlet, the right one 19.9 below: 0.090 L/min apart."""
    c = revision("C")
    state = "log lies to the left"
    inlet, left, right = (c.pressure("divider", port, state) for port in ("inlet", "A", "B"))
    assert left + right == pytest.approx(2 * (inlet - 5.0), rel=1e-4)
    assert c.pressure("left ram", "cap", state) == pytest.approx(63.26, abs=0.03) and left > inlet + 9
    apart = c.line_flow("right leg", state) - c.line_flow("left leg", state)
    assert apart == pytest.approx(0.3 * (left - right) / 100, rel=1e-3)


def test_findings_of_the_three():
    said = {x: {f.rule for f in revision(x).solved.findings if f.outcome == "finding"} for x in "ABC"}
    assert {"pair-tee-unbalance", "pair-rigid-force"} <= said["A"]
    assert "pair-tee-unbalance" in said["B"] and "pair-rigid-force" not in said["B"]
    assert not {"pair-tee-unbalance", "pair-rigid-force"} & said["C"]


def test_three_readings_agree_and_the_last_one_does_not():
    name = "guides/taking-readings.md"
    place = find_blocks(page_text(name), "readings")[-1]
    head, messages = read_readings(place.text, page_path(name))
    assert head is not None and messages == []
    rows, said = outcomes(head, revision("A").case.circuit)
    assert said == []
    assert [row.word for row in rows] == ["agrees", "agrees", "agrees", "disagrees"]
    # 500 mm x (19.63 cm2 x 2) at 16.37 L/min is 7.20 s, whatever the oil's temperature
    assert [rows[n].predicted[0] for n in (1, 3)] == pytest.approx([7.197, 7.197], abs=0.01)
    assert rows[2].value / BAR < rows[2].predicted[0] / BAR < 80


def test_figures_of_the_page_on_ratings():
    """Wall 0.109 in x 0.875 = 2.42 mm, thread 0.8/14 in = 1.45 mm, left 0.97 mm; schedule 80: 0.147 in = 3.73 mm."""
    text = " ".join(page_text("explanation/what-a-rating-means.md").split())
    hose, light, heavy = standards.hose("two-wire", 8), standards.pipe("1/2", 40), standards.pipe("1/2", 80)
    kept, depth = 0.875 * light.wall, npt_depth(light.threads_per_inch)
    for figure in (
        f"bursts at {hose.burst / BAR:.0f} bar and works at {hose.rating / BAR:.0f}",
        f"a wall of {light.wall * 1e3:.2f} mm", f"an eighth of it: {kept * 1e3:.2f} mm",
        f"thread is {depth * 1e3:.2f} mm deep", f"is {(kept - depth) * 1e3:.2f} mm, a third",
        f"rated {standards.pipe_rating('1/2', 40).rating / BAR:.0f} bar",
        f"welded into sockets {standards.pipe_rating('1/2', 40, threaded=False).rating / BAR:.0f} bar",
        f"its {heavy.wall * 1e3:.2f} mm holds {standards.pipe_rating('1/2', 80).rating / BAR:.0f} bar",
    ):  # fmt: skip
        assert figure in text, figure
    assert hose.burst == 4 * hose.rating and (kept - depth) / light.wall == pytest.approx(1 / 3, abs=0.03)


def test_the_finding_that_is_read_slowly_is_one_of_the_mill(mill):
    """As the terminal prints it: signal word, headline, state."""
    said = [f"> **{f.signal}** {f.headline}, in '{f.state}'" for f in mill.solved.findings if f.outcome == "finding"]
    quoted = [row for row in page_text("guides/reading-the-findings.md").splitlines() if row.startswith("> ")]
    assert len(quoted) == 1 and re.sub(r" \(\d+ psi\)", "", said[0]) == quoted[0]
    assert mill.pressure("inlet block", "run a", "lifting") == pytest.approx(152 / 2, rel=0.02)  # half of that


def test_what_the_guide_calls_close_is_what_the_page_takes():
    cells = [row.split("|") for row in page_text("guides/taking-readings.md").splitlines() if row.count("|") == 5]
    rows = {row[1].strip(): row[3] for row in cells}
    share, least = RULES["pressure"]
    for name in ("main relief", "pressure of a held load"):
        assert f"{share:.0%}".replace("%", " %") in rows[name] and f"{least / BAR:.0f} bar" in rows[name]
    assert f"{SUCTION / BAR:g} bar" in rows["suction"] and "8 K" in rows["temperature"] and RULES["temperature"][1] == 8
    assert "5 %" in rows["pump flow"] and RULES["flow"][0] == 0.05
    assert "10 %" in rows["stroke time"] and RULES["time"][0] == 0.10
