"""A velocity fuse that normal lowering would trip: the valve lets 30 L/min go at 10 bar under 63.66 bar, the fuse takes
3 bar at 40 L/min on the way."""

from __future__ import annotations

import pytest
from builddoc.pipeline import solve_text

TEXT = """
machine: hoist
oil: {grade: ISO VG 46, temperature: 40 °C}
parts:
  tank: {kind: reservoir, volume: 20 L}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 1450 rpm}
  valve: {kind: directional valve, centre: open, drop: 30 bar at 40 L/min, relief: 150 bar}
  fuse: {kind: velocity fuse, trip flow: %s, drop: 3 bar at 40 L/min}
  ram: {kind: single-acting cylinder, bore: 80 mm, stroke: 400 mm}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  feed: {route: pump.outlet > valve.P, direct: yes}
  lift: {route: valve.A > fuse.V, direct: yes}
  port: {route: fuse.load > ram.cap, direct: yes}
  home: {route: valve.T > tank, direct: yes}
plugged: [valve.B]
faults: no
states:
  lowering: {valve: B, loads: {ram: %s}}
"""


def outcome(trip: str, load: str = "32 kN compression"):
    solved = solve_text(TEXT % (trip, load))
    assert solved.ok, solved.messages
    (found,) = [f for f in solved.findings if f.rule == "fuse-would-trip"]
    return found


def test_limits():
    """32 kN / 50.27 cm2 = 63.66 bar = (30 + 3) bar (Q / 40)^2: Q = 55.56 L/min."""
    assert outcome("55.5 L/min").outcome == "finding"
    assert outcome("55.6 L/min").outcome == "ok"
    assert "55.6 L/min" in outcome("40 L/min").headline


def test_no_fuse_no_rule():
    text = TEXT.replace("  fuse: {kind: velocity fuse, trip flow: %s, drop: 3 bar at 40 L/min}\n", "")
    text = text.replace("valve.A > fuse.V", "valve.A > ram.cap")
    text = text.replace("  port: {route: fuse.load > ram.cap, direct: yes}\n", "")
    (found,) = [f for f in solve_text(text % "32 kN compression").findings if f.rule == "fuse-would-trip"]
    assert found.outcome == "does not apply"


@pytest.mark.parametrize("load", ["2 kN compression"])
def test_a_light_load_does_not_trip_it(load):
    assert outcome("40 L/min", load).outcome == "ok"
