"""One case by hand for variants of parts that the other files leave out. Invented data; force balances, square laws and
continuity, elementary relations, no published source. bar, L/min."""

from __future__ import annotations

import math

import pytest
from builddoc import kinds
from builddoc.kinds.orders import ShaftLoad
from scipy.optimize import brentq

from .bench import BAR, LPM, SUPPLY, TANK, disc, line, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731
DIVIDER = "{kind: flow divider, sections: [%s], turning loss: %d bar, leakage: 0 L/min at 1 bar}"
RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"
CAP, RING = disc(50), disc(50) - disc(28)


def supply(flow, setting=200):
    return {"tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(setting)}


def bar(r, name, port, s=0):
    return r.pressure(name, port)[s] / BAR


def litres(r, name, role="passage", s=0):
    return r.flow(name, role)[s] / LPM


# ---- dividers
def test_three_unequal_sections():
    # 40 L/min as 10 : 6 : 4, so 20, 12 and 8 L/min; (10 x 30 + 6 x 90 + 4 x 10) / 20 = 44, and 5 bar to turn it.
    d = DIVIDER % ("10 cc/rev, 6 cc/rev, 4 cc/rev", 5)
    r = solved(
        {**supply(40), "d": d, "a": square(30, 20), "b": square(90, 12), "c": square(10, 8)},
        [*SUPPLY, "t.branch > d.inlet", "d.A > a.A", "d.B > b.A", "d.C > c.A", *(f"{x}.B > tank.oil" for x in "abc")],
    )
    assert [litres(r, x) for x in "abc"] == approx([20, 12, 8])
    assert bar(r, "d", "inlet") == approx(49)


def test_a_shut_section_of_three_is_driven_by_the_other_two():
    # A shut, the others free, relief 60 bar: nothing turns; 20 x 60 = 10 p_A at most: 120 bar, not 60 x 3.
    d = DIVIDER % ("10 cc/rev, 6 cc/rev, 4 cc/rev", 0)
    r = solved(
        {**supply(40, 60), "d": d, "x": "{kind: plug}"},
        [*SUPPLY, "t.branch > d.inlet", "d.A > x.port", "d.B > tank.oil", "d.C > tank.oil"],
    )
    assert (r.pressure_range("d", "A", 0) or (0, r.pressure("d", "A")[0]))[1] / BAR == approx(120)


def test_rods_come_back_through_a_gear_divider():
    # Lowered: 12 and 6 kN on 40 mm plungers, 95.5 and 47.7 bar; the shaft makes them equal: p_inlet x 2 = the sum less
    # 2 x 5, 66.6 bar on an orifice of 41.6 bar at 20 L/min: 25.3 L/min, half from each.
    ram = "{kind: single-acting cylinder, bore: 40 mm}"
    r = solved(
        {"tank": TANK, "d": DIVIDER % ("8 cc/rev, 8 cc/rev", 5), "one": ram, "two": ram, "o": square(41.6, 20)},
        ["d.A > one.cap", "d.B > two.cap", "d.inlet > o.A", "o.B > tank.oil"],
        {"down": {("one", "load"): 12e3, ("two", "load"): 6e3}},
    )  # fmt: skip
    p = (12e3 + 6e3) / disc(40) / BAR / 2 - 5
    assert bar(r, "d", "inlet") == approx(p) and litres(r, "o") == approx(20 * math.sqrt(p / 41.6))
    assert r.speed("one", "rod")[0] == approx(r.speed("two", "rod")[0])


def test_three_port_control_with_pressure_on_its_excess_port():
    # 50 L/min; regulated 15 at 60 bar, excess 35 at 90: inlet 90 + 2, the compensator takes 92 - 7 - 60.
    v = "{kind: three-port flow control, set flow: 15 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min}"
    r = solved(
        {**supply(50), "v": v, "a": square(60, 15), "b": square(90, 35)},
        [*SUPPLY, "t.branch > v.inlet", "v.regulated > a.A", "v.excess > b.A", "a.B > tank.oil", "b.B > tank.oil"],
    )
    assert litres(r, "v", "controlled") == approx(15) and bar(r, "v", "inlet") == approx(92)


# ---- selectors
def test_open_neutral_of_three_ports_shares():
    # 20 L/min into (20 + 0.75) (q/20)^2 and (5 + 0.75) (q/20)^2 side by side; 3 bar at 40 is 0.75 at 20.
    r = solved(
        {**supply(20), "s": "{kind: selector valve, neutral: open, drop: 3 bar at 40 L/min}", "a": square(20, 20),
         "b": square(5, 20)},
        [*SUPPLY, "t.branch > s.C", "s.A > a.A", "s.B > b.A", "a.B > tank.oil", "b.B > tank.oil"],
        {"n": {("s", "position"): "neutral"}},
    )  # fmt: skip
    share = (1 / math.sqrt(20.75)) / (1 / math.sqrt(20.75) + 1 / math.sqrt(5.75))
    assert litres(r, "a") == approx(20 * share) and bar(r, "s", "C") == approx(20.75 * share**2)


def test_open_neutral_of_six_ports_joins_both_cylinders():
    # C1 to both caps: two rams of one size under 10 and 4 kN; the lighter one takes all, the heavier waits at its stop.
    r = solved(
        {**supply(20), "s": "{kind: selector valve, ports: 6, neutral: open, drop: 0 bar at 40 L/min}", "one": RAM,
         "two": RAM},
        [*SUPPLY, "t.branch > s.C1", "s.C2 > tank.oil", "s.A1 > one.cap", "s.A2 > one.rod", "s.B1 > two.cap",
         "s.B2 > two.rod"],
        {"n": {("s", "position"): "neutral", ("one", "load"): 10e3, ("one", "stop"): "retracted",
               ("two", "load"): 4e3}},
    )  # fmt: skip
    assert bar(r, "s", "C1") == approx(4e3 / CAP / BAR)
    assert r.speed("two", "rod")[0] == approx(20 * LPM / CAP) and r.speed("one", "rod")[0] == approx(0)


# ---- holding valves: free flow, and back pressure behind them
PILOT_CHECK = (
    "{kind: pilot-operated check valve, pilot ratio: 4:1, cracking: 1 bar, droop: 1 bar, drop: 5 bar at 40 L/min}"
)
COUNTERBALANCE = (
    "{kind: counterbalance valve, setting: 180 bar, pilot ratio: 3:1, droop: 10 bar, drop: 8 bar at 40 L/min, "
    "free flow drop: 2 bar at 40 L/min, cracking: 0.5 bar}"
)


@pytest.mark.parametrize(("valve", "lost"), [(PILOT_CHECK, 1 + 5 * 0.25), (COUNTERBALANCE, 0.5 + 2 * 0.25)])
def test_lifting_through_a_holding_valve(valve, lost):
    r = solved(
        {**supply(20), "v": valve, "ram": RAM},
        [*SUPPLY, "t.branch > v.V", "v.load > ram.cap", "ram.rod > tank.oil", "tank.oil > v.pilot"],
        {"up": {("ram", "load"): 20e3}},
    )
    assert bar(r, "v", "V") == approx(20e3 / CAP / BAR + lost)


@pytest.mark.parametrize(
    ("valve", "pilot", "opening", "drop"),
    [
        # R (pilot - p_V) - (p_load - p_V) = cracking + droop x
        (PILOT_CHECK, 30, lambda v, load: 4 * (30 - v) - (load - v) - 1, 5),
        # p_load + R pilot - (1 + R) p_V = setting + droop x
        (COUNTERBALANCE, 35, lambda v, load: (load + 3 * 35 - 4 * v - 180) / 10, 8),
    ],
)
def test_back_pressure_keeps_a_holding_valve_from_opening(valve, pilot, opening, drop):
    # Behind V an orifice of 5 bar at 40 L/min: p_V = 5 (q/40)^2, q = x 40 sqrt((p_load - p_V) / drop).
    r = solved(
        {**supply(30, pilot), "v": valve, "ram": RAM, "o": square(5, 40)},
        [*SUPPLY, "t.branch > v.pilot", "v.V > o.A", "o.B > tank.oil", "v.load > ram.cap", "ram.rod > tank.oil"],
        {"down": {("ram", "load"): 20e3}},
    )
    load = 20e3 / CAP / BAR
    x = lambda v: min(max(opening(v, load), 0.0), 1.0)  # noqa: E731
    v = brentq(lambda v: 40 * math.sqrt(v / 5) - x(v) * 40 * math.sqrt((load - v) / drop), 1e-9, load)
    assert 0 < x(v) < 1
    assert bar(r, "v", "V") == approx(v) and litres(r, "o") == approx(40 * math.sqrt(v / 5))


# ---- motors
MOTOR = "{{kind: hydraulic motor, displacement: {} cc/rev, mechanical efficiency: 100 %, case drain: yes, leakage: {}}}"


def test_motors_in_series_with_case_drains():
    # p_2 = 2 pi 60/80e-6 = 47.1 bar, p_1 = p_2 + 2 pi 40/50e-6 = 97.4. Drains, 1 L/min at 100 bar from each port: the
    # first loses p_1/100 before it and p_2/100 behind it, the second p_2/100 before it.
    leak = "1 L/min at 100 bar"
    r = solved(
        {**supply(32), "m1": MOTOR.format(50, leak), "m2": MOTOR.format(80, leak)},
        [*SUPPLY, "t.branch > m1.A", "m1.B > m2.A", "m2.B > tank.oil", "m1.drain > tank.oil", "m2.drain > tank.oil"],
        {"only": {("m1", "load"): ShaftLoad(40.0), ("m2", "load"): ShaftLoad(60.0)}},
    )
    p2 = 2 * math.pi * 60 / 80e-6 / BAR
    p1 = p2 + 2 * math.pi * 40 / 50e-6 / BAR
    through = 32 - p1 / 100
    turns = [r.speed(m, "shaft")[0] * 60 / (2 * math.pi) for m in ("m1", "m2")]
    assert bar(r, "m1", "A") == approx(p1)
    assert turns == approx([through / 0.050, (through - 2 * p2 / 100) / 0.080])
    assert litres(r, "m1", "leakage of B") == approx(p2 / 100)


def test_cross_port_reliefs_stop_a_turning_load():
    # Levers in centre, the load goes on turning A to B with 200 N m on 100 cm3: 125.7 bar at B, over its relief at
    # 100 bar + 10 at 20 L/min: 51.3 L/min go round. Nothing leaks, so the make-up check has nothing to fill.
    x = "{kind: cross-port relief, relief of A: {setting: 100 bar, override: 10 bar at 20 L/min}, make up: yes}"
    r = solved(
        {"tank": TANK, "x": x, "m": MOTOR.format(100, "0 L/min at 1 bar")},
        ["x.motor A > m.A", "m.B > x.motor B", "x.T > tank.oil", "m.drain > tank.oil"],
        {"only": {("m", "load"): ShaftLoad(against=-200.0)}},
    )
    q = (2 * math.pi * 200 / 100e-6 / BAR - 100) / 10 * 20
    assert litres(r, "x", "B to A") == approx(q)
    assert r.speed("m", "shaft")[0] == approx(q * LPM / 100e-6 * 2 * math.pi)


# ---- cylinders
def test_rephasing_at_the_retracted_stop():
    # Retracting: the slave's cap side drives the master's ring. Slave at its stop lets the oil past: 10 L/min at 5 bar
    # into the master's ring side, cap side to the tank; no load: p_ring = 0 and the pump sees 5 bar.
    cylinder = "{kind: cylinder, bore: 50 mm, rod: 30 mm, rephasing: retracted, bypass drop: 5 bar at 10 L/min}"
    r = solved(
        {**supply(10), "slave": cylinder, "master": "{kind: cylinder, bore: 63 mm, rod: 38.3 mm}"},
        [*SUPPLY, "t.branch > slave.rod", "slave.cap > master.rod", "master.cap > tank.oil"],
        {"only": {("slave", "stop"): "retracted"}},
    )
    assert r.speed("slave", "rod")[0] == approx(0)
    assert r.speed("master", "rod")[0] == approx(-10 * LPM / (disc(63) - disc(38.3)))
    assert bar(r, "slave", "rod") == approx(5)


# ---- conditioning
def test_cooler_bypass_takes_what_the_core_resists():
    # Bypass opens at 2 bar and takes 0.5 (q/40)^2 more; core 4 bar at 40 L/min, half linear, half square. 60 L/min.
    r = solved(
        {"tank": TANK, "pump": pump(60), "c": "{kind: cooler, drop: 4 bar at 40 L/min, bypass: 2 bar, bypass drop: "
         "0.5 bar at 40 L/min}"},
        ["tank.oil > pump.inlet", "pump.outlet > c.inlet", "c.outlet > tank.oil"],
    )  # fmt: skip
    core = lambda p: 40 * (-1 + math.sqrt(1 + 8 * p / 4)) / 2  # noqa: E731  p = 2 (x + x^2)
    p = brentq(lambda p: core(p) + 40 * math.sqrt((p - 2) / 0.5) - 60, 2, 3)
    assert bar(r, "c", "inlet") == approx(p) and litres(r, "c", "core") == approx(core(p))


@pytest.mark.parametrize(("clogged", "inlet"), [(0.0, -0.1), (0.75, -0.4)])
def test_suction_strainer_before_the_pump(clogged, inlet):
    # 0.1 bar at 20 L/min, four times as much with three quarters blocked.
    r = solved(
        {"tank": TANK, "f": "{kind: suction strainer, drop: 0.1 bar at 20 L/min}", "pump": pump(20),
         "o": square(9, 20)},
        ["tank.oil > f.inlet", "f.outlet > pump.inlet", "pump.outlet > o.A", "o.B > tank.oil"],
        {"only": {("f", "position"): clogged}},
    )  # fmt: skip
    assert bar(r, "pump", "inlet") == approx(inlet) and litres(r, "o") == approx(20)


@pytest.mark.parametrize("place", ["pressure", "return"])
def test_a_filter_wherever_it_stands_takes_its_drop(place):
    # 0.9 bar at 60 L/min: 0.45 at 30; before the orifice or behind it the pump sees both.
    before = ["pump.outlet > f.inlet", "f.outlet > o.A", "o.B > tank.oil"]
    behind = ["pump.outlet > o.A", "o.B > f.inlet", "f.outlet > tank.oil"]
    r = solved(
        {"tank": TANK, "pump": pump(30), "f": "{kind: filter, drop: 0.9 bar at 60 L/min}", "o": square(50, 30)},
        ["tank.oil > pump.inlet", *(before if place == "pressure" else behind)],
    )
    assert bar(r, "pump", "outlet") == approx(50.45)
    assert bar(r, "f", "inlet") == approx(50.45 if place == "pressure" else 0.45)


# ---- a battery pack as a whole
def test_battery_power_pack_at_its_relief():
    # 1.2 cm3 x 2800 /min x 0.88 = 2.957 L/min; relief 180 + 4 x 2.957/5 = 182.4 bar; 1.2 cm3 x 182.4 bar/(2 pi)/0.88 =
    # 3.958 N m, 1161 W at the shaft, /0.55/10.8 = 195 A; 12 m of 16 mm2 lose 195 x 1.75e-8 x 12/16e-6 = 2.56 V.
    motor = (
        "{kind: DC motor, power: 1.8 kW, speed: 2800 rpm, voltage: 10.8 V, motor efficiency: 55 %, cable: 16 mm2, "
        "cable loop: 12 m}"
    )
    r = solved(
        {
            "tank": TANK, "motor": motor, "rv": relief(180, "4 bar at 5 L/min"),
            "pump": "{kind: pump, displacement: 1.2 cc/rev, speed: 2800 rpm, driven by: motor, volumetric efficiency: "
            "88 %, mechanical efficiency: 88 %}",
        },
        ["tank.oil > pump.inlet", "pump.outlet > rv.inlet", "rv.outlet > tank.oil"],
    )  # fmt: skip
    power = kinds.registry()["pump"].shaft_demand(r.circuit.parts["pump"], r).power[0]
    params = r.circuit.parts["motor"].params
    pressure = 180 + 4 * 1.2e-3 * 2800 * 0.88 / 5
    assert bar(r, "pump", "outlet") == approx(pressure)
    assert power == approx(1.2e-6 * pressure * BAR / 0.88 * 2800 / 60)
    assert params.current(power) == pytest.approx(195.4, abs=0.1)
    assert params.cable_drop(params.current(power)) == pytest.approx(2.565, abs=0.002)


# ---- lines
def test_a_ring_of_two_hoses_shares_by_length():
    # Laminar (100 cSt, 10 L/min at most in 19 mm: Re below 120): flows as 1/length, 3 : 1.
    r = solved(
        {"tank": TANK, "pump": pump(10), "t": "{kind: tee, ports: 4}", "u": "{kind: tee, ports: 4}"},
        ["tank.oil > pump.inlet", "pump.outlet > t.run a", "u.run a > tank.oil"],
        lines=[line("short", "t.branch > u.branch", 0.019, 1.0), line("long", "t.branch b > u.branch b", 0.019, 3.0)],
    )
    flows = [r.line_flow(name)[0] / LPM for name in ("short", "long")]
    assert flows == pytest.approx([7.5, 2.5], rel=1e-4)
