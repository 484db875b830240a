"""Parts, line schedule and quantities: what the builder wrote, nothing filled in, nothing lost."""

from __future__ import annotations

from builddoc.language import read
from builddoc.pipeline import solve_text
from builddoc.report.model import Table
from builddoc.report.parts import data_words

TEXT = """
machine: splitter
oil: {grade: ISO VG 46, temperature: 45 °C}
units: US, then metric
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  valve: {kind: directional valve, centre: open, spools: [ram], relief: {setting: 150 bar, override: 3 bar at 40 L/min},
          rating: 210 bar, salvaged: yes, note: from the scrapyard}
  left: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: {value: 210 bar, read on: plate}}
  right: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: unknown}
  a: {kind: tee, rating: 210 bar}
  b: {kind: tee, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, hose: suction, bore: 19 mm, length: 1 m}
  feed: {route: pump.outlet > valve.P, hose: two-wire, size: -8, length: 0.8 m, hose date: 2024-05,
         fittings: [{fitting: elbow 90, loss: 0.9, rating: 210 bar, count: 2}]}
  out: {route: valve.ram.A > a, hose: two-wire, size: -6, length: 1.5 m}
  back: {route: valve.ram.B > b, hose: two-wire, size: -6, length: 1.25 m}
  a left: {route: a > left.cap, direct: yes}
  a right: {route: a > right.cap, direct: yes}
  b left: {route: b > left.rod, direct: yes}
  b right: {route: b > right.rod, direct: yes}
  return: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
"""


def table(key: str) -> Table:
    solved = solve_text(TEXT)
    assert solved.report is not None, solved.messages
    return next(t for t in solved.report.tables if t.key == key)


def rows(key: str) -> dict[str, list[str]]:
    return {row[0].text: [cell.text for cell in row] for row in table(key).rows}


def test_parts_tell_what_was_written_in_the_page_s_units():
    found = rows("parts")
    # 10 cm3 = 0.610 in3; 50 mm = 1.97 in. Nothing that was left out (efficiencies, drops) stands there.
    assert found["pump"][2] == "displacement 0.61 in³/rev, speed 2400 rpm"
    assert found["valve"][2].endswith("spools ram, relief setting 2176 psi, override 43.5 psi at 10.6 gpm")
    assert list(found) == ["tank", "pump", "valve", "left", "right", "a", "b"]


def test_parts_tell_second_hand_notes_and_missing_ratings():
    cells = {row[0].text: row for row in table("parts").rows}
    assert (cells["valve"][0].note, cells["valve"][1].note) == ("from the scrapyard", "second-hand")
    assert cells["left"][4].text == "plate" and cells["left"][3].flag == ""
    assert cells["right"][3].flag == "not-checked" and cells["right"][4].text == "nobody stated one"
    assert cells["valve"][3].flag == "not-checked" and cells["valve"][4].note == "without one: T"


def test_line_schedule_keeps_the_order_of_fittings_and_the_hose_date():
    cells = {row[0].text: row for row in table("line-schedule").rows}
    assert cells["feed"][5].text == "2 × elbow 90"
    # Six years after the date on it; a hose without one is told apart from a joint that is no hose.
    assert [cell.text for cell in cells["feed"][8:]] == ["2024-05", "2030-05"]
    assert [cells[name][8].text for name in ("out", "a left")] == ["unknown", "—"]
    assert cells["a left"][1].text == "screwed together" and cells["a left"][2].value is None


def test_quantities_add_up():
    counted = {(row[0].text, row[1].text): row[2].text for row in table("quantities").rows}
    # 1.5 m + 1.25 m = 2.75 m = 9.02 ft
    assert counted["hose, two-wire -6", "2 pieces"] == "9.02 ft"
    assert counted["elbow 90", "—"] == "2"
    assert [n for (what, _), n in counted.items() if what == "cylinder"] == ["2"]
    assert [n for (what, _), n in counted.items() if what == "tee"] == ["2"]


def test_quantities_are_grouped_for_buying_and_tell_what_is_there_already():
    found = {row[0].text: row for row in table("quantities").rows}
    assert [found[name][0].note for name in ("pump", "directional valve", "elbow 90", "hose, two-wire -6")] == [
        "pump, drive, tank", "valves", "fittings", "hoses, tubes, pipes",
    ]  # fmt: skip
    assert found["directional valve"][2].note == "1 of 1 second-hand: valve" and found["pump"][2].note == ""
    groups = [row[0].note for row in table("quantities").rows]
    assert len(list(dict.fromkeys(groups))) == len([g for n, g in enumerate(groups) if n == 0 or groups[n - 1] != g])


def test_no_bare_number_in_the_data():
    """Lists and values that may also be a word keep their unit: 8 cc/rev, 1.7 bar."""
    parts = """
  tank: {kind: reservoir, volume: 30 L}
  divider: {kind: flow divider, sections: [8 cc/rev, 8 cc/rev]}
  filter: {kind: filter, bypass: 1.7 bar}
lines:
  in: {route: tank > divider.inlet, direct: yes}
  one: {route: divider.A > filter.inlet, direct: yes}
  other: {route: divider.B > tank, direct: yes}
  home: {route: filter.outlet > tank, direct: yes}
"""
    oil = "oil: {grade: ISO VG 46, temperature: 45 °C}"
    circuit = read(f"machine: x\n{oil}\nparts:{parts}states: {{idle: {{}}}}\n").circuit
    assert circuit is not None
    told = {name: ", ".join(data_words(part.params, "metric")) for name, part in circuit.parts.items()}
    assert told["divider"] == "sections 8 cc/rev, 8 cc/rev" and told["filter"] == "bypass 1.7 bar"
