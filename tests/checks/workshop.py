"""What the tests of workshop machines share: small circuits, each of which once gave a wrong figure, a wrong cause, a
false alarm or no answer where a plain one exists. What is asserted was worked by hand. Data invented."""

from __future__ import annotations

from functools import cache

from builddoc.pipeline import Solved, solve_text
from builddoc.report.effect import effect

BAR, LPM = 1e5, 1 / 6e4

SUPPLY = """
  tank: {kind: reservoir, volume: 30 L}
  engine: {kind: engine, power: 11 hp at 3600 rpm, speed: 2600 rpm}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 2600 rpm, driven by: engine, rating: 250 bar}
"""
VALVE = """
  valve: {kind: directional valve, centre: open, spools: {lift: {ports in centre: to tank}}, rating: 210 bar,
          relief: {setting: 160 bar, override: 8 bar at 40 L/min}, tank port rating: 25 bar}
"""
FEED = """
  suction: {route: tank > pump.inlet, hose: suction, bore: 25.4 mm, length: 0.6 m}
  feed: {route: pump.outlet > valve.P, hose: two-wire, size: -8, length: 1 m}
  ret: {route: valve.T > tank, hose: one-wire, size: -12, length: 1 m}
"""
TIPPER = """
machine: tipper
parts:
  tank: {kind: reservoir, volume: 12 L}
  motor: {kind: DC motor, power: 2 kW, speed: 2600 rpm, voltage: 12 V, longest on time: 3 min}
  pump: {kind: pump, displacement: 2.5 cc/rev, speed: 2600 rpm, driven by: motor, rating: 230 bar}
  fork: {kind: tee, rating: 250 bar}
  relief: {kind: relief valve, setting: 170 bar, override: 4 bar at 8 L/min, rating: 250 bar}
  check: {kind: check valve, rating: 250 bar}
  ram: {kind: telescopic cylinder, rating: 250 bar,
        stages: [{bore: 85 mm, stroke: 450 mm}, {bore: 66 mm, stroke: 450 mm}, {bore: 48 mm, stroke: 450 mm}]}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  out: {route: pump.outlet > fork.run a, direct: yes}
  seat: {route: fork.branch > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  on: {route: fork.run b > check.inlet, direct: yes}
  up: {route: check.outlet > ram, tube: 12 x 1.5 mm, length: 2 m}
states:
  held: {speed: {motor: 0 rpm}, ram.stage: 1, loads: {ram: 60 kN compression}}
  too heavy: {ram.stage: 3, loads: {ram: 35 kN compression}}
"""
FORKS = f"""
machine: forks
parts: {SUPPLY} {VALVE}
  held: {{kind: counterbalance valve, setting: 110 bar, pilot ratio: 3:1, rating: 280 bar}}
  fork: {{kind: tee, rating: 210 bar}}
  left: {{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 500 mm, rating: 210 bar}}
  right: {{like: left}}
  cross: {{kind: tee, ports: 4, rating: 210 bar}}
lines: {FEED}
  up: {{route: valve.lift.A > held.V, hose: two-wire, size: -8, length: 1 m}}
  under: {{route: held.load > fork.run a, direct: yes}}
  left leg: {{route: fork.run b > left.cap, tube: 12 x 1.5 mm, length: 0.5 m}}
  right leg: {{route: fork.branch > right.cap, tube: 12 x 1.5 mm, length: 0.5 m}}
  left back: {{route: left.rod > cross.run a, hose: two-wire, size: -6, length: 1 m}}
  right back: {{route: right.rod > cross.run b, hose: two-wire, size: -6, length: 2 m}}
  down: {{route: cross.branch > valve.lift.B, hose: two-wire, size: -8, length: 1 m}}
  pilot: {{route: cross.branch b > held.pilot, hose: two-wire, size: -4, length: 0.5 m}}
ties:
  forks: {{parts: [left, right]}}
states:
  standing: {{loads: {{forks: 30 kN compression}}}}
  down: {{lift: B, loads: {{forks: 30 kN compression}}}}
"""
WINCH = f"""
machine: winch
oil: {{grade: ISO VG 46, temperature: 50 °C}}
parts: {SUPPLY} {VALVE}
  shock: {{kind: cross-port relief, relief of A: {{setting: 140 bar, override: 6 bar at 30 L/min}}, rating: 210 bar}}
  brake: {{kind: counterbalance valve, setting: 120 bar, pilot ratio: 4:1, rating: 280 bar}}
  fork: {{kind: tee, rating: 210 bar}}
  drum: {{kind: hydraulic motor, displacement: 200 cc/rev, case drain: yes, drain rating: 5 bar, rating: 200 bar}}
lines: {FEED}
  a: {{route: valve.lift.A > shock.A, hose: two-wire, size: -8, length: 1 m}}
  b: {{route: valve.lift.B > shock.B, hose: two-wire, size: -8, length: 1 m}}
  under: {{route: shock.motor A > brake.V, direct: yes}}
  drum a: {{route: brake.load > drum.A, direct: yes}}
  over: {{route: shock.motor B > fork.run a, direct: yes}}
  drum b: {{route: fork.run b > drum.B, direct: yes}}
  pilot: {{route: fork.branch > brake.pilot, hose: two-wire, size: -4, length: 0.3 m}}
  drain: {{route: drum.drain > tank, hose: one-wire, size: -4, length: 2 m}}
states:
  hanging: {{loads: {{drum: 250 N.m driving B to A}}}}
  hauling: {{lift: A, loads: {{drum: 250 N.m driving B to A}}}}
  snagged: {{lift: A, stopped: [drum]}}
"""


@cache
def solved(text: str) -> Solved:
    found = solve_text(text)
    assert found.ok, [m.text for m in found.messages]
    return found


def outcomes(text: str, rule: str, outcome: str = "finding"):
    return [f for f in solved(text).findings if f.rule == rule and f.outcome == outcome]


def cause(text: str, part: str, port: str, state: str) -> str:
    case = solved(text).case
    assert case is not None
    return effect(case, case.network.port_nodes[part, port], case.results.states.index(state))
