"""A small invented circuit, and what is changed in it, for tests of cautions, rule pages and acceptances."""

from __future__ import annotations

import copy
from typing import Any

import yaml
from builddoc.pipeline import Solved, solve_text

REMOVED = "~"
BASE = """
machine: Test bench
oil: {grade: ISO VG 46, temperature: 45 °C}
faults: no
parts:
  tank: {kind: reservoir, volume: 30 L, cooling area: 0.75 m2}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 1500 rpm, volumetric efficiency: 100 %, rating: 250 bar}
  bank: {kind: directional valve, centre: open, spools: [ram], rating: 250 bar, tank port rating: 250 bar,
         load checks: no, relief: {setting: 150 bar, override: 0.1 bar at 15 L/min}}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 250 bar}
lines:
  suction: {route: tank.oil > pump.inlet, hose: suction, bore: 25.4 mm, length: 0.5 m, hose date: 2024-05}
  feed: {route: pump.outlet > bank.P, bore: 12 mm, length: 1 m, rating: 250 bar}
  push: {route: bank.ram.A > ram.cap, bore: 10 mm, length: 1 m, rating: 250 bar}
  pull: {route: bank.ram.B > ram.rod, bore: 10 mm, length: 1 m, rating: 250 bar}
  return: {route: bank.T > tank.oil, bore: 19 mm, length: 1 m, rating: 250 bar}
states:
  idling: {}
  pushing: {bank.ram: A, loads: {ram: 15 kN compression}}
  at its stop: {bank.ram: A, at stop: {ram: extended}}
"""
# No cylinder, no pressure to speak of: oil goes round by a tee, at 2 bar over an orifice.
ROUND = """
machine: Round and round
oil: {grade: ISO VG 46, temperature: 30 °C}
faults: no
parts:
  tank: {kind: reservoir, volume: 60 L, cooling area: 5 m2}
  pump: {kind: pump, displacement: 2 cc/rev, speed: 1000 rpm, rating: 200 bar}
  relief: {kind: relief valve, setting: 5 bar, rating: 200 bar}
  fork: {kind: tee, rating: 200 bar}
lines:
  suction: {route: tank.oil > pump.inlet, bore: 25.4 mm, length: 0.5 m}
  feed: {route: pump.outlet > fork.run a, bore: 12 mm, length: 1 m, rating: 200 bar}
  over: {route: fork.branch > relief.inlet, bore: 12 mm, length: 0.2 m, rating: 200 bar}
  over home: {route: relief.outlet > tank.oil, bore: 12 mm, length: 1 m, rating: 200 bar}
  home: {route: fork.run b > tank.oil, bore: 12 mm, length: 1 m, rating: 200 bar}
"""


def changed(change: str | dict[str, Any] = "", base: str = BASE) -> str:
    """The text of `base` with a change (YAML) laid over it, group by group; `~` takes a key out."""
    tree = yaml.load(base, yaml.BaseLoader)
    over = yaml.load(change, yaml.BaseLoader) if isinstance(change, str) else change
    return str(yaml.safe_dump(_over(tree, over or {}), sort_keys=False, allow_unicode=True, width=110))


def _over(tree: Any, change: Any) -> Any:
    if not isinstance(tree, dict) or not isinstance(change, dict):
        return change
    result = copy.copy(tree)
    for key, value in change.items():
        if value == REMOVED:
            result.pop(key)
        else:
            result[key] = _over(result.get(key, {}), value)
    return result


def solved(change: str | dict[str, Any] = "", base: str = BASE) -> Solved:
    made = solve_text(changed(change, base), "bench.yml")
    assert made.ok, made.messages
    return made
