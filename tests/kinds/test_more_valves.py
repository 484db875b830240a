"""Throttle check, selector, cross-port relief, relief block, three-port flow control, velocity fuse and the priority
divider's relief, each by hand. Invented data; square laws and balances, no published source. bar, L/min."""

from __future__ import annotations

import math

import builddoc
import pytest
from builddoc.checks.base import Case
from builddoc.checks.fuses import would_trip
from builddoc.kinds.orders import ShaftLoad

from .bench import BAR, LPM, SUPPLY, TANK, disc, part, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731
RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"


def supply(flow=20, setting=200):
    return {"tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(setting)}


def bar(r, name, port, s=0):
    return r.pressure(name, port)[s] / BAR


def litres(r, name, role, s=0):
    return r.flow(name, role)[s] / LPM


def test_throttle_check_throttles_one_way_and_is_free_the_other():
    # Forward half open: 10 (10/20)^2 / 0.5^2 = 10 bar at 10 L/min. Back: throttle and check share 10 L/min at one dp.
    valve = "{kind: throttle check valve, drop: 10 bar at 20 L/min, " \
        "cracking: 0.5 bar, free flow drop: 2 bar at 10 L/min}"
    half = {"only": {("v", "position"): 0.5}}
    r = solved({**supply(10), "v": valve}, [*SUPPLY, "t.branch > v.inlet", "v.outlet > tank.oil"], half)
    assert bar(r, "v", "inlet") == approx(10)
    r = solved({**supply(10), "v": valve}, [*SUPPLY, "t.branch > v.outlet", "v.inlet > tank.oil"], half)
    p = bar(r, "v", "outlet")
    assert 0.5 < p < 2.5
    assert 10 * math.sqrt(p / 10) + 10 * math.sqrt((p - 0.5) / 2) == pytest.approx(10, rel=1e-4)


def test_selector_of_six_ports_switches_both_lines():
    # 20 L/min: 3 (20/40)^2 = 0.75 bar each way, 20 bar in the chosen passage of 20 bar, 5 in the other.
    r = solved(
        {**supply(), "s": "{kind: selector valve, ports: 6, neutral: blocked, drop: 3 bar at 40 L/min}",
         "one": square(20, 20), "two": square(5, 20)},
        [*SUPPLY, "t.branch > s.C1", "s.C2 > tank.oil", "s.A1 > one.A", "one.B > s.A2", "s.B1 > two.A", "two.B > s.B2"],
        {"a": {("s", "position"): "A"}, "b": {("s", "position"): "B"}, "n": {}},
    )  # fmt: skip
    assert [round(bar(r, "s", "C1", s), 4) for s in range(3)] == [21.5, 6.5, 200]


@pytest.mark.parametrize(("neutral", "at_p"), [("open", 0.75), ("blocked", 200)])
def test_selector_of_four_ports_crosses_over(neutral, at_p):
    r = solved(
        {**supply(), "s": f"{{kind: selector valve, ports: 4, neutral: {neutral}, drop: 3 bar at 40 L/min}}",
         "load": square(20, 20)},
        [*SUPPLY, "t.branch > s.P", "s.T > tank.oil", "s.A > load.A", "load.B > s.B"],
        {"a": {("s", "position"): "A"}, "b": {("s", "position"): "B"}, "n": {}},
    )  # fmt: skip
    assert [litres(r, "load", "passage", s) for s in range(3)] == [approx(20), approx(-20), approx(0)]
    assert bar(r, "s", "P", 2) == approx(at_p)


def test_diverter_without_neutral_leads_to_one_side():
    r = solved(
        {**supply(), "s": "{kind: selector valve}", "one": square(20, 20), "two": square(5, 20)},
        [*SUPPLY, "t.branch > s.C", "s.A > one.A", "one.B > tank.oil", "s.B > two.A", "two.B > tank.oil"],
        {"default": {}, "b": {("s", "position"): "B"}},
    )
    assert [litres(r, "two", "passage", s) for s in (0, 1)] == [approx(0), approx(20)]


MOTOR = "{kind: hydraulic motor, displacement: 100 cc/rev, volumetric efficiency: 100 %, mechanical efficiency: 100 %}"


@pytest.mark.parametrize(("torque", "over"), [(300.0, 20.0), (100.0, 0.0)])
def test_cross_port_relief_lets_the_flow_past_a_stalled_motor(torque, over):
    # 2 pi 300 / 100e-6 = 188.5 bar is above 100 + 5 bar: the motor stands, all oil crosses at 100 + 5 (20/20).
    # 2 pi 100 / 100e-6 = 62.8 bar: the relief is shut.
    block = "{kind: cross-port relief, relief of A: {setting: 100 bar, override: 5 bar at 20 L/min}, make up: yes}"
    r = solved(
        {**supply(), "x": block, "m": MOTOR},
        [*SUPPLY, "t.branch > x.A", "x.B > tank.oil", "x.motor A > m.A", "m.B > x.motor B", "x.T > tank.oil"],
        {"only": {("m", "load"): ShaftLoad(resisting=torque)}},
    )
    assert litres(r, "x", "A to B") == approx(over)
    assert bar(r, "m", "A") == approx(105 if over else 2 * math.pi * 100 / 100e-6 / BAR)


def test_a_load_drives_the_motor_over_the_other_relief():
    # The load turns the motor A to B, both lines shut: what leaves B comes back to A over B's relief.
    block = ("{kind: cross-port relief, relief of A: {setting: 300 bar, override: 0 bar at 9 L/min}, "
             "relief of B: {setting: 80 bar, override: 8 bar at 20 L/min}, make up: yes}")  # fmt: skip
    torque = 84e5 * 100e-6 / (2 * math.pi)  # asks for 84 bar: 80 + 8 (q/20) -> q = 10 L/min
    r = solved(
        {"tank": TANK, "x": block, "m": MOTOR},
        ["x.motor A > m.A", "m.B > x.motor B", "x.T > tank.oil"],
        {"only": {("m", "load"): ShaftLoad(against=-torque)}},
    )
    assert litres(r, "x", "B to A") == approx(10)


def test_relief_block_keeps_its_inlets_apart():
    # One pump on a (100 + 10 (20/40)), another on b (60): outlet through 2 bar at 40 L/min, 30 L/min -> 1.125.
    block = ("{kind: relief block, inlets: {a: {setting: 100 bar, override: 10 bar at 40 L/min}, "
             "b: {setting: 60 bar, override: 0 bar at 9 L/min}}}")  # fmt: skip
    r = solved(
        {"tank": TANK, "p1": pump(20), "p2": pump(10), "k": block, "back": square(2, 40)},
        ["tank.oil > p1.inlet", "tank.oil > p2.inlet", "p1.outlet > k.a", "p2.outlet > k.b", "k.outlet > back.A",
         "back.B > tank.oil"],
    )  # fmt: skip
    assert bar(r, "k", "a") == approx(105 + 1.125)
    assert bar(r, "k", "b") == approx(60 + 1.125)


def test_three_port_control_holds_its_ordered_flow_and_passes_on_the_rest():
    # 50 L/min; 30 x 50 % = 15 to a passage of 60 bar at 15: inlet 60 + 7; 35 L/min leave by the excess.
    valve = "{kind: three-port flow control, set flow: 30 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min}"
    r = solved(
        {**supply(50), "v": valve, "load": square(60, 15)},
        [*SUPPLY, "t.branch > v.inlet", "v.regulated > load.A", "load.B > tank.oil", "v.excess > tank.oil"],
        {"half": {("v", "position"): 0.5}},
    )
    assert litres(r, "v", "controlled") == approx(15) and litres(r, "v", "excess") == approx(35)
    assert bar(r, "v", "inlet") == pytest.approx(67, abs=0.01)


def test_relief_of_the_priority_divider_keeps_the_rest_running():
    # Controlled port blocked by a stalled ram: 15 L/min leave over its relief at 100 + 3; inlet 103 + 7; 35 to excess.
    divider = ("{kind: priority divider, set flow: 15 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min, "
               "relief: {setting: 100 bar, override: 3 bar at 15 L/min}}")  # fmt: skip
    r = solved(
        {**supply(50), "v": divider, "ram": RAM},
        [*SUPPLY, "t.branch > v.inlet", "v.controlled > ram.cap", "ram.rod > tank.oil", "v.excess > tank.oil",
         "v.T > tank.oil"],
        {"only": {("ram", "stop"): "extended"}},
    )  # fmt: skip
    assert litres(r, "v", "relief") == approx(15) and litres(r, "v", "excess") == approx(35)
    assert bar(r, "v", "inlet") == pytest.approx(110, abs=0.01)


FUSE = [("open", 20e3, "finding"), ("open", 100.0, "ok"), ("tripped", 20e3, "ok")]


@pytest.mark.parametrize(("place", "force", "outcome"), FUSE)
def test_velocity_fuse_tells_where_it_would_trip(place, force, outcome):
    # Load straight onto the tank: q = 40 sqrt(p / 3), p = F / cap = 101.9 bar -> 233 L/min, or 0.51 bar -> 16.5.
    r = solved(
        {"tank": TANK, "f": "{kind: velocity fuse, trip flow: 40 L/min, drop: 3 bar at 40 L/min}", "ram": RAM},
        ["ram.cap > f.load", "f.V > tank.oil", "ram.rod > tank.oil"],
        {"only": {("f", "position"): place, ("ram", "load"): force}},
    )
    flow = 0.0 if place == "tripped" else 40 * math.sqrt(force / disc(50) / BAR / 3)
    assert litres(r, "f", "passage") == approx(-flow)
    (found,) = would_trip(Case(r.circuit, r.network, r.solution, r))
    assert found.outcome == outcome and found.figures["flow"] / LPM == approx(flow)


@pytest.mark.parametrize("text", [
    "{kind: selector valve, ports: 5}", "{kind: relief block, inlets: {}}", "{kind: relief block, inlets: {T: 9 bar}}",
    "{kind: cross-port relief}", "{kind: throttle check valve}",
])  # fmt: skip
def test_impossible_parts_are_refused(text):
    with pytest.raises(ValueError):
        part("it", text)


PAGE = """
machine: bench of valves
oil: {grade: ISO VG 46, temperature: 45 °C}
parts:
  tank: {kind: reservoir, volume: 40 L}
  pump: {kind: pump, displacement: 16 cc/rev, speed: 2000 rpm, rating: 210 bar}
  rv: {kind: relief valve, setting: 160 bar, rating: 210 bar}
  t: {kind: tee}
  control: {kind: three-port flow control, set flow: 20 L/min, rating: 210 bar}
  selector: {kind: selector valve, ports: 4, neutral: open, rating: 210 bar}
  slow: {kind: throttle check valve, drop: 20 bar at 15 L/min, rating: 210 bar}
  fuse: {kind: velocity fuse, trip flow: 40 L/min, rating: 210 bar}
  ram: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, rating: 210 bar}
  block: {kind: relief block, inlets: {cap: 180 bar}, rating: 210 bar}
  t2: {kind: tee}
  cross: {kind: cross-port relief, relief of A: 150 bar, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 32 mm, length: 0.5 m}
  delivery: {route: pump.outlet > t.run a, bore: 12 mm, length: 0.5 m}
  guard: {route: t.branch > rv.inlet, direct: yes}
  guard back: {route: rv.outlet > tank, bore: 16 mm, length: 0.5 m}
  feed: {route: t.run b > control.inlet, bore: 12 mm, length: 0.5 m}
  rest: {route: control.excess > tank, bore: 16 mm, length: 1 m}
  work: {route: control.regulated > selector.P, bore: 12 mm, length: 1 m}
  back: {route: selector.T > tank, bore: 16 mm, length: 1 m}
  a: {route: selector.A > cross.A, bore: 12 mm, length: 1 m}
  a2: {route: cross.motor A > slow.outlet, bore: 12 mm, length: 1 m}
  a3: {route: slow.inlet > fuse.V, bore: 12 mm, length: 1 m}
  a4: {route: fuse.load > t2.run a, direct: yes}
  a5: {route: t2.run b > ram.cap, direct: yes}
  a6: {route: t2.branch > block.cap, bore: 12 mm, length: 1 m}
  a7: {route: block.outlet > tank, bore: 16 mm, length: 1 m}
  b: {route: selector.B > cross.B, bore: 12 mm, length: 1 m}
  b2: {route: cross.motor B > ram.rod, bore: 12 mm, length: 1 m}
states:
  rest: {}
  out: {selector: A, control: 50 %, loads: {ram: 10 kN compression}}
  in: {selector: B, slow: 40 %, loads: {ram: 10 kN compression}}
  tripped: {selector: B, fuse: tripped, loads: {ram: 10 kN compression}}
"""


def test_a_page_with_all_of_them():
    page = builddoc.render(PAGE)
    assert [m for m in page.messages if m.severity == "error"] == []
    assert "<svg" in page.html and "bd-failed" not in page.html
