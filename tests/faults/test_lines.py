"""Hoses that burst, tank ports that are capped, sleeves that are forgotten, engine speeds; what is excluded."""

from __future__ import annotations

import math

import pytest
from builddoc import faults, language
from builddoc.circuit import FAULTS
from builddoc.pipeline import Solved, solve_text

LIFT = """
machine: lift rig
oil: {grade: ISO VG 46, temperature: 40 °C}
FAULTS
parts:
  tank: {kind: reservoir, volume: 30 L}
  engine: {kind: engine, power: 10 hp at 3600 rpm, speed: 2400 rpm SPEEDS}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, driven by: engine, rating: 210 bar}
  first: {kind: directional valve, centre: open, spools: [lift], relief: 150 bar, rating: 210 bar, power beyond: yes}
  second: {kind: directional valve, centre: open, spools: [turn], rating: 210 bar}
  ram: {kind: cylinder, bore: 50 mm, rod: 30 mm, stroke: 400 mm, rating: 210 bar}
  motor: {kind: hydraulic motor, displacement: 80 cc/rev, case drain: no, rating: 175 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > first.P, bore: 12 mm, length: 1 m, rating: 225 bar}
  up: {route: first.lift.A > ram.cap, hose: two-wire, size: -6, length: 2 m}
  down: {route: first.lift.B > ram.rod, hose: two-wire, size: -6, length: 2 m}
  beyond: {route: first.PB > second.P, bore: 12 mm, length: 1 m, rating: 225 bar}
  out: {route: second.turn.A > motor.A, bore: 12 mm, length: 1 m, rating: 225 bar}
  back: {route: motor.B > second.turn.B, bore: 12 mm, length: 1 m, rating: 225 bar}
  return: {route: first.T > tank, bore: 19 mm, length: 1 m, rating: 50 bar}
  second return: {route: second.T > tank, bore: 19 mm, length: 1 m, rating: 50 bar}
states:
  holding: {loads: {ram: 20 kN compression}}
  lifting: {lift: A, loads: {ram: 20 kN compression}}
  turning: {turn: A, loads: {motor: 60 N.m resisting}}
"""


def solved(faults: str = "", speeds: str = "") -> Solved:
    found = solve_text(LIFT.replace("FAULTS", faults).replace("SPEEDS", speeds))
    assert found.ok, found.messages
    return found


@pytest.fixture(scope="module")
def rig() -> Solved:
    return solved()


@pytest.fixture(scope="module")
def trial(rig: Solved) -> faults.Trial:
    return faults.solve_with(rig.case)


def at(trial: faults.Trial, name: str) -> int:
    assert name in trial.names, trial.names
    return trial.case.results.states.index(name)


def test_burst_hose_by_hand(trial):
    """No oil can follow on the rod side (12.57 cm2), which sinks to -0.9 bar; 20 kN then put the cap (19.63 cm2) at
    (2e4 - 0.9e5 x 12.57e-4) / 19.63e-4 = 101.3 bar. It is spent on the metre of hose from the ram to the tear and on
    the jet itself: dp = (f L/d + 1) rho v2/2, smooth and turbulent, with the formula of Blasius, f = 0.3164 Re^-1/4
    (fluid mechanics textbooks); v by bisection. Without friction it would be sqrt(2 p / rho) = 153 m/s; no tear is so
    short that oil gets faster than that (Torricelli)."""
    r = trial.case.results
    s = at(trial, "holding, up burst")
    cap, ring = math.pi / 4 * 0.05**2, math.pi / 4 * (0.05**2 - 0.03**2)
    p = (20e3 - 0.9e5 * ring) / cap
    assert r.pressure("ram", "cap")[s] == pytest.approx(p, rel=1e-3)
    bore = trial.case.circuit.lines["up"].conduit.bore
    low, high = 0.1, 200.0
    for _ in range(60):
        v = (low + high) / 2
        f = 0.3164 / (v * bore / r.nu[s]) ** 0.25
        low, high = (v, high) if (f * 1.0 / bore + 1.0) * r.rho[s] * v * v / 2 < p else (low, v)
    flow = v * math.pi / 4 * bore**2
    assert -r.speed("ram", "rod")[s] * cap == pytest.approx(flow, rel=0.05)
    assert -r.speed("ram", "rod")[s] > 0.5


def test_a_jet_is_no_faster_than_its_pressure_can_drive_it():
    """0.2 m of -8 hose, torn in the middle, under 70 kN on 80 mm: friction alone, f L/d = 0.13, would let the oil out
    at 2.8 times sqrt(2 p / rho)."""
    text = (
        LIFT.replace("FAULTS", "").replace("SPEEDS", "").replace("size: -6, length: 2 m", "size: -8, length: 0.2 m")
        .replace("bore: 50 mm, rod: 30 mm", "bore: 80 mm, rod: 30 mm").replace("20 kN", "70 kN")
    )  # fmt: skip
    r = faults.solve_with(solve_text(text).case).case.results
    s = r.states.index("holding, up burst")
    p, area = r.pressure("ram", "cap")[s], math.pi / 4 * 0.08**2
    v = -r.speed("ram", "rod")[s] * area / (math.pi / 4 * 0.0127**2)
    assert 0.8 < v / math.sqrt(2 * p / r.rho[s]) < 1.0


def test_burst_is_told_once_with_its_speed(rig):
    (found,) = [f for f in rig.findings if f.rule == "fault-load-falls" and f.outcome == "finding"]
    assert found.subject == "ram" and found.signal == "WARNING"  # the load stays while the ram is held: a weight
    assert "up" in found.text and "m/s" in found.headline
    assert not [f for f in rig.findings if f.rule == "fault-load-falls" and f.outcome != "finding"]


def test_forgotten_sleeve_starves_the_second_valve(trial):
    """The oil goes to T inside the first valve; the motor stands."""
    r = trial.case.results
    s = at(trial, "turning, first sleeve forgotten")
    assert r.speed("motor", "shaft")[r.states.index("turning")] > 10
    assert r.speed("motor", "shaft")[s] == pytest.approx(0, abs=1e-6)


def test_capped_tank_port(trial, rig):
    """While lifting, the oil that leaves the rod side cannot get out of T. The pressure there rises until the cap side
    reaches the relief, which ends in the same T: nothing is left for the pump."""
    s = at(trial, "lifting, first.T capped")
    assert not trial.case.results.solved[s]
    (found,) = [f for f in rig.findings if f.rule == "state-unsolved" and "first.T capped" in f.state]
    assert "With first.T capped" in found.headline and found.signal == "WARNING"
    table = next(t for t in rig.report.tables if t.key == "faults")
    row = next(row for row in table.rows if row[0].text == "lifting, first.T capped")
    assert "no way out" in row[-1].text and row[1].flag == "failed"


def test_engine_speeds_are_tried_or_said_to_be_missing(rig):
    (said,) = [f for f in rig.findings if f.rule == "fault-engine-speed"]
    assert said.outcome == "not checked" and "'idle:'" in said.missing
    full = solved(speeds=", idle: 1200 rpm, high idle: 3750 rpm")
    trial = faults.solve_with(full.case)
    r = trial.case.results
    slow, fast = (r.source_flow("pump")[at(trial, f"lifting, engine at {w}")] for w in ("idle speed", "high idle"))
    assert fast / slow == pytest.approx(3750 / 1200, rel=0.02)  # a little slip
    assert not [f for f in full.findings if f.rule == "fault-engine-speed" and f.outcome == "not checked"]


def test_excluded_faults_are_printed_with_their_reason():
    found = solved("faults: {exclude: {burst hoses: steel tube is on order, turning: never alone}}")
    trial = faults.solve_with(found.case)
    assert not [n for n in trial.names if "burst" in n or n.startswith("turning")]
    table = next(t for t in found.report.tables if t.key == "faults")
    last = {row[0].text: row for row in table.rows[-2:]}
    assert last["burst hoses"][-1].text == "excluded: steel tube is on order"
    assert last["turning"][0].note.startswith("not tried in ")


def test_wrong_exclusion_is_said():
    text = LIFT.replace("FAULTS", "faults: {exclude: {burst hose: none here}}").replace("SPEEDS", "")
    (message,) = language.read(text).messages
    assert message.code == "fault-unknown" and "did you mean 'burst hoses'?" in message.hint


def test_the_envelope_and_the_list_can_be_hidden():
    found = solve_text(LIFT.replace("FAULTS", "show: {hide: [envelope, faults]}").replace("SPEEDS", ""))
    assert {"envelope", "faults"} <= set(found.report.hidden)


def test_every_sort_of_fault_is_tried_where_there_is_something_to_try():
    """The lift rig with an unloader, a return filter and its motor on two couplers; each sort is then excluded by name,
    which leaves it out and keeps the others."""
    changed = LIFT.replace("temperature: 40 °C}", "temperature: 40 °C, coldest start: -10 °C}")
    for old, new in (
        ("{kind: pump, displacement: 10 cc/rev,",
         "{kind: two-stage pump, large stage: 8 cc/rev, small stage: 2 cc/rev, unloads at: 40 bar,"),
        ("case drain: no, rating: 175 bar}",
         "case drain: no, rating: 175 bar}\n  one: {kind: quick coupler}\n  two: {kind: quick coupler}\n"
         "  filter: {kind: filter, rating: 10 bar}"),
        ("second.turn.A > motor.A,", "second.turn.A > one.A,"),
        ("motor.B > second.turn.B,", "two.B > second.turn.B,"),
        ("second.T > tank,", "second.T > filter.inlet,"),
        ("\nstates:", "\n  to motor: {route: one.B > motor.A, bore: 12 mm, length: 1 m}\n"
         "  from motor: {route: motor.B > two.A, bore: 12 mm, length: 1 m}\n"
         "  last: {route: filter.outlet > tank, bore: 19 mm, length: 0.3 m}\nstates:"),
    ):  # fmt: skip
        assert changed.count(old) == 1, old
        changed = changed.replace(old, new)
    changed = changed.replace("SPEEDS", ", idle: 1000 rpm, high idle: 3000 rpm")

    def tried(written: str) -> set[str]:
        made = solve_text(changed.replace("FAULTS", written))
        assert made.ok, made.messages
        return {state.tried.sort for state in faults.states(made.case, limit=1000).states}

    assert tried("") == set(FAULTS)
    for sort in FAULTS:
        assert tried(f"faults: {{exclude: {{{sort}: looked at by hand}}}}") == set(FAULTS) - {sort}, sort
