"""The mill page: three printed figures worked by hand, the faults it tells of, and what happens when it is changed.

By hand, from the data of the page:

1. Pump. 10 cm3 x 2400 /min x 0.93 = 22.32 L/min.
2. Feed line, clamp at its stop. All of it goes over the relief: 150 + 3 x 22.32/40 = 151.67 bar, plus what the relief's
   own return hose takes (1.2 m of 12.7 mm bore at 36.9 mm2/s and 852 kg/m3: 128 rho nu L Q/(pi d^4) = 0.22 bar).
   Tee: 265 psi = 18.27 bar at 200 F; the outlet of the pump another 0.18 bar, 152.07 / 18.27 = 8.32 times.
3. Lifter. Rod side of 63/32: pi/4 (6.3^2 - 3.2^2) = 23.13 cm2; two of them under 26.5 kN: 26500/(2 x 23.13e-4)
   = 57.3 bar above what the cap side holds against it; speed 22.32 L/min / 46.26 cm2 = 80.4 mm/s.
"""

from __future__ import annotations

import math

import pytest
from builddoc.solution import Verdict

from .conftest import LPM, Figures, block, solve

PAGE = "bandsaw-mill-as-first-built.md"


def test_every_state_has_an_answer_whose_certificate_holds(mill):
    for name, state in zip(mill.results.states, mill.case.solution.states, strict=True):
        assert state.verdict is Verdict.SOLVED, (name, state.verdict)
        assert state.certificate is not None and state.certificate.holds(), name


def test_pump_flow(mill):
    flow = mill.results.source_flow("pump") / LPM
    assert flow[mill.state("clamp at its stop")] == pytest.approx(10e-3 * 2400 * 0.93, rel=1e-6)


def test_feed_stands_at_the_relief_setting_and_its_override(mill):
    over = 150 + 3 * 22.32 / 40
    hose = 128 * 852.1 * 36.86e-6 * 1.2 * 22.32 * LPM / (math.pi * 0.0127**4) / 1e5
    assert mill.pressure("inlet block", "run a", "clamp at its stop") == pytest.approx(over + hose, abs=0.05)


def test_lifting(mill):
    area = math.pi / 4 * (0.063**2 - 0.032**2)
    cap = math.pi / 4 * 0.063**2
    back = mill.pressure("left lifter", "cap", "lifting") + mill.pressure("right lifter", "cap", "lifting")
    rods = mill.pressure("left lifter", "rod", "lifting") + mill.pressure("right lifter", "rod", "lifting")
    assert rods == pytest.approx(26500 / area / 1e5 + back * cap / area, rel=1e-6)
    assert 26500 / (2 * area) / 1e5 == pytest.approx(57.3, abs=0.05)
    assert mill.speed("left lifter", "rod", "lifting") == pytest.approx(-22.32 * LPM / (2 * area), rel=1e-4)


def test_the_text_on_the_lifter_holds():
    cap, annulus = math.pi / 4 * 6.3**2, math.pi / 4 * (6.3**2 - 3.2**2)
    assert (round(cap, 1), round(annulus, 1)) == (31.2, 23.1)
    assert round(26500 / (2 * cap) / 10, 1) == 42.5
    assert round(26500 / annulus / 10) == 115


def test_the_tee_is_named_with_its_line_and_ratio(mill):
    lines = block(PAGE).text.splitlines()
    written = next(i for i, text in enumerate(lines) if "malleable iron tee" in text) + block(PAGE).line
    (found,) = [f for f in mill.findings("feed", "tee") if f.place and f.place.line == written]
    assert found.rule == "rating-low-pressure-fitting" and "rating-line-weakest" in found.text
    assert found.signal == "DANGER"
    assert "8.3 times" in found.headline  # 152.07 bar over 265 psi = 18.27 bar, the class at 200 F (82 degC: 179.6 F)
    assert found.state == "clamp at its stop"


def test_the_tank_port_of_the_bank_carries_the_deck_valve(mill):
    assert mill.pressure("bank", "T", "turning") > 100
    assert mill.findings("bank.T")


def test_feeding_and_turning_stalls(mill):
    assert mill.pressure("inlet block", "run a", "feeding and turning") > 150
    for motor in ("carriage motor", "turner motor"):
        assert mill.speed(motor, "shaft", "feeding and turning") == pytest.approx(0, abs=0.2)


def test_cold_left_and_right_differ(mill):
    """128 rho nu L Q/(pi d^4) for half the pump flow, 9.5 mm bore, 382 mm2/s, 876 kg/m3: 0.94 and 7.5 bar."""
    state = "lifting on a cold morning"
    assert mill.line_drop("raise left", state) == pytest.approx(0.935, rel=0.02)
    assert mill.line_drop("raise right", state) == pytest.approx(7.48, rel=0.02)


def test_where_the_tee_sits(mill):
    """Legs of 0.3 and 2.4 m on the rod sides differ by 7.48 - 0.935 = 6.55 bar at 5 °C, of 0.9 and 3.0 m on the cap
    sides by the same times 31.17/23.13 = 8.83. Equal legs differ by nothing, and so does the pair against its stop."""
    tables = {t.key: t for t in mill.solved.report.tables}
    cold = {r[3].text: r[4].value for r in tables["pair-layouts"].rows if r[1].text == "lifting on a cold morning"}
    assert cold["as drawn"] / 1e5 == pytest.approx(6.55 * 31.17 / 23.13, rel=0.02)
    assert [cold[x] for x in ("tees half way", "manifolds at the bank")] == pytest.approx([0, 0], abs=100)
    said = tables["pairs"].caption
    assert "0.82 bar" in said and "at 45 °C" in said and "8.83 bar" in said and said.endswith("at a stop by nothing")


@pytest.mark.parametrize("state", ["supply coupler open", "return coupler open"])
def test_with_a_coupler_apart_the_page_says_where_the_flow_goes(mill, state):
    relief = mill.flow("main relief", "relief", state)
    assert relief == pytest.approx(22.32, rel=1e-3)
    told = [f for f in mill.solved.findings if f.state == state or state in f"{f.headline} {f.text}"]
    assert any("main relief" in f"{f.headline} {f.text}" for f in told)


def test_without_the_relief_nothing_limits_the_pump():
    place = block(PAGE)
    dropped = ("  main relief:", "  relief seat:", "  relief return:")
    text = "\n".join(line for line in place.text.splitlines() if not line.startswith(dropped))
    text = text.replace("\nstates:", "\nplugged: [inlet block.branch]\n\nstates:", 1)
    solved = solve(text, PAGE, place)
    mill = Figures(solved)
    stalled = mill.case.solution.states[mill.state("clamp at its stop")]
    assert stalled.verdict in (Verdict.UNBOUNDED, Verdict.OVER_LIMIT)
    assert any(
        f.signal == "DANGER" and "pump" in f.subject and "limits" in f"{f.headline} {f.text}"
        for f in solved.findings
        if f.outcome == "finding"
    )
    assert [f for f in solved.report.failures if f.state == "clamp at its stop"]


def test_a_typo_gives_line_column_and_suggestion():
    place = block(PAGE)
    text = place.text.replace("displacement: 10 cc/rev", "displacment: 10 cc/rev")
    solved = solve(text, PAGE, place)
    assert not solved.ok
    message = solved.messages[0]
    lines = text.splitlines()
    row = next(i for i, line in enumerate(lines) if "displacment" in line)
    assert message.place is not None
    assert message.place.line == place.line + row
    assert message.place.column == place.column + lines[row].index("displacment")
    assert "displacement" in f"{message.text} {message.hint}"


def test_unknown_rating_is_not_checked(mill):
    assert any(f.outcome == "not checked" and "head ram" in f.subject for f in mill.solved.findings)


def test_what_is_screwed_into_a_line_stands_in_the_envelope(mill):
    table = next(t for t in mill.solved.report.tables if t.key == "envelope")
    rows = {row[0].text: row for row in table.rows}
    tee = next(name for name in rows if name.startswith("feed: ") and "tee 1/2 in class 150" in name)
    assert rows[tee][1:] == rows["feed"][1:] and rows[tee][0].subject == "feed"
    assert any(name.startswith("return: ") and "elbow" in name for name in rows)


def test_a_pressure_that_is_open_counts_with_the_least_it_can_be(mill):
    """Return filter blocked while the clamp closes: the relief holds its cap side, the rod side is shut in. By hand
    (152 bar x 19.635 cm2 - 2 kN) / 13.477 cm2 = 206.6 bar; no table may say that 152 is the highest."""
    (table,) = [t for t in mill.solved.report.tables if t.key == "faults"]
    row = next(row for row in table.rows if row[0].text == "clamping, return filter blocked")
    assert row[1].text.startswith("≥ ") and row[1].flag == "range"
    assert row[1].value / 1e5 == pytest.approx((152e5 * 19.635e-4 - 2000) / 13.477e-4 / 1e5, abs=1.0)  # less on the way
    assert "clamp ram" in row[2].text or "intensification" in row[2].text
