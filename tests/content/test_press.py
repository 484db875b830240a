"""The press page: figures worked by hand.

1. Press pump. 2.1 cm3 x 1450 /min x 0.92 = 2.80 L/min; fast and press pump together 13.47 L/min.
2. Coupler open. Cap 125 mm: 122.7 cm2; rod side 125/70: 84.2 cm2; ratio 1.457. The valve sees 235 + 3 x 2.80/40 +
   0.06 (return) = 235.27 bar; its load check opens at 0.4, so the cap is filled to at least 234.87 bar (the check would
   hold more); 234.87 x 1.457 = 342.2 bar at least on the rod side.
3. Pressing with 20 t: 196 kN / 122.7 cm2 = 159.7 bar above the return; speed 2.80 L/min / 122.7 cm2 = 3.8 mm/s.
"""

from __future__ import annotations

import math

import pytest
from builddoc.solution import Verdict

from .conftest import LPM, page_text

CAP = math.pi / 4 * 0.125**2
ROD = math.pi / 4 * (0.125**2 - 0.070**2)


def test_every_state_has_an_answer_whose_certificate_holds(press):
    for name, state in zip(press.results.states, press.case.solution.states, strict=True):
        assert state.verdict is Verdict.SOLVED, (name, state.verdict)
        assert state.certificate is not None and state.certificate.holds(), name


def test_the_text_on_areas_and_force_holds():
    assert (round(CAP * 1e4, 1), round(ROD * 1e4, 1)) == (122.7, 84.2)
    assert round(235e5 * CAP / 1e3) == 288


def test_speeds(press):
    pressing, fast, up = "pressing with 20 t", "ram down, fast", "ram up"
    assert press.speed("ram", "rod", pressing) == pytest.approx(2.1e-3 * 1450 * 0.92 * LPM / CAP, rel=1e-4)
    assert press.speed("ram", "rod", pressing) == pytest.approx(3.8e-3, abs=0.05e-3)
    both = 10.1e-3 * 1450 * 0.92 * LPM
    assert press.speed("ram", "rod", fast) == pytest.approx(both / CAP, rel=1e-4)
    assert press.speed("ram", "rod", up) == pytest.approx(-both / ROD, rel=1e-4)
    assert abs(press.line_flow("return", up)) == pytest.approx(19.6, abs=0.05)


def test_pressing_with_20_t(press):
    state = "pressing with 20 t"
    rod = press.pressure("ram", "rod", state)
    assert press.pressure("ram", "cap", state) == pytest.approx(196e3 / CAP / 1e5 + rod * ROD / CAP, rel=1e-6)


def test_coupler_open_multiplies_the_pressure(press):
    state = "rod coupler left open"
    cap, rod = (press.least("ram", port, state) for port in ("cap", "rod"))
    assert cap == pytest.approx(235 + 3 * 2.8014 / 40 + press.pressure("valve", "T", state) - 0.4, abs=0.01)
    assert rod == pytest.approx(cap * CAP / ROD, rel=1e-4)
    assert rod == pytest.approx(342.2, abs=0.05)
    assert [f for f in press.findings("rod hose") if f.signal == "DANGER" and f.state == state]
    assert press.findings("ram.rod")


def test_with_the_coupler_open_the_page_says_where_the_flow_goes(press):
    state = "rod coupler left open"
    assert press.flow("valve", "relief", state) == pytest.approx(2.80, abs=0.01)
    (told,) = [f for f in press.findings("rod coupler", "pump", "relief") if f.rule == "path-deadhead-coupler"]
    assert told.state == state and "100 %" in told.headline


def test_stuck_unloader_overloads_the_motor(press):
    assert [f for f in press.findings("motor") if f.state == "unloader stuck"]


def test_the_highest_pressure_of_the_page_is_that_of_the_findings(press):
    """With the coupler at the rod side apart that side keeps at least 342 bar, above the relief's 237."""
    figure = next(f for f in press.solved.report.key_figures if f.label == "Highest pressure")
    assert figure.text == "≥ 342" and "rod coupler left open" in figure.note


def test_what_the_shut_in_oil_keeps():
    """V = 12.5^2 pi/4 cm2 x 30 cm; dV = p V / K; E = p dV / 2."""
    volume = math.pi / 4 * 0.125**2 * 0.3
    squeezed = 235e5 * volume / 1.4e9
    assert (round(1e3 * volume, 1), round(1e6 * squeezed), round(235e5 * squeezed / 2e3, 1)) == (3.7, 62, 0.7)
    text = page_text("shop-press/before.md")
    assert "3.7 L" in text and "62 mL" in text and "0.7 kJ" in text


def test_the_drawing_says_at_least_what_the_rod_hose_holds(press):
    """342.2 bar at least on a rating of 180: 1.90 times. It is a figure of the drawing, in letters and in words."""
    from builddoc.draw import circuit_layout, circuit_legend, draw_circuit

    sheet = circuit_layout(press.solved.circuit, press.results, units=("metric",))
    drawn = draw_circuit(sheet, press.state("rod coupler left open"), "x")
    assert "≥ 342 bar" in drawn.svg and "≥ 1.90× rating" in drawn.svg
    assert sheet.figures.lines["rod hose"].step[press.state("rod coupler left open")] == "over"
    assert sheet.figures.lines["rod hose"].step[press.state("idling")] == ""
    (said,) = [text for text in drawn.words if "‘rod hose’" in text]
    assert "no flow at 342 bar or more (pressure not fixed by the steady state; the data give no upper limit" in said
    assert "at least 1.90× of 180 bar" in said
    assert "≥ at least" in circuit_legend(sheet)
