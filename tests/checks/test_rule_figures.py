"""Figures and gravest outcomes of rules on dividers, steering, selectors, regeneration, unloaders, pairs: by hand."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from builddoc.checks.base import Finding
from builddoc.checks.examples import Example, _base, examples, laid_over
from builddoc.rulebook.cases import judged

LPM = 1e-3 / 60


def worked(rule: str, case: str) -> Finding:
    example = examples()[rule].examples[case]
    return next(f for f in judged(example) if f.subject == example.subject and f.outcome == example.outcome)


def on(rule: str, base: str, change: str) -> list[Finding]:
    circuit: Any = laid_over(_base(base), yaml.load(change, yaml.BaseLoader))
    return judged(Example(rule, "", yaml.safe_dump(circuit, sort_keys=False, allow_unicode=True), ""))


@pytest.mark.parametrize(
    ("rule", "case", "figure", "value"),
    [
        # 10 cc x 1400 rpm x 0.93 = 13.02 L/min at idle
        ("split-flow-range", "passes", "lowest", 13.02 * LPM),
        # 8 cc x 1200 rpm x 0.93 = 8.928 L/min at idle
        ("split-priority-starved", "passes", "flow", 8.928 * LPM),
        # back through the divider 22.32 x 50^2/(50^2 - 28^2) = 32.52 L/min; x 3 bar = 162.6 W, and a little leakage
        ("split-heat", "passes", "heat", 163.0),
        # 22.32 L/min / (pi/4 x 28^2 mm2) = 3.72e-4 / 6.158e-4 = 0.604 m/s
        ("load-regen", "passes", "speed", 0.604),
        # 11 cc x 3600 rpm x 45 bar / 0.9 = 3.3 kW; 3 cc x 3600 rpm x 170 bar / 0.9 = 3.4 kW
        ("power-unload-fails", "passes", "power at the change", 3300.0),
        ("power-unload-fails", "passes", "power at the relief", 3400.0),
        # 10 kN and 8 kN are not on it going down: 2 kN - 1 kN of tension
        ("pair-lowering", "triggers", "difference", 1000.0),
    ],
)
def test_figures(rule: str, case: str, figure: str, value: float) -> None:
    assert worked(rule, case).figures[figure] == pytest.approx(value, rel=0.01)


def test_turns_from_lock_to_lock() -> None:
    # 200 mm x pi/4 x 40^2 mm2 = 251 cc, of 100 cc a turn
    assert "2.5 turns" in worked("steer-supply", "passes").headline


def test_no_steering_on_roads_is_a_danger() -> None:
    change = "{declare: {public roads: yes}, parts: {wheel: {declare: {steers by hand: no}}}}"
    (f,) = on("steer-supply", "carrier", change)
    assert (f.outcome, f.signal) == ("finding", "DANGER") and "engine off" in f.headline


def test_steering_beside_a_valve_has_no_supply_of_its_own() -> None:
    (f,) = on(
        "steer-supply", "carrier",
        "{parts: {priority: {kind: tee, set flow: '~', metering drop: '~', excess drop: '~', rating: 350 bar, lowest "
        "flow: '~', highest flow: '~'}}, lines: {feed 2: {route: main tee.run b > priority.run a}, steer feed: {route: "
        "priority.branch > wheel.P}, rest: {route: priority.run b > bank.P}}}",
    )  # fmt: skip
    assert f.outcome == "finding" and "feeds bank beside it" in f.headline


def test_a_wheel_that_asks_for_more_than_its_priority() -> None:
    # 100 cc at one turn a second: 6 L/min
    every = on("split-priority-starved", "carrier", "{parts: {priority: {set flow: 5 L/min}}}")
    assert every[0].outcome == "finding" and every[0].figures["wheel"] == pytest.approx(6 * LPM)


def test_a_blocked_outlet_without_any_relief_is_a_danger() -> None:
    change = """
parts: {main relief: '~', main tee: '~', wheel: {relief: '~', port reliefs: '~'}, bank: {centre: closed}}
lines: {to relief: '~', relief home: '~', feed: {route: pump.outlet > priority.inlet}, feed 2: '~'}
"""
    f = {f.subject: f for f in on("split-excess-deadhead", "carrier", change)}["priority.excess"]
    assert f.signal == "DANGER" and "no relief guards the pump" in f.headline


def test_what_is_fed_from_a_steering_units_tank_port() -> None:
    (f,) = on(
        "steer-return-pressure", "carrier",
        "{lines: {steer home: {route: wheel.T > bank.P}, rest: {route: priority.excess > tank.oil}}}",
    )  # fmt: skip
    assert f.outcome == "finding" and f.headline.startswith("wheel.T feeds bank")


def test_a_selector_that_joins_its_ports_drops_a_load() -> None:
    change = """
parts:
  selector: {kind: selector valve, ports: 3, transition: open, rating: 250 bar}
  holder: '~'
  rod tee: '~'
  other: {kind: orifice, drop: 40 bar at 22 L/min, rating: 250 bar}
lines:
  up: {route: bank.hoist.A > selector.C}
  seat: {route: selector.A > ram.cap, direct: yes}
  aside: {route: selector.B > other.A, direct: yes}
  aside home: {route: other.B > tank.oil, hose: one-wire, size: -8, length: 1 m}
  down: {route: bank.hoist.B > ram.rod}
  down 2: '~'
  pilot: '~'
states: {lowering: '~'}
"""
    (f,) = on("path-selector-crossover", "hoist", change)
    assert f.outcome == "finding" and "the load on ram drops" in f.headline


@pytest.mark.parametrize(("setting", "outcome"), [("105 bar", "ok"), ("106 bar", "finding")])
def test_holding_valves_of_a_pair_are_alike(setting: str, outcome: str) -> None:
    own = examples()["pair-lowering"].examples["boundary"].text
    assert "setting: 105 bar" in own
    (f,) = judged(Example("pair-lowering", "", own.replace("setting: 105 bar", f"setting: {setting}"), ""))
    assert f.outcome == outcome


def test_a_check_round_a_gear_divider_leaves_them_to_themselves() -> None:
    change = """
parts:
  left tee: {kind: tee, rating: 350 bar}
  in tee: {kind: tee, rating: 350 bar}
  round: {kind: check valve, rating: 350 bar}
lines:
  up: {route: bank.lift.A > in tee.run a}
  up 2: {route: in tee.run b > divider.inlet, direct: yes}
  left up: {route: divider.A > left tee.run a}
  left up 2: {route: left tee.run b > left.cap, direct: yes}
  out: {route: left tee.branch > round.inlet, direct: yes}
  back: {route: round.outlet > in tee.branch, direct: yes}
"""
    (f,) = on("pair-lowering", "lift", change)
    assert f.outcome == "finding" and "their oil goes round it, through round" in f.headline
