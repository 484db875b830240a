"""A relief whose outlet feeds another valve: the settings add up, and the page says to how much."""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text

TEXT = """
machine: two valves
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2200 rpm, rating: 210 bar}
  first: {kind: directional valve, centre: open, spools: [lift], relief: 150 bar}
  second: {kind: directional valve, centre: open, spools: [clamp], relief: 140 bar}
  lift ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}
  clamp ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 300 mm}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  feed: {route: pump.outlet > first.P, direct: yes}
  onward: {route: first.T > second.P, direct: yes}
  lift up: {route: first.lift.A > lift ram.cap, direct: yes}
  lift down: {route: first.lift.B > lift ram.rod, direct: yes}
  clamp close: {route: second.clamp.A > clamp ram.cap, direct: yes}
  clamp open: {route: second.clamp.B > clamp ram.rod, direct: yes}
  return: {route: second.T > tank, direct: yes}
states:
  idling: {}
  lifting: {lift: A, loads: {lift ram: 10 kN compression}}
"""
BOTH = TEXT + "  both: {lift: A, clamp: A, loads: {lift ram: 10 kN compression, clamp ram: 8 kN compression}}\n"
STALLED = TEXT + "  stalled: {lift: A, clamp: A, at stop: {lift ram: extended, clamp ram: extended}}\n"


def found(text: str) -> list:
    solved = solve_text(text)
    assert solved.ok, solved.messages
    return [f for f in solved.findings if f.outcome == "finding" and f.rule in ("relief-none", "relief-isolated")]


@pytest.mark.parametrize("text", [TEXT, BOTH, STALLED], ids=["not declared", "declared", "stalled"])
def test_one_finding_tells_the_sum(text):
    (finding,) = found(text)
    assert finding.figures["limit"] == pytest.approx(290e5)
    assert "in series" in finding.headline and "290 bar" in finding.headline


def test_the_solver_comes_to_the_same_sum():
    """At both stops: 150 + 140 bar, and the override of both at 20.2 L/min (3 bar at 40 L/min: 1.52 bar each)."""
    text = STALLED
    for setting in ("150", "140"):
        own = f"relief: {{setting: {setting} bar, override: 3 bar at 40 L/min}}"
        text = text.replace(f"relief: {setting} bar", own)
    solved = solve_text(text.replace("speed: 2200 rpm,", "speed: 2200 rpm, volumetric efficiency: 92 %,"))
    pressure = solved.case.results.pressure("pump", "outlet")[2]
    assert pressure == pytest.approx(293.04e5, rel=1e-3)


def test_a_relief_with_a_way_home_of_its_own_is_no_chain():
    own = "first.PB > second.P, direct: yes}\n  home: {route: first.T > tank, direct: yes}"
    text = BOTH.replace("relief: 150 bar}", "relief: 150 bar, power beyond: yes}")
    assert not found(text.replace("first.T > second.P, direct: yes}", own))


def test_a_shut_valve_behind_the_relief_is_worse_than_a_chain():
    text = BOTH.replace("relief: 140 bar}", "}").replace("spools: [clamp], }", "spools: [clamp]}")
    assert {f.rule for f in found(text)} & {"relief-none", "relief-isolated"}
    assert not any("in series" in f.headline for f in found(text))


UNLOADED = """
machine: accumulator circuit
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 6 cc/rev, speed: 1450 rpm, rating: 230 bar}
  unloader: {kind: unloading valve, setting: 110 bar, check: yes, rating: 250 bar}
  block: {kind: tee, ports: 4, rating: 250 bar}
  relief: {kind: relief valve, setting: 130 bar, rating: 250 bar}
  ram: {kind: single-acting cylinder, bore: 40 mm, rating: 250 bar}
  acc: {kind: accumulator, volume: 1 L, precharge: 60 bar, rating: 250 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > unloader.P, direct: yes}
  back: {route: unloader.T > tank, direct: yes}
  charge: {route: unloader.A > block, direct: yes}
  seat: {route: block > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  store: {route: block > acc, direct: yes}
  work: {route: block > ram, direct: yes}
states:
  moving: {loads: {ram: 5 kN compression}}
"""


def test_a_check_in_an_unloading_valve_is_no_hand_that_shuts():
    """No hand can shut the way of the pump's oil through that check to the relief behind it."""
    assert found(UNLOADED) == []
