"""Workshop machines: reliefs, dividers and drivers that limit what is done, which state is told, heat."""

from __future__ import annotations

import math

import pytest
from builddoc.checks import heat
from builddoc.checks.words import ratio
from builddoc.report.cells import share

from .workshop import BAR, FEED, FORKS, SUPPLY, TIPPER, VALVE, WINCH, outcomes, solved

# ---------------------------------------------------------------- reliefs that do not limit what the pump does
STEERED = f"""
machine: dumper
parts: {SUPPLY} {VALVE.replace("{lift: {ports in centre: to tank}}", "[tip]")}
  priority: {{kind: priority divider, set flow: 10 L/min, metering drop: 7 bar, excess port takes pressure: yes,
              rating: 210 bar}}
  wheel: {{kind: steering unit, displacement: 80 cc/rev, centre: open, port reliefs: 150 bar, make up: yes,
           relief: {{setting: 90 bar, override: 5 bar at 15 L/min}}, rating: 175 bar, tank port rating: 20 bar}}
  steered: {{kind: cylinder, bore: 40 mm, rod: 20 mm, stroke: 220 mm, rating: 175 bar}}
  tip: {{kind: cylinder, bore: 70 mm, rod: 40 mm, stroke: 400 mm, rating: 210 bar}}
  home: {{kind: tee, rating: 60 bar}}
lines:
  suction: {{route: tank > pump.inlet, hose: suction, bore: 25.4 mm, length: 0.6 m}}
  feed: {{route: pump.outlet > priority.inlet, hose: two-wire, size: -8, length: 1 m}}
  controlled: {{route: priority.controlled > wheel.P, hose: two-wire, size: -6, length: 1.5 m}}
  excess: {{route: priority.excess > valve.P, hose: two-wire, size: -8, length: 1 m}}
  left: {{route: wheel.L > steered.cap, hose: two-wire, size: -6, length: 2 m}}
  right: {{route: wheel.R > steered.rod, hose: two-wire, size: -6, length: 2 m}}
  wheel home: {{route: wheel.T > home.run a, hose: one-wire, size: -8, length: 1.5 m}}
  up: {{route: valve.tip.A > tip.cap, hose: two-wire, size: -8, length: 2 m}}
  down: {{route: valve.tip.B > tip.rod, hose: two-wire, size: -8, length: 2 m}}
  valve home: {{route: valve.T > home.run b, hose: one-wire, size: -12, length: 0.5 m}}
  return: {{route: home.branch > tank, hose: one-wire, size: -12, length: 0.5 m}}
states:
  tipping: {{tip: A, stopped: [steered], loads: {{tip: 45 kN compression}}}}
  at lock: {{wheel: 60 rpm left, at stop: {{steered: extended}}}}
"""


def test_a_relief_on_the_priority_side_does_not_limit_the_rest():
    """45 kN on 38.5 cm2: 117 bar while tipping, from the excess port, whose relief is set to 160 bar. That of the
    wheel, 90 bar, stands behind the divider's orifice at less than 1 bar then."""
    assert not outcomes(STEERED, "relief-working-margin")
    (found,) = outcomes(STEERED, "relief-working-margin", "ok")
    assert found.figures["setting"] == 160 * BAR
    ladder = next(t for t in solved(STEERED).report.tables if t.key == "ladder")
    assert not [row for row in ladder.rows if "out of order" in row[-1].text]


def test_reliefs_of_opposite_ports_do_not_compete():
    assert not outcomes(STEERED, "relief-order")  # 150 bar at L, 150 at R, 160 in the valve that neither meets
    (found,) = outcomes(WINCH, "relief-order")  # 140 bar at the drum's side A and 160 in the valve do
    assert "shock.A" in found.headline and "the relief in valve" in found.headline


def test_of_a_cross_port_pair_only_the_side_with_pressure_is_asked_to_open():
    """Hauling, side A stands at 90 bar and B at the tank's: what is before B's relief is no reason for it to open."""
    assert not outcomes(WINCH, "relief-outlet-backpressure")


# ---------------------------------------------------------------- dividers
DIVIDED = f"""
machine: bale lift
parts: {SUPPLY} {VALVE.replace("{lift: {ports in centre: to tank}}", "[lift]")}
  divider: {{kind: flow divider, sections: [8 cc/rev, 8 cc/rev], turning loss: 6 bar, leakage: 0.3 L/min at 100 bar,
             rating: 350 bar}}
  left: {{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 500 mm, rating: 350 bar}}
  right: {{like: left}}
  cross: {{kind: tee, rating: 210 bar}}
lines: {FEED}
  up: {{route: valve.lift.A > divider.inlet, hose: two-wire, size: -8, length: 1 m}}
  left leg: {{route: divider.A > left.cap, hose: two-wire, size: -6, length: 1 m}}
  right leg: {{route: divider.B > right.cap, hose: two-wire, size: -6, length: 2 m}}
  left back: {{route: left.rod > cross.run a, hose: two-wire, size: -6, length: 1 m}}
  right back: {{route: right.rod > cross.run b, hose: two-wire, size: -6, length: 2 m}}
  down: {{route: cross.branch > valve.lift.B, hose: two-wire, size: -8, length: 1 m}}
states:
  idling: {{}}
  lifting: {{lift: A, loads: {{left: 15 kN compression, right: 15 kN compression}}}}
  left at its stop: {{lift: A, at stop: {{left: extended}}}}
"""


def test_a_divider_that_gets_no_oil_is_not_blocked():
    """Idling, all of the oil goes through the open centre, past the divider: at 1 bar, not over the relief."""
    for found in outcomes(DIVIDED, "split-excess-deadhead"):
        assert found.state != "idling" and "stop" in found.headline
    assert len(outcomes(DIVIDED, "split-excess-deadhead")) == 2


def test_a_rod_behind_a_divider_is_pressed_with_more_than_the_pump_gives():
    """Right runs free: left gets twice the inlet's 163 bar less the turning loss, 2 x (163 - 6) x 19.63 cm2 = 61.6 kN.
    Its 28 mm rod takes pi^2 E I / L^2 / 3.5 = 17.9 kN with pins 1 m apart. (The pump alone: 32 kN.)"""
    (found,) = outcomes(DIVIDED, "cyl-buckling")
    assert (found.subject, found.state) == ("left", "left at its stop")
    assert found.figures["push"] == pytest.approx(61.7e3, rel=0.01)
    assert found.figures["allowed"] == pytest.approx(17.9e3, rel=0.01)


OUTSIDE = f"""
machine: boom
parts: {SUPPLY} {VALVE.replace("{lift: {ports in centre: to tank}}", "[lift]")}
  boom: {{kind: cylinder, bore: 70 mm, rod: 32 mm, stroke: 500 mm, rating: 350 bar, outside push: 90 kN}}
lines: {FEED}
  up: {{route: valve.lift.A > boom.cap, hose: two-wire, size: -6, length: 2 m}}
  down: {{route: valve.lift.B > boom.rod, hose: two-wire, size: -6, length: 2 m}}
states:
  lifting: {{lift: A, loads: {{boom: 20 kN compression}}}}
"""


def test_a_push_from_outside_bends_a_rod_too():
    """160 bar on 38.5 cm2 are 61.6 kN; 90 kN come from outside. A port relief of 180 bar lets it go in at 69.3 kN."""
    (found,) = outcomes(OUTSIDE, "cyl-buckling")
    assert found.figures["push"] == 90e3 and "from outside" in found.headline
    relieved = OUTSIDE.replace("spools: [lift]", "spools: {lift: {port reliefs: {A: 180 bar}}}")
    (found,) = outcomes(relieved, "cyl-buckling")
    assert found.figures["push"] == pytest.approx(180e5 * math.pi / 4 * 0.07**2, rel=1e-6)


# ---------------------------------------------------------------- drivers
def test_a_battery_motor_gives_nothing_for_hours():
    """173 bar x 2.5 cm3 x 2600 rpm / 0.9 = 2.08 kW of its 2 kW, which it has for minutes."""
    (found,) = outcomes(TIPPER, "power-engine")
    assert "2 kW for its on-time: 104 %" in found.headline
    (tile,) = [f for f in solved(TIPPER).report.key_figures if f.label == "Load of motor"]
    assert "for hours" not in tile.note and "for its on-time" in tile.note


# ---------------------------------------------------------------- which state is told
DROPPED = f"""
machine: boom
parts: {SUPPLY} {VALVE.replace("{lift: {ports in centre: to tank}}", "{lift: {port reliefs: {A: 190 bar}}}")}
  boom: {{kind: cylinder, bore: 70 mm, rod: 50 mm, stroke: 500 mm, rating: 250 bar}}
lines: {FEED}
  up: {{route: valve.lift.A > boom.cap, hose: two-wire, size: -6, length: 2 m}}
  down: {{route: valve.lift.B > boom.rod, hose: two-wire, size: -6, length: 2 m}}
states:
  lowering: {{lift: B, loads: {{boom: 20 kN compression}}}}
  hit: {{loads: {{boom: 90 kN compression}}}}
"""


def test_the_state_of_a_load_is_the_one_in_which_it_is_there():
    (found,) = outcomes(DROPPED, "load-no-holding")
    assert "90 kN" in found.headline and found.state == "hit"


def test_a_stall_is_no_rest():
    """The drum is snagged, with the oil over the relief; idling, its leakage lets the drum creep and the pump turns at
    next to nothing."""
    text = WINCH.replace("states:", "states:\n  idling: {}").replace("volume: 30 L", "volume: 30 L, cooling area: 1 m2")
    (found,) = outcomes(text, "temp-steady", "ok")
    assert found.state == "idling"
    stalled = text.replace("  idling: {}\n", "").replace("  hanging: {loads: {drum: 250 N.m driving B to A}}\n", "")
    assert not outcomes(stalled, "temp-steady")
    assert "at rest" in outcomes(stalled, "temp-steady", "not checked")[0].missing


def test_a_load_that_falls_heats_for_a_stroke_only():
    """90 kN on 38.5 cm2 open the port relief at 190 bar: 20 kW, for the two seconds of the stroke. What warms the oil
    for minutes is the stall, 19.1 L/min at 164 bar: 5.2 kW, and 6.3 with what the pump loses."""
    text = DROPPED + "  stalled: {lift: A, at stop: {boom: extended}}\n"
    (tile,) = [f for f in solved(text).report.key_figures if f.label == "Heat into the oil"]
    assert "'stalled'" in tile.note and float(tile.text) == pytest.approx(6.3, abs=0.1)
    (found,) = outcomes(text, "relief-heat")
    assert found.state == "stalled" and found.figures["heat"] == pytest.approx(5.2e3, rel=0.02)


REGEN = f"""
machine: regenerative press
parts: {SUPPLY} {VALVE.replace("{lift: {ports in centre: to tank}}", "[lift]")}
  way: {{kind: selector valve, ports: 3, rating: 250 bar}}
  fork: {{kind: tee, rating: 250 bar}}
  ram: {{kind: cylinder, bore: 125 mm, rod: 90 mm, stroke: 400 mm, rating: 250 bar}}
lines: {FEED}
  cap: {{route: valve.lift.A > fork.run a, hose: two-wire, size: -8, length: 1 m}}
  to cap: {{route: fork.run b > ram.cap, direct: yes}}
  round: {{route: fork.branch > way.A, hose: two-wire, size: -8, length: 0.5 m}}
  rod: {{route: ram.rod > way.C, hose: two-wire, size: -8, length: 0.5 m}}
  back: {{route: way.B > valve.lift.B, hose: two-wire, size: -8, length: 1 m}}
states:
  stalled: {{lift: A, way: A, at stop: {{ram: held}}}}
"""


def test_a_stalled_ram_in_regeneration_pushes_with_its_rod():
    """Both sides stand at the relief's 160 + 8 x 19.1 / 40 = 163.8 bar at least, on the 63.6 cm2 of the rod: 104 kN."""
    table = next(t for t in solved(REGEN).report.tables if t.key == "actuators")
    (row,) = [[cell.text for cell in row] for row in table.rows]
    assert row[4].startswith("≥") and float(row[4][2:]) == pytest.approx(104, abs=1)


HILO = """
machine: high and low
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: tandem pump, sections: [8 cc/rev, 3 cc/rev], speed: 2800 rpm, rating: 210 bar}
  low: {kind: tee, rating: 250 bar}
  low relief: {kind: relief valve, setting: 140 bar, override: 5 bar at 30 L/min, rating: 250 bar}
  unloader: {kind: unloading valve, setting: 60 bar, check: yes, rating: 280 bar}
  high: {kind: tee, ports: 4, rating: 250 bar}
  high relief: {kind: relief valve, setting: 190 bar, override: 5 bar at 10 L/min, rating: 250 bar}
  valve: {kind: directional valve, centre: open, spools: [push], rating: 250 bar, tank port rating: 30 bar}
  ram: {kind: cylinder, bore: 80 mm, rod: 45 mm, stroke: 500 mm, rating: 150 bar, needed push: 75 kN}
  home: {kind: tee, ports: 4, rating: 60 bar}
lines:
  suction: {route: tank > pump.inlet, hose: suction, bore: 25.4 mm, length: 0.5 m}
  low feed: {route: pump.A > low.run a, hose: two-wire, size: -8, length: 0.4 m}
  low seat: {route: low.branch > low relief.inlet, direct: yes}
  low over: {route: low relief.outlet > tank, hose: one-wire, size: -8, length: 0.5 m}
  low on: {route: low.run b > unloader.P, direct: yes}
  unloaded: {route: unloader.T > home.run a, hose: one-wire, size: -8, length: 0.4 m}
  joined: {route: unloader.A > high.run a, direct: yes}
  high feed: {route: pump.B > high.run b, hose: two-wire, size: -6, length: 0.4 m}
  high seat: {route: high.branch > high relief.inlet, direct: yes}
  high over: {route: high relief.outlet > home.branch, hose: one-wire, size: -6, length: 0.4 m}
  feed: {route: high.branch b > valve.P, hose: two-wire, size: -8, length: 0.4 m}
  cap: {route: valve.push.A > ram.cap, hose: two-wire, size: -8, length: 1 m}
  rod: {route: valve.push.B > ram.rod, hose: two-wire, size: -8, length: 1 m}
  valve home: {route: valve.T > home.run b, hose: one-wire, size: -12, length: 0.4 m}
  return: {route: home.branch b > tank, hose: one-wire, size: -12, length: 0.6 m}
states:
  slow: {push: A, loads: {ram: 60 kN compression}}
"""


def test_of_two_pumps_the_one_that_goes_highest_gives_the_force():
    """The small pump goes to 190 bar, behind the check that parts it from the large one and its 140: 0.85 x 190 bar x
    50.27 cm2 x 0.95 = 77.1 kN. Its work port bears 150."""
    (found,) = outcomes(HILO, "cyl-force-short", "ok")
    assert found.figures["force"] == pytest.approx(77.1e3, rel=1e-3)
    ladder = next(t for t in solved(HILO).report.tables if t.key == "ladder")
    assert not [row for row in ladder.rows if "more than its relief" in row[-1].text]
    secondary = outcomes(HILO, "relief-secondary-missing")
    assert [f.figures["pressure"] for f in secondary] == [190 * BAR] * 2


def test_each_outlet_of_a_pump_is_named():
    """Without a gauge there are two places to fit one."""
    assert sorted(f.headline.split()[-1] for f in outcomes(HILO, "gauge-points")) == ["pump.A", "pump.B"]


def test_a_pilot_is_measured_by_the_relief_that_feeds_it():
    """The wheel's relief of 30 bar is no limit for the pilot of the valve under the forks, which the valve's 160 is."""
    wheel = "  wheel: {kind: steering unit, displacement: 80 cc/rev, centre: open, relief: 30 bar, rating: 175 bar}\n"
    priority = "  first: {kind: priority divider, set flow: 8 L/min, excess port takes pressure: yes, rating: 9 MPa}\n"
    lines = (
        "  feed: {route: pump.outlet > first.inlet, hose: two-wire, size: -8, length: 1 m}\n"
        "  to valve: {route: first.excess > valve.P, hose: two-wire, size: -8, length: 1 m}\n"
        "  to wheel: {route: first.controlled > wheel.P, hose: two-wire, size: -8, length: 1 m}\n"
        "  wheel home: {route: wheel.T > tank, hose: one-wire, size: -8, length: 1 m}\n"
    )
    before = "  feed: {route: pump.outlet > valve.P, hose: two-wire, size: -8, length: 1 m}\n"
    assert before in FORKS
    text = FORKS.replace(before, lines).replace("lines:", f"{wheel}{priority}lines:", 1)
    text = text.replace("ties:", "plugged: [wheel.L, wheel.R]\nties:").replace("setting: 110 bar", "setting: 170 bar")
    (found,) = outcomes(text, "load-cbv-setting", "ok")  # (170 - 76 + 4 x what is behind it) / 3 = 32 bar and more
    assert 30 * BAR < found.figures["pilot"] < 50 * BAR


def test_just_over_is_told_as_such():
    """2.08 kW of 2 are 104 % in the finding, the tile and the table; 105 % is not 1.1 times, and 1.02 not 1.0."""
    assert (ratio(1.024), ratio(1.12), ratio(7.34), ratio(0.9)) == ("1.02 times", "1.1 times", "7.3 times", "0.9 times")
    assert (share(1.052).text, share(1.12).text, share(0.46).text) == ("105 %", "1.1×", "46 %")


# ---------------------------------------------------------------- heat where a pressure is open
REEL = f"""
machine: reel
parts:
  tank: {{kind: reservoir, volume: 30 L, cooling area: 1 m2}}
  pump: {{kind: pump, displacement: 8 cc/rev, speed: 2600 rpm, rating: 250 bar}}
  valve: {{kind: directional valve, centre: open, spools: {{reel: {{make up: yes}}}}, rating: 210 bar,
          relief: {{setting: 160 bar, override: 8 bar at 40 L/min}}, tank port rating: 25 bar}}
  reel: {{kind: hydraulic motor, displacement: 100 cc/rev, leakage: 1.2 L/min at 100 bar, mechanical efficiency: 88 %,
         rating: 175 bar}}
lines: {FEED}
  a: {{route: valve.reel.A > reel.A, hose: two-wire, size: -8, length: 2 m}}
  b: {{route: valve.reel.B > reel.B, hose: two-wire, size: -8, length: 2 m}}
states:
  runs on: {{loads: {{reel: 40 N.m driving A to B}}}}
"""


def test_heat_is_known_where_only_the_level_of_a_pressure_is_open():
    """The load turns the shut-in motor against its leakage: (40 - 5.45) N m x 2 pi / 100 cm3 = 21.7 bar, 0.26 L/min and
    2.6 rpm, so it gives 11 W; with what the pump takes through the open centre that is the heat. (It was told as none,
    with an oil that settles at 20 °C.)"""
    table = next(t for t in solved(REEL).report.tables if t.key == "actuators" or t.key == "motors")
    (row,) = [[cell.text for cell in row] for row in table.rows]
    assert row[4] == "−40" and float(row[3]) == pytest.approx(2.6, abs=0.05)
    case = solved(REEL).case
    assert case is not None
    ((watts, _),) = heat.warmings(case)
    pump = float(heat.demands(case)[0].power[0])
    assert pump > 20 and watts == pytest.approx(pump + 40 * 2.605 * 2 * math.pi / 60, rel=1e-2)


def test_tied_rods_at_a_stop_and_on_shut_in_oil_have_figures():
    """At the stop each piston of 19.63 cm2 gives 163.8 bar: 32.2 kN, shut in. 30 kN on both with the rod sides shut may
    draw these down to -0.9 bar, which takes 0.9 x 13.48 / 19.63 = 0.6 bar off the 76.4 below."""
    text = FORKS.replace("standing:", "stop: {lift: A, at stop: {forks: extended}}\n  standing:")
    text = text.replace("{lift: {ports in centre: to tank}}", "[lift]")
    table = next(t for t in solved(text).report.tables if t.key == "actuators")
    (force,) = [row[4].text for row in table.rows if (row[0].text, row[1].text) == ("left", "stop")]
    assert force.startswith("≥") and float(force[2:]) == pytest.approx(32.1, abs=0.2)
    (found,) = outcomes(text, "load-induced-pressure")
    assert found.figures["pressure"] == pytest.approx(75.8 * BAR, rel=1e-3)
