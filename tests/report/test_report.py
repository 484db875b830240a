"""The report of small invented machines: figures, tables, sentences."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest
from builddoc import checks, report
from builddoc.checks import heat
from builddoc.checks.base import Case
from builddoc.circuit import Conduit, Rating, Show
from builddoc.pipeline import solve_text
from builddoc.report import power
from builddoc.report.cells import Scale, share
from builddoc.report.model import Report, Table
from builddoc.report.words import power_of_ten

from tests.checks.machines import BAR, Machine, SpoolOrder, hose, mill, tee_150


def build(machine: Machine) -> tuple[Case, Report]:
    case = machine.case()
    return case, report.build(case, checks.run(case))


def table(r: Report, key: str) -> Table:
    (found,) = (t for t in r.tables if t.key == key)
    return found


def rows(t: Table) -> dict[str, dict[str, object]]:
    """First cell -> heading -> cell (the last row of that name)."""
    return {row[0].text: {c.label: cell for c, cell in zip(t.columns, row, strict=True)} for row in t.rows}


def cell(r: Report, key: str, row: str, column: str, state: str = ""):  # type: ignore[no-untyped-def]
    t = table(r, key)
    at = [c.label for c in t.columns].index(column)
    found = [x for x in t.rows if x[0].text == row and (not state or x[1].text == state)]
    return found[0][at]


def blocked_mill() -> Machine:
    machine = mill()
    del machine.parts["bank"]["relief"]
    return machine


# ---------------------------------------------------------------- key figures
def test_key_figures_of_the_mill() -> None:
    _, r = build(mill())
    figures = {k.label: k for k in r.key_figures}
    assert (figures["Pump flow"].text, figures["Pump flow"].unit) == ("22.3", "L/min")
    assert figures["Highest pressure"].text == "151"
    assert figures["Highest pressure"].note == "feed, in 'clamp at its stop'"
    assert figures["Load of engine"].text == "6.72" and "66 % of 10.1 kW" in figures["Load of engine"].note
    assert figures["Heat into the oil"].note.startswith("all losses: +8.1 K per minute; 82 °C after 7.6 min")
    assert all(k.second == "" for k in r.key_figures)


def test_second_system_of_units_stands_beside_the_first() -> None:
    machine = mill()
    machine.units = ("metric", "US")
    _, r = build(machine)
    figures = {k.label: k for k in r.key_figures}
    assert figures["Pump flow"].second == "5.9 gpm"  # the design brief says 5.9 gpm
    assert re.match(r"219\d psi · clamp", cell(r, "lines", "feed", "Highest pressure").note)
    assert cell(r, "lines", "feed", "Flow").text == "22.3"


def test_circuit_without_any_answer_has_no_figures() -> None:
    machine = blocked_mill()
    machine.states = {"clamp at its stop": machine.states["clamp at its stop"]}
    case, r = build(machine)
    assert not case.results.solved.any()
    assert r.key_figures == ()
    assert [f.state for f in r.failures] == ["clamp at its stop"]
    for t in r.tables:
        for row in t.rows:
            for column, c in zip(t.columns, row, strict=True):
                if column.numeric and column.label not in ("Rated", "Oil", "Length", "Bore"):
                    assert c.value is None, (t.key, column.label, c)


# ---------------------------------------------------------------- failures and unsolved states
def test_failure_names_what_is_shut_in_and_by_what() -> None:
    _, r = build(blocked_mill())
    (failure,) = r.failures
    assert failure.state == "clamp at its stop"
    assert "line feed" in failure.text and "ram (at its stop)" in failure.text
    assert "relief valve" in failure.remedy
    (proof,) = (p for p in r.proofs if p.state == failure.state)
    assert not proof.holds and "No figures" in proof.text
    assert cell(r, "lines-by-state", "feed", "Flow", "clamp at its stop").flag == "failed"
    assert cell(r, "heat", "clamp at its stop", "Shaft power").text == "—"


# ---------------------------------------------------------------- tables
def test_lines_table_names_the_limiting_member_and_the_state() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = (tee_150(),)
    _, r = build(machine)
    line = rows(table(r, "lines"))["feed"]
    assert line["Share of rating"].text == "7.3×" and line["Share of rating"].flag == "over"
    assert line["Share of rating"].share == pytest.approx(151.2 / 20.7, rel=0.01)
    assert line["Limited by"].text == "malleable iron tee, class 150"
    assert line["Highest pressure"].note == "clamp at its stop"
    assert line["Velocity"].value == pytest.approx(3.72e-4 / (math.pi / 4 * 0.0127**2))
    assert line["Line"].note == "pump.outlet → bank.P"


def test_shut_in_pressure_is_a_lower_bound_or_open_never_a_figure() -> None:
    _, r = build(mill())
    close = cell(r, "lines", "close", "Highest pressure")
    assert close.text == "≥ 151" and close.flag == "range"
    assert cell(r, "lines-by-state", "close", "Pressure at its start", "idling").text == "open"
    assert cell(r, "lines-by-state", "close", "Pressure at its start", "clamp at its stop").text == "≥ 151"
    force = cell(r, "actuators", "ram", "Force", "clamp at its stop")
    assert force.text == "≥ 29.6"  # the design brief: 29.5 kN at 150 bar
    assert cell(r, "actuators", "ram", "Force", "idling").text == "open"
    assert any("151 bar or more" in note and "ram.cap" in note for note in r.notes)
    assert any("nothing in the circuit limits it" in note for note in r.notes)


def test_line_without_a_rating_is_marked() -> None:
    machine = mill()
    machine.lines["feed"]["conduit"] = hose(rating=None)
    del machine.parts["pump"]["rating"]
    _, r = build(machine)
    line = rows(table(r, "lines"))["feed"]
    assert line["Share of rating"].flag == "not-checked"
    assert line["Limited by"].note == "no rating: pump.outlet and hose, two-wire"
    place = rows(table(r, "ratings"))["pump.outlet"]
    assert place["Rated"].flag == "not-checked" and place["Where the rating was read"].text == "not stated"


def test_actuators_say_speed_force_and_time() -> None:
    """v = Q/A, F = the stated load, t = stroke/v; elementary."""
    machine = mill(opening={("bank", "clamp"): SpoolOrder("B"), ("ram", "load"): 0.0})
    _, r = build(machine)
    area, ring = math.pi / 4 * 0.05**2, math.pi / 4 * (0.05**2 - 0.028**2)
    flow = 10e-6 * 40 * 0.93
    assert cell(r, "actuators", "ram", "It", "closing").text == "extends"
    assert cell(r, "actuators", "ram", "Speed", "closing").value == pytest.approx(flow / area)
    assert cell(r, "actuators", "ram", "Force", "closing").value == pytest.approx(4000.0, rel=1e-6)
    assert cell(r, "actuators", "ram", "Full stroke in", "closing").value == pytest.approx(0.4 * area / flow)
    assert cell(r, "actuators", "ram", "It", "opening").text == "retracts"
    assert cell(r, "actuators", "ram", "Speed", "opening").value == pytest.approx(-flow / ring)


def test_both_ways_at_most() -> None:
    case, r = build(mill())
    top = case.results.worst(case.results.pressure("pump", "outlet"))
    assert top is not None
    area, ring = math.pi / 4 * 0.05**2, math.pi / 4 * (0.05**2 - 0.028**2)
    assert cell(r, "both-ways", "ram", "Force, out").value == pytest.approx(area * top.value)
    assert cell(r, "both-ways", "ram", "Force, in").value == pytest.approx(ring * top.value)
    assert cell(r, "both-ways", "ram", "Speed, in").value == pytest.approx(10e-6 * 40 * 0.93 / ring)


def test_at_most_counts_on_settings_that_no_state_reaches() -> None:
    """All states move 2 kN at about 16 bar. 150 bar x 12.57 cm2 = 18.8 kN in all; behind the reducing valve of 60 bar
    7.5 kN, although another one of 90 bar stands elsewhere, 11.3 kN behind that one."""
    text = """
machine: invented
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  valve: {kind: directional valve, centre: open, spools: [one, two, three], relief: 150 bar, rating: 210 bar}
  low: {kind: pressure reducing valve, setting: 60 bar, rating: 210 bar}
  high: {kind: pressure reducing valve, setting: 90 bar, rating: 210 bar}
  clamp: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
  stop: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
  ram: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
lines:
  s: {route: tank > pump.inlet, direct: yes}
  p: {route: pump.outlet > valve.P, direct: yes}
  t: {route: valve.T > tank, direct: yes}
  1: {route: valve.one.A > low.inlet, direct: yes}
  2: {route: low.outlet > clamp, direct: yes}
  3: {route: low.drain > tank, direct: yes}
  4: {route: valve.two.A > high.inlet, direct: yes}
  5: {route: high.outlet > stop, direct: yes}
  6: {route: high.drain > tank, direct: yes}
  7: {route: valve.three.A > ram, direct: yes}
plugged: [valve.one.B, valve.two.B, valve.three.B]
states:
  clamping: {one: A, loads: {clamp: 2 kN compression}}
  others: {two: A, three: A, loads: {stop: 2 kN compression, ram: 2 kN compression}}
"""
    report, area = solve_text(text).report, math.pi / 4 * 0.04**2
    for name, level in (("clamp", 60e5), ("stop", 90e5), ("ram", 150e5)):
        assert cell(report, "both-ways", name, "Force, out").value == pytest.approx(level * area, rel=1e-6)
    (table,) = [t for t in report.tables if t.key == "both-ways"]
    assert "150 bar" in table.caption and "no state reaches" in table.caption


def test_motor_has_a_table_of_its_own() -> None:
    machine = mill()
    machine.parts["ram"] = {"kind": "hydraulic motor", "displacement": "160 cc/rev", "rating": "175 bar"}
    machine.lines["close"]["route"] = "bank.clamp.A > ram.A"
    machine.lines["open"]["route"] = "bank.clamp.B > ram.B"
    machine.states = {"turning": {("bank", "clamp"): SpoolOrder("A")}}
    _, r = build(machine)
    assert cell(r, "motors", "ram", "It", "turning").text == "turns A to B"
    assert table(r, "motors").columns[3].unit == "rpm"
    assert not [t for t in r.tables if t.key in ("actuators", "both-ways")]


def test_losses_add_up_to_the_heat_into_the_oil() -> None:
    machine = mill(opening={("bank", "clamp"): SpoolOrder("B"), ("ram", "load"): -2000.0})
    machine.parts["ram"]["friction"] = "300 N"
    case, _ = build(machine)
    total = np.sum(list(power.losses(case).values()), axis=0)
    assert total == pytest.approx(heat.into_oil(case), rel=1e-9, abs=1e-6)


def test_heat_table() -> None:
    _, r = build(mill())
    row = rows(table(r, "heat"))["clamp at its stop"]
    assert row["Over reliefs"].value == pytest.approx(5.62e3, rel=0.005)
    assert row["Heat into the oil"].value == pytest.approx(6.72e3, rel=0.005)
    assert row["To 82 °C, no cooling"].text == "7.6"
    assert row["Settles at"].text == "above 82"
    idle = rows(table(r, "heat"))["idling"]
    assert idle["To 82 °C, cooled"].text == "never"
    # ambient 20 degC + heat / (12 W/m2K x 0.75 m2)
    assert idle["Settles at"].value == pytest.approx(293.15 + idle["Heat into the oil"].value / 9.0)


def test_heat_without_volume_or_cooling_is_marked_not_guessed() -> None:
    machine = mill()
    machine.parts["tank"] = {"kind": "reservoir"}
    _, r = build(machine)
    row = rows(table(r, "heat"))["clamp at its stop"]
    assert row["Warming"].value is None and row["Settles at"].flag == "not-checked"
    machine.parts["tank"] = {"kind": "reservoir", "volume": 30e-3}
    _, r = build(machine)
    assert rows(table(r, "heat"))["clamp at its stop"]["Settles at"].text == "keeps rising"


def test_states_table_says_what_is_ordered() -> None:
    machine = mill(slow={("engine", "speed"): 125.66})
    machine.temperatures = {"slow": 263.15}
    _, r = build(machine)
    states = rows(table(r, "states"))
    assert states["idling"]["Ordered"].text == "as plumbed"
    assert states["closing"]["Ordered"].text == "bank clamp A; ram loaded with 4 kN compression"
    assert states["clamp at its stop"]["Ordered"].text == "bank clamp A; ram at its extended stop"
    assert states["slow"]["Ordered"].text == "engine at 1200 rpm"
    assert states["slow"]["Oil"].text == "−10"
    assert states["slow"]["Pump flow"].value < states["idling"]["Pump flow"].value


def test_rows_have_as_many_cells_as_columns_and_keys_are_unique() -> None:
    _, r = build(blocked_mill())
    assert len({t.key for t in r.tables}) == len(r.tables)
    for t in r.tables:
        assert t.rows and t.title and t.caption
        assert all(len(row) == len(t.columns) for row in t.rows), t.key


# ---------------------------------------------------------------- sentences
def test_assumptions_list_every_default_and_nothing_that_was_stated() -> None:
    _, r = build(mill())
    said = "\n".join(r.assumptions)
    assert "pump: mechanical efficiency 90 %" in said
    assert "volumetric efficiency" not in said
    assert "Heights are left out" in said and "steady" in said
    assert len(set(r.assumptions)) == len(r.assumptions)


def test_assumptions_of_the_writer_s_defaults_and_of_tables() -> None:
    machine = mill()
    conduit = Conduit("hose", "hose, two-wire -8", 12.7e-3, 1e-6, Rating(240 * BAR), "a table", ("from memory",))
    machine.lines["feed"]["conduit"] = conduit
    machine.oil = dataclasses.replace(machine.oil, assumed=("oil: viscosity taken as typical",))
    _, r = build(machine)
    assert "oil: viscosity taken as typical" in r.assumptions
    assert "feed: bore of hose, two-wire -8 from a table" in r.assumptions
    assert "feed: from memory" in r.notes


def test_proof_in_words() -> None:
    _, r = build(mill())
    assert all(p.holds for p in r.proofs)
    assert "of the largest flow" in r.proofs[0].text and "energy closes" in r.proofs[0].text
    assert "5.63 kW from the pumps, 5.63 kW into heat, 0 " in r.proofs[2].text


def test_certificate_that_does_not_hold_is_said() -> None:
    case = mill().case()
    certificate = case.solution.states[0].certificate
    assert certificate is not None
    certificate.mass = 1e-3
    r = report.build(case, [])
    assert not r.proofs[0].holds and "do not rely" in r.proofs[0].text and "1·10⁻³" in r.proofs[0].text


def test_friction_between_laminar_and_turbulent_is_noted() -> None:
    """Re = 4 Q/(pi d nu) at 45 degC in a 9.5 mm bore lies near 1350: the note begins at 1300."""
    _, r = build(mill())
    assert any(n.startswith("close: in 'closing' its friction rests on a Reynolds number of 13") for n in r.notes)
    assert not any(n.startswith("return:") for n in r.notes)


def test_time_to_the_limit_is_the_same_everywhere() -> None:
    _, r = build(mill())
    (f,) = (f for f in r.findings if f.rule == "relief-heat")
    (key,) = (k for k in r.key_figures if k.label == "Heat into the oil")
    in_table = cell(r, "heat", "clamp at its stop", "To 82 °C, no cooling").text
    assert f"after {in_table} min" in f.headline and f"after {in_table} min" in key.note


def test_rating_that_is_computed_or_from_memory_says_so_at_the_figure() -> None:
    machine = mill()
    rating = Rating(140 * BAR, basis="a table", status="computed, from memory")
    machine.lines["feed"]["conduit"] = Conduit("hose", "hose, two-wire -8", 12.7e-3, 1e-6, rating)
    _, r = build(machine)
    assert cell(r, "lines", "feed", "Rated").note == "computed, from memory"
    assert cell(r, "ratings", "feed: hose, two-wire -8", "Rated").note == "computed, from memory"
    assert any("computed, from memory" in f.text for f in r.findings if f.subject == "feed")
    assert cell(r, "lines", "close", "Rated").note == ""


def test_starved_place_has_no_pressure() -> None:
    machine = mill(cold={})
    machine.temperatures = {"cold": 263.15}
    machine.lines["suction"] |= {"conduit": hose(19e-3, None), "length": 1.0}
    _, r = build(machine)
    assert cell(r, "lines", "suction", "Highest pressure").text == "starved"
    end = cell(r, "lines-by-state", "suction", "Pressure at its end", "cold")
    assert end.text == "starved" and end.value is None


def test_bend_radii_stand_at_the_rating_not_among_the_notes() -> None:
    machine = mill()
    note = "Sources disagree: bend radius of -6: 125 mm here, 130 mm in another public file."
    machine.lines["feed"]["conduit"] = Conduit("hose", "hose, two-wire -8", 12.7e-3, 1e-6, None, "given", (note,))
    _, r = build(machine)
    assert not any("bend radi" in n for n in r.notes)
    assert cell(r, "ratings", "feed: hose, two-wire -8", "Where the rating was read").note == note


def test_statement_and_hidden_sections() -> None:
    case = mill().case()
    case = dataclasses.replace(
        case, circuit=dataclasses.replace(case.circuit, show=Show(state="closing", hide=("lines", "proof")))
    )
    r = report.build(case, checks.run(case))
    assert r.hidden == ("lines", "lines-by-state", "proof")
    assert r.shown_state == "closing"
    assert "not a design to copy" in r.statement and "not checked" in r.statement


def test_findings_are_sorted_into_their_lists() -> None:
    case, r = build(mill())
    found = checks.run(case)
    assert len(r.findings) + len(r.not_checked) + len(r.passed) == len(found)
    assert all(f.outcome == "finding" for f in r.findings)


# ---------------------------------------------------------------- small things
@pytest.mark.parametrize(
    ("value", "text"),
    [(3e-11, "3·10⁻¹¹"), (0.0, "0"), (9.96e-4, "1·10⁻³"), (float("nan"), "no figure"), (2.0, "2·10⁰")],
)
def test_power_of_ten(value: float, text: str) -> None:
    assert power_of_ten(value) == text


def test_a_column_has_one_unit() -> None:
    from builddoc.checks.words import Units

    units = Units(mill().circuit())
    scale = Scale(units, "velocity", [0.005, 3.0, float("nan")])
    assert scale.unit == "m/s" and scale.text(0.005) == "0.01" and scale.cell(float("nan")).text == "—"
    small = Scale(units, "time", [100.0, 8000.0], by_smallest=True)
    assert small.unit == "s" and small.text(8000.0) == "8000"


def test_share_of_a_rating() -> None:
    assert (share(0.46).text, share(7.3).text, share(1.02).text) == ("46 %", "7.3×", "102 %")
    assert (share(1.02).flag, share(0.99).flag, share(float("nan")).share) == ("over", "", None)


TWO_CIRCUITS = """
machine: two circuits of one tandem pump, made up
parts:
  tank: {kind: reservoir}
  pump: {kind: tandem pump, sections: [12 cc/rev, 6 cc/rev], speed: 1000 rpm, rating: 230 bar}
  a: {kind: tee, ports: 4, rating: 250 bar}
  a relief: {kind: relief valve, setting: 100 bar, override: 0 bar at 9 L/min, rating: 250 bar}
  b: {kind: tee, rating: 250 bar}
  b relief: {kind: relief valve, setting: 160 bar, override: 0 bar at 9 L/min, rating: 250 bar}
  divider: {kind: flow divider, sections: [4 cc/rev, 4 cc/rev], turning loss: 0 bar, rating: 150 bar}
  free: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
  booster: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
  reducer: {kind: pressure reducing valve, setting: 60 bar, rating: 210 bar}
  clamp: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
  other: {kind: single-acting cylinder, bore: 40 mm, rating: 210 bar}
lines:
  s: {route: tank > pump.inlet, direct: yes}
  1: {route: pump.A > a.run a, direct: yes}
  2: {route: a.run b > a relief.inlet, direct: yes}
  3: {route: a relief.outlet > tank, direct: yes}
  4: {route: a.branch > divider.inlet, direct: yes}
  5: {route: divider.A > booster, direct: yes}
  6: {route: divider.B > free, direct: yes}
  7: {route: a.branch b > reducer.inlet, direct: yes}
  8: {route: reducer.outlet > clamp, direct: yes}
  9: {route: reducer.drain > tank, direct: yes}
  10: {route: pump.B > b.run a, direct: yes}
  11: {route: b.run b > b relief.inlet, direct: yes}
  12: {route: b relief.outlet > tank, direct: yes}
  13: {route: b.branch > other, direct: yes}
states:
  working: {loads: {booster: 17 kN compression}, at stop: {other: extended, clamp: extended}}
"""


def test_what_a_cylinder_can_do_at_most_rests_on_the_pump_that_feeds_it() -> None:
    """12.57 cm2 each. `other` at 160 bar: 20.1 kN, 6 x 0.92 L/min. `clamp` behind its reducing valve: 60 bar, 7.5 kN.
    `booster` carries 17 kN = 135.3 bar at half of that at the divider's inlet, above the 100 bar of its pump's relief,
    `free` gets these 100 bar. Up to 2 x 100 bar can come out of the divider, not 2 x 160."""
    solved = solve_text(TWO_CIRCUITS)
    r, area = solved.report, math.pi / 4 * 0.04**2
    found = {name: cell(r, "both-ways", name, "Force, out").value for name in ("other", "clamp", "booster", "free")}
    assert found["other"] == pytest.approx(160e5 * area, rel=1e-3)
    assert found["clamp"] == pytest.approx(60e5 * area, rel=1e-3)
    assert found["booster"] == pytest.approx(17e3, rel=1e-3)
    assert found["free"] == pytest.approx(100e5 * area, rel=1e-3)
    speed = cell(r, "both-ways", "other", "Speed, out").value
    assert speed == pytest.approx(6e-6 * 1000 / 60 * 0.92 / area, rel=1e-3)
    driven = [f.figures["pressure"] for f in solved.findings if f.rule == "split-intensify" and f.figures]
    assert driven == [pytest.approx(200e5, rel=1e-3)] * 2


def test_heat_that_rests_on_an_open_pressure_is_not_known() -> None:
    """The pump's shaft power is p Q: where p is open, so is the heat; it is not that over the reliefs, nor none."""
    case = mill().case()
    stop, idle = (case.results.states.index(s) for s in ("clamp at its stop", "idling"))
    case.results.fixed[:, case.network.port_nodes["pump", "outlet"]] = False
    row = power.heat_table(case).rows[stop]
    assert [c.text for c in row[1:5]] == ["—", "—", "0", "—"] and [c.text for c in row[6:]] == ["—"] * 4
    assert all("open" in row[i].note for i in (2, 4, 9))
    assert all(math.isnan(watts) and w is None for watts, w in (heat.warmings(case)[s] for s in (stop, idle)))
    (f,) = [f for f in checks.run(case) if f.rule == "relief-heat"]
    assert f.outcome == "finding" and "by that alone" in f.headline and "it may be faster" in f.text
