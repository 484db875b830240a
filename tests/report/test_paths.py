"""The steps from the pump to the tank: they join, they end at nothing, and the load stands among them."""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text
from builddoc.report.model import PressurePath

BAR = 1e5
TEXT = """
machine: splitter
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 100 %}
  valve: {kind: directional valve, centre: open, spools: [ram], relief: {setting: 150 bar, override: 4 bar at 24 L/min},
          drop: 6 bar at 24 L/min, load checks: no}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  feed: {route: pump.outlet > valve.P, direct: yes}
  out: {route: valve.ram.A > ram.cap, direct: yes}
  back: {route: valve.ram.B > ram.rod, direct: yes}
  return: {route: valve.T > tank, direct: yes}
states:
  pushing: {ram: A, loads: {ram: 20 kN compression}}
  at its stop: {ram: A, at stop: {ram: extended}}
"""


@pytest.fixture(scope="module")
def paths() -> dict[str, PressurePath]:
    solved = solve_text(TEXT)
    assert solved.report is not None, solved.messages
    return {path.state: path for path in solved.report.paths}


def test_pushing_worked_by_hand(paths):
    """24 L/min into 19.635 cm2; rod side 13.477 cm2 gives back 16.47 L/min, which costs 6 (16.47/24)^2 = 2.827 bar.
    Cap: 20 kN / 19.635 cm2 + 2.827 x 13.477/19.635 = 101.86 + 1.94 = 103.80 bar; pump: 6 bar more."""
    valve_in, ram, valve_out = paths["pushing"].steps
    assert [step.label for step in paths["pushing"].steps] == ["valve", "ram", "valve"]
    assert valve_in.before == pytest.approx(109.80 * BAR, rel=1e-3)
    assert (ram.before, ram.after) == (pytest.approx(103.80 * BAR, rel=1e-3), pytest.approx(2.827 * BAR, rel=1e-3))
    assert ram.work and not valve_in.work
    assert valve_out.drop == "2.83 bar"


def test_at_the_stop_all_of_it_falls_at_the_relief(paths):
    (relief,) = paths["at its stop"].steps
    assert (relief.label, relief.work) == ("valve", False)
    assert relief.before == pytest.approx(154 * BAR) and relief.after == 0


def test_steps_join_and_end_in_the_tank(paths):
    for path in paths.values():
        for one, two in zip(path.steps, path.steps[1:], strict=False):
            assert one.after == two.before
        assert path.steps[-1].after == 0


def test_idling_takes_the_open_centre_and_a_failed_state_has_no_steps():
    solved = solve_text(TEXT.replace("  pushing: {", "  standing: {oil temperature: 20 °C}\n  pushing: {"))
    assert solved.report is not None
    standing = [path for path in solved.report.paths if path.state == "standing"]
    assert [step.label for step in standing[0].steps] == ["valve"]  # the open centre alone
    closed = solve_text(TEXT.replace("relief: {setting: 150 bar, override: 4 bar at 24 L/min},", ""))
    assert closed.report is not None
    assert "at its stop" not in {path.state for path in closed.report.paths}  # no figures there, so no steps
