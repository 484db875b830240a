"""Coupler halves joined as the state says: attachment on, looped, parked; apart and exchanged as faults."""

from __future__ import annotations

import math

import pytest
from builddoc import faults, language
from builddoc.pipeline import Solved, solve_text

RIG = """
machine: log splitter with a grapple to couple
oil: {grade: ISO VG 46, temperature: 40 °C}
hook-ups:
  grapple on: {mill feed: grapple feed, mill return: grapple return}
  looped: {mill feed: mill return}
  parked: {}
hook-up: grapple on
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}
  mill feed: {kind: coupler half, drop: 1 bar at 20 L/min, rating: 250 bar}
  mill return: {kind: coupler half, drop: 1 bar at 20 L/min, rating: 250 bar}
  grapple feed: {kind: coupler half, drop: 2 bar at 20 L/min, rating: 250 bar}
  grapple return: {kind: coupler half, drop: 1 bar at 20 L/min, rating: 250 bar}
  motor: {kind: hydraulic motor, displacement: 80 cc/rev, case drain: no, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > mill feed, bore: 12 mm, length: 1 m, rating: 225 bar}
  over: {route: feed at 0.5 m > relief.inlet, bore: 12 mm, length: 0.2 m, rating: 225 bar}
  relief return: {route: relief.outlet > tank, bore: 12 mm, length: 1 m, rating: 50 bar}
  back: {route: mill return > tank, bore: 19 mm, length: 1 m, rating: 50 bar}
  out: {route: grapple feed > motor.A, bore: 12 mm, length: 1 m, rating: 225 bar}
  home: {route: motor.B > grapple return, bore: 12 mm, length: 1 m, rating: 225 bar}
states:
  turning: {loads: {motor: 20 N.m resisting}}
  looped: {hook-up: looped}
  parked: {hook-up: parked}
"""


def solved(text: str = RIG) -> Solved:
    found = solve_text(text)
    assert found.ok, found.messages
    return found


@pytest.fixture(scope="module")
def rig() -> Solved:
    return solved()


def test_the_state_says_what_is_joined(rig):
    """10 cm3 x 2400 /min = 24 L/min, less slip; a pair drops (q/20)^2 x its greater half, 2 bar for the feed."""
    r = rig.case.results
    on, looped, parked = range(3)
    assert [s.hook_up for s in rig.circuit.states.values()] == ["grapple on", "looped", "parked"]
    q = r.line_flow("feed")
    assert r.line_flow("out")[on] == pytest.approx(r.line_flow("home")[on]) and r.line_flow("out")[on] > 20 / 6e4
    drop = r.pressure("mill feed", "line")[on] - r.pressure("grapple feed", "line")[on]
    assert drop == pytest.approx(2e5 * (r.line_flow("out")[on] * 6e4 / 20) ** 2, rel=1e-6)
    drop = r.pressure("mill feed", "line")[looped] - r.pressure("mill return", "line")[looped]
    assert drop == pytest.approx(1e5 * (r.line_flow("back")[looped] * 6e4 / 20) ** 2, rel=1e-6)
    assert r.line_flow("out")[looped] == pytest.approx(0, abs=1e-15)
    assert r.line_flow("back")[parked] == pytest.approx(0, abs=1e-15)
    assert r.pressure("mill feed", "line")[parked] > 150e5  # all over the relief
    assert q[on] == pytest.approx(q[looped], rel=0.2)


def test_apart_and_exchanged_are_tried(rig):
    trial = faults.solve_with(rig.case)
    r = trial.case.results
    apart = r.states.index("turning, mill feed apart from grapple feed")
    assert r.pressure("mill feed", "line")[apart] > 150e5 and r.speed("motor", "shaft")[apart] == pytest.approx(0)
    crossed = r.states.index("turning, grapple feed and grapple return exchanged")
    turning = r.states.index("turning")
    assert r.speed("motor", "shaft")[crossed] == pytest.approx(-r.speed("motor", "shaft")[turning], rel=0.02)
    assert "looped, mill feed apart from mill return" in trial.names


def test_faults_do_not_solve_the_declared_states_again(rig):
    trial = faults.solve_with(rig.case)
    for old, new in zip(rig.case.solution.states, trial.case.solution.states, strict=False):
        assert new.p is old.p


def test_a_half_that_is_never_seen_apart_is_answered_by_the_fault():
    text = RIG[: RIG.index("  looped: {hook-up")]
    found = solved(text)
    said = [f for f in found.findings if f.rule == "path-deadhead-coupler" and f.subject == "mill feed"]
    assert [f.outcome for f in said] == ["finding"] and "grapple feed" in said[0].state


def test_open_end_loses_the_oil():
    """Parked, all oil of the pump runs out of a feed half that has no valve."""
    found = solved(RIG.replace("mill feed: {kind: coupler half,", "mill feed: {kind: coupler half, valved: no,"))
    (said,) = [f for f in found.findings if f.rule == "coupler-open-end" and f.outcome == "finding"]
    r = found.case.results
    assert said.subject == "mill feed" and said.state == "parked" and "loses" in said.headline
    assert said.figures["flow"] == pytest.approx(r.line_flow("feed")[2])


@pytest.mark.parametrize(
    ("old", "new", "code", "hint"),
    [
        ("mill feed: grapple feed,", "mil feed: grapple feed,", "hook-up-half", "did you mean 'mill feed'?"),
        ("mill feed: grapple feed,", "mill feed: motor,", "hook-up-half", "coupler halves:"),
        ("looped: {mill feed: mill return}", "looped: {mill feed: mill feed}", "hook-up-half", "first in line"),
        ("hook-up: looped}", "hook-up: lopped}", "hook-up-unknown", "did you mean 'looped'?"),
        ("hook-up: grapple on", "hook-up: graple on", "hook-up-unknown", "did you mean 'grapple on'?"),
        ("hook-up: grapple on\n", "", "hook-up-which", "write 'hook-up:' in it"),
        ("parked: {}", "parked: [mill feed]", "value-form", "as {attachment on"),
    ],
)
def test_what_is_wrong_is_said(old, new, code, hint):
    assert old in RIG
    messages = language.read(RIG.replace(old, new, 1)).messages
    assert [m.code for m in messages] == [code], messages
    assert hint in messages[0].hint and messages[0].place.line > 1


def test_one_hook_up_alone_needs_no_name():
    text = RIG.replace("  looped: {mill feed: mill return}\n  parked: {}\nhook-up: grapple on\n", "")
    text = text[: text.index("  looped: {hook-up")]
    (state,) = language.read(text).circuit.states.values()
    assert state.hook_up == "grapple on" and state.mate("grapple return") == "mill return"


def test_the_page_says_what_a_fault_does(rig):
    table = next(t for t in rig.report.tables if t.key == "faults")
    outcome = {row[0].text: row[-1].text for row in table.rows}
    assert outcome["turning, grapple feed and grapple return exchanged"] == "motor: moves the other way"
    assert outcome["turning, mill feed apart from grapple feed"] == "motor: stands still"


def test_the_page_says_what_is_joined(rig):
    table = next(t for t in rig.report.tables if t.key == "states")
    assert "hook-up 'looped'" in table.rows[1][1].text


PARTED = """
machine: splitter with a grapple on two quick couplers
oil: {grade: ISO VG 46, temperature: 40 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}
  feed coupler: {kind: quick coupler, drop: 2 bar at 20 L/min, rating: 250 bar}
  return coupler: {kind: quick coupler, drop: 1 bar at 20 L/min, rating: 250 bar}
  motor: {kind: hydraulic motor, displacement: 80 cc/rev, volumetric efficiency: 100 %, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > feed coupler.A, bore: 12 mm, length: 1 m, rating: 225 bar}
  over: {route: feed at 0.5 m > relief.inlet, bore: 12 mm, length: 0.2 m, rating: 225 bar}
  relief return: {route: relief.outlet > tank, bore: 12 mm, length: 1 m, rating: 50 bar}
  out: {route: feed coupler.B > motor.A, bore: 12 mm, length: 1 m, rating: 225 bar}
  home: {route: motor.B > return coupler.A, bore: 12 mm, length: 1 m, rating: 225 bar}
  back: {route: return coupler.B > tank, bore: 19 mm, length: 1 m, rating: 50 bar}
states:
  turning: {loads: {motor: 20 N.m resisting}}
"""
EXCHANGED = "turning, feed coupler and return coupler exchanged"


def test_hoses_at_two_couplers_are_exchanged():
    """The pump then feeds the motor's B: it turns back as fast, 22.08 L/min over 80 cm3, and its A goes to the tank.
    Either crossed pair takes what its wider half takes, 2 bar at 20 L/min. That A and B of the couplers stand the one
    towards the machine, the other towards the grapple, makes no difference."""
    for text in (PARTED, PARTED.replace("> return coupler.A", "> return coupler.B").replace("return coupler.B > tank",
                                                                                            "return coupler.A > tank")):
        trial = faults.solve_with(solved(text).case)
        r = trial.case.results
        turning, crossed = (r.states.index(name) for name in ("turning", EXCHANGED))
        speed = r.speed("motor", "shaft")
        assert speed[turning] * 80e-6 / (2 * math.pi) * 6e4 == pytest.approx(10e-3 * 2400 * 0.92, rel=1e-4)
        assert speed[crossed] == pytest.approx(-speed[turning], rel=1e-4)
        drop = r.pressure("feed coupler", "A") - r.pressure("motor", "B") - r.dissipation("home") / r.line_flow("feed")
        assert drop[crossed] == pytest.approx(2e5 * (22.08 / 20) ** 2, rel=1e-3)


def test_couplers_that_fit_in_one_way_only_are_not_exchanged():
    text = PARTED.replace("drop: 2 bar at 20 L/min,", "drop: 2 bar at 20 L/min, declare: {one way: yes},")
    assert EXCHANGED not in [state.name for state in faults.states(solved(text).case).states]
