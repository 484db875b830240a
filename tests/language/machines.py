"""Circuits that are right, for the tests of the language. All machines are invented."""

SPLITTER = """\
machine: log splitter
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm}
  relief: {kind: relief valve, setting: 150 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 19 mm, length: 1 m}
  feed: {route: pump.outlet > relief.inlet, bore: 12 mm, length: 1 m}
  back: {route: relief.outlet > tank, bore: 12 mm, length: 1 m}
"""

MILL = """\
machine: bandsaw mill
revision: B
title: The lifter and the clamp
date: 2025-05-18
oil: {grade: ISO VG 46, temperature: 45 °C, coldest start: -10 °C}
ambient: 68 °F
units: metric, then US
defaults:
  hose: {rating: 215 bar}
  pump: {mechanical efficiency: 88 %}
parts:
  tank: {kind: reservoir, volume: 30 L, cooling area: 0.75 m2}
  engine: {kind: engine, power: 16 hp at 3600 rpm}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, driven by: engine, rating: 210 bar}
  bank:
    kind: directional valve
    centre: open
    relief: 150 bar
    rating: {value: 210 bar, kind: working, read on: plate}
    tank port rating: 10 bar
    spools: {lifter: {float: yes}, clamp: }
  left lifter: {kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, rating: unknown}
  right lifter: {like: left lifter, stroke: 580 mm}
  clamp ram: {kind: cylinder, bore: 1-1/2 in, rod: 3/4 in, stroke: 12 in}
  up: {kind: tee}
  down: {kind: tee}
  gauge: {kind: gauge point}
lines:
  suction: {route: tank > pump.suction, hose: suction, bore: 19 mm, length: 1.0 m}
  feed: {route: pump > bank.P, hose: two-wire, size: -8, length: 0.8 m,
         fittings: [malleable iron tee 1/2 in class 150, {fitting: elbow 90, loss: 0.9, rating: 210 bar, count: 2}]}
  pressure: {route: feed at 0.4 m > gauge, bore: 4 mm, length: 0.2 m}
  return: {route: bank.T > tank, hose: one-wire, size: -10, length: 1.2 m, duty: return, hose date: 2019-05}
  raise: {route: bank.lifter.A > up, tube: 12 x 1.5 mm, length: 1 m}
  raise left: {route: up > left lifter.cap, hose: two-wire, size: -6, length: 0.3 m, rating: 330 bar}
  raise right: {route: up > right lifter.cap, hose: two-wire, size: -6, length: 2.4 m}
  lower left: {route: left lifter.rod > down, hose: two-wire, size: -6, length: 0.3 m}
  lower right: {route: right lifter > down, direct: yes}
  lower: {route: down > bank.lifter.B, pipe: "1/2 in schedule 80, threaded", length: 1 m}
  squeeze: {route: bank.clamp.A > clamp ram.cap, bore: 10 mm, length: 2 m, roughness: 2 µm}
ties:
  lifter pair: {parts: [left lifter, right lifter], rigid: yes}
plugged: [bank.clamp.B, clamp ram.rod]
states:
  idling:
  lifting: {lifter: A 40 %, loads: {lifter pair: 26.5 kN tension}}
  clamped: {clamp: A, at stop: {clamp ram: extended}, speed: {engine: 3000 rpm}, oil temperature: -10 °C}
  floating: {bank.lifter: float, stopped: [clamp ram], fault: yes, note: just a try}
show: {state: lifting, hide: [proof, downloads]}
"""
