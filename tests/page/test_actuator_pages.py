"""A machine with every kind of actuator, rendered as a reader gets it. Invented."""

from __future__ import annotations

import builddoc
import pytest

TEXT = """
machine: tipping trailer (invented)
oil: {grade: ISO VG 46, temperature: 45 °C, coldest start: -5 °C}
parts:
  tank: {kind: reservoir, volume: 60 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 1500 rpm, rating: 250 bar}
  relief: {kind: relief valve, setting: 160 bar, rating: 250 bar}
  block: {kind: manifold block, ports: [feed, guard, store, tip, gate], rating: 250 bar}
  bottle: {kind: accumulator, volume: 1 L, precharge: 30 bar, gas temperature: 45 °C, rating: 250 bar}
  tip tap: {kind: shut-off valve, rating: 250 bar}
  gate tap: {kind: shut-off valve, rating: 250 bar}
  coupler: {kind: quick coupler, valves: A, rating: 250 bar}
  ram:
    kind: telescopic cylinder
    rating: 200 bar
    stages: [{bore: 90 mm, stroke: 500 mm}, {bore: 70 mm, stroke: 500 mm}]
  front: {kind: cylinder, bore: 63 mm, rod: 38.3 mm, stroke: 300 mm, rephasing: extended, rating: 200 bar}
  rear: {kind: cylinder, bore: 50 mm, rod: 30 mm, stroke: 300 mm, rating: 200 bar}
  strainer: {kind: return filter, drop: 1 bar at 15 L/min, indicator: 1.2 bar, bypass: 2 bar, rating: 10 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > block.feed, direct: yes}
  guard: {route: block.guard > relief.inlet, direct: yes}
  over: {route: relief.outlet > strainer.inlet, direct: yes}
  back: {route: strainer.outlet > tank, bore: 19 mm, length: 1 m}
  store: {route: block.store > bottle, direct: yes}
  to tip: {route: block.tip > tip tap, direct: yes}
  tip hose: {route: tip tap > coupler.A, hose: two-wire, bore: 12.7 mm, length: 1 m, rating: 225 bar}
  trailer: {route: coupler.B > ram.cap, hose: two-wire, bore: 12.7 mm, length: 3 m, rating: 225 bar}
  to gate: {route: block.gate > gate tap, direct: yes}
  gate front: {route: gate tap > front.cap, bore: 9.5 mm, length: 1 m, rating: 225 bar}
  between: {route: front.rod > rear.cap, bore: 9.5 mm, length: 1 m, rating: 225 bar}
  gate back: {route: rear.rod > tank, bore: 12.7 mm, length: 1 m, rating: 225 bar}
ties: {gate: {parts: [front, rear], rigid: no, compare: {far: {between: 6 m}}}}
states:
  first stage: {gate tap: shut, loads: {ram: 50 kN compression}}
  second stage: {gate tap: shut, ram.stage: 2, loads: {ram: 35 kN compression}}
  gate: {tip tap: shut, loads: {rear: 4 kN compression}}
  gate, front at its stop: {tip tap: shut, at stop: {front: extended}, loads: {rear: 4 kN compression}}
  parked: {tip tap: shut, gate tap: shut, coupler: open, at stop: {ram: retracted}}
"""


@pytest.fixture(scope="module")
def html() -> str:
    made = builddoc.render(TEXT)
    assert not [m for m in made.messages if m.level == "error"]
    return made.html


@pytest.mark.parametrize(
    "words",
    ["Cylinders side by side", "Where the tee sits", "Oil that is shut in", "Accumulators", "stage 2 of 2"],
)
def test_a_table_stands_on_the_page(html, words):
    assert words in html


def test_every_state_has_figures(html):
    assert "no figures" not in html and "not converged" not in html
