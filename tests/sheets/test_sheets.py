"""Sheets: the figures a gauge should show, worked by hand, and blanks where something is to be written."""

from __future__ import annotations

import pytest
from builddoc.cautions import shown
from builddoc.page.sheet import sheet_html
from builddoc.pipeline import solve_text
from builddoc.report.parts import due
from builddoc.sheets import SHEETS, Sheet
from builddoc.tolerances import careful
from markupsafe import escape

BAR = 1e5
TEXT = """
machine: splitter
date: 2026-03-01
oil: {grade: ISO VG 46, temperature: 45 °C, coldest start: 0 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 100 %}
  gauge tee: {kind: tee}
  gauge: {kind: gauge point}
  valve: {kind: directional valve, centre: open, spools: [ram], relief: {setting: 150 bar, override: 4 bar at 24 L/min},
          drop: 6 bar at 24 L/min, load checks: no}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}
  filter: {kind: filter}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  feed: {route: pump.outlet > gauge tee, hose: two-wire, size: -8, length: 0.01 m, hose date: 2023-07}
  gauge stub: {route: gauge tee > gauge, direct: yes}
  inlet: {route: gauge tee > valve.P, direct: yes}
  out: {route: valve.ram.A > ram.cap, direct: yes}
  back: {route: valve.ram.B > ram.rod, direct: yes}
  return: {route: valve.T > tank, direct: yes}
  spare: {route: filter.inlet > tank, direct: yes}
  spare home: {route: filter.outlet > tank, direct: yes}
states:
  pushing: {ram: A, loads: {ram: 20 kN compression}}
  at its stop: {ram: A, at stop: {ram: extended}}
  coupler off: {fault: yes}
"""


@pytest.fixture(scope="module")
def solved():
    found = solve_text(TEXT)
    assert found.case is not None, found.messages
    return found


@pytest.fixture(scope="module")
def case(solved):
    return solved.case


def rows(sheet: Sheet, key: str) -> list[list[str]]:
    table = next(s.table for s in sheet.sections if s.table and s.table.key == key)
    return [[cell.text for cell in row] for row in table.rows]


def test_gauges_by_hand(case):
    """20 kN on 19.635 cm2 and what the return holds against it: 103.80 bar at the cap, 109.8 with the valve's 6 bar;
    5 % of it = 5.5: 104 to 115 bar. At the stop 150 + 4 = 154 bar; 146 to 162. The fault state is left out."""
    found = rows(SHEETS["first start"](case, ()), "gauges")
    assert [row[:4] for row in found] == [
        ["gauge", "pushing", "110", "104 to 115"],
        ["gauge", "at its stop", "154", "146 to 162"],
    ]
    assert {row[5] for row in found} == {""}


def test_sheets_and_readings_allow_the_same():
    assert careful("pressure", 20 * BAR) == pytest.approx(2 * BAR)
    assert careful("pressure", 100 * BAR) == pytest.approx(5 * BAR)
    assert careful("pressure", -0.2 * BAR) == pytest.approx(0.05 * BAR)
    assert careful("temperature", 330.0) == 8.0 and careful("time", 1.0) == 0.2


def test_relief_is_read_where_nothing_stands_between(case):
    ((label, where, opens, full, *blanks),) = rows(SHEETS["first start"](case, ()), "reliefs")
    assert (label, where, opens, full) == ("the relief in valve", "gauge", "150", "154")
    assert blanks == ["", ""]


def test_stroke_time_by_hand(case):
    """400 mm at 24 L/min into 19.635 cm2: 0.204 m/s, 1.963 s; a tenth either way."""
    ((name, state, way, time, within, timed),) = rows(SHEETS["first start"](case, ()), "strokes")
    assert (name, state, way, time, timed) == ("ram", "pushing", "out", "1.96", "")
    assert within == "1.76 to 2.16"  # 0.2 s, more than a tenth


def test_hoses_and_their_dates(case):
    ((name, hose, *_, date, until, looked),) = rows(SHEETS["hoses"](case, ()), "hoses")
    assert (name, hose, date, until, looked) == ("feed", "hose, two-wire -8", "2023-07", "2029-07", "")


@pytest.mark.parametrize("date, until", [("2019", "2025"), ("2019-05-02", "2025-05-02"), ("unknown", ""), ("", "")])
def test_due(date, until):
    assert due(date) == until


def test_maintenance_names_this_machine_s_parts(case):
    steps = [step for section in SHEETS["maintenance"](case, ()).sections for step in section.steps]
    assert any("New element: filter" in step for step in steps)
    assert any(": ram." in step for step in steps)


@pytest.mark.parametrize("name", list(SHEETS))
def test_html_has_boxes_and_blanks_and_escapes(case, name):
    html = sheet_html(SHEETS[name](case, ()))
    assert "splitter, revision A, 2026-03-01" in html and "come first" in html
    assert html.count("bd-blank\"") >= 2 and html.count("<section") == html.count("</section>") == 1


def test_test_points_and_the_ladder(case):
    """The gauge sits on the tee after the feed; 154 bar at the stop is the most it sees. The work needs 110 bar, the
    relief opens at 150: in order."""
    ((name, at, highest, scale),) = rows(SHEETS["first start"](case, ()), "points")
    assert (name, highest, scale) == ("gauge", "154", "") and at.startswith("gauge tee.")
    ladder = rows(SHEETS["first start"](case, ()), "ladder")
    assert [(row[1], row[3]) for row in ladder[:2]] == [("working need", "in order"), ("setting", "in order")]
    assert [row[2] for row in ladder[:2]] == ["110", "150"]


def test_cautions_of_the_circuit_stand_on_the_sheet(solved):
    told = shown(solved.case, solved.findings)
    assert any(c.id == "injection" for c in told)
    for name in SHEETS:
        html = sheet_html(SHEETS[name](solved.case, told))
        lead = next(c.lead for c in told if c.id == "injection")
        assert str(escape(lead)) in html and "bd-caution-line" in html
    assert "bd-caution-line" not in sheet_html(SHEETS["first start"](solved.case, ()))
