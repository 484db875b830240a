"""Gear divider, two-stage pump, unloading valve, battery motor: worked by hand."""

# ruff: noqa: E501 (a circuit reads best with one part, or one row of joints, to a line)

from __future__ import annotations

import math

import pytest
from builddoc import kinds
from builddoc.checks import heat, walk
from builddoc.checks.base import Case

from .bench import BAR, LPM, TANK, circuit, disc, part, pump, relief, solved, square

DIVIDER = "{kind: flow divider, sections: [10 cc/rev, 10 cc/rev], turning loss: %s bar, leakage: %s}"
NONE = "0 L/min at 100 bar"
FED = ("tank.oil > pump.inlet", "pump.outlet > t.run a", "t.run b > rv.inlet", "rv.outlet > tank.oil", "t.branch > d.inlet")


def divided(divider: str, a: str, b: str, setting: float = 200, extra: tuple[str, ...] = (), more: dict | None = None):
    parts = {"tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(setting), "d": divider, "a": a, "b": b}
    joints = (*FED, "d.A > a.A", "a.B > tank.oil", "d.B > b.A", "b.B > tank.oil", *extra)
    return solved({**parts, **(more or {})}, joints)


def test_pressure_is_multiplied():
    """40 L/min, equal sections without loss: 20 L/min each; A takes 120 bar there, B 4 bar: 2 p = 120 + 4, p = 62 bar,
    below the outlet that it feeds."""
    r = divided(DIVIDER % (0, NONE), square(120, 20), square(4, 20))
    assert r.pressure("d", "A")[0] == pytest.approx(120 * BAR, rel=1e-6)
    assert r.pressure("d", "inlet")[0] == pytest.approx(62 * BAR, rel=1e-6)
    assert r.flow("a", "passage")[0] == pytest.approx(20 * LPM, rel=1e-6)


def test_one_outlet_free_the_other_shut_reaches_twice_the_relief():
    """B straight to the tank, A shut: the divider cannot turn, all goes over the relief at 150 bar, and A holds between
    2 x (150 - 5) and 2 x (150 + 5) bar, as friction lets it."""
    parts = {"tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(150), "d": DIVIDER % (5, NONE), "x": "{kind: plug}"}
    r = solved(parts, (*FED, "d.A > x.port", "d.B > tank.oil"))
    low, high = r.pressure_range("d", "A", 0)
    assert high == pytest.approx(310 * BAR, rel=1e-6)
    assert low == pytest.approx(290 * BAR, rel=1e-6)


def test_turning_loss_costs_inlet_pressure():
    """As above with 5 bar: 2 p = 124 + 2 x 5."""
    r = divided(DIVIDER % (5, NONE), square(120, 20), square(4, 20))
    assert r.pressure("d", "inlet")[0] == pytest.approx(67 * BAR, rel=1e-6)
    assert r.dissipation("d")[0] == pytest.approx(0.0, abs=1e-6)  # friction of the rotor is no passage


def test_leakage_goes_to_the_lower_outlet():
    """0.3 L/min at 100 bar. Inlet 62 bar nearly: B at 4 gains 0.174 L/min, A at 120 loses 0.174 back to the inlet."""
    r = divided(DIVIDER % (0, "0.3 L/min at 100 bar"), square(120, 20), square(4, 20))
    a, b = r.flow("a", "passage")[0] / LPM, r.flow("b", "passage")[0] / LPM
    assert a + b == pytest.approx(40, rel=1e-6)
    assert b - a == pytest.approx(2 * 0.3 * 0.58, rel=0.02)


def test_outlet_relief_limits_the_multiplication():
    divider = "{kind: flow divider, sections: [10 cc/rev, 10 cc/rev], turning loss: 0 bar, leakage: 0 L/min at 100 bar, " \
        "outlet reliefs: {setting: 100 bar, override: 0 bar at 10 L/min}}"  # fmt: skip
    r = divided(divider, square(120, 20), square(4, 20), extra=("d.T > tank.oil",))
    assert r.pressure("d", "A")[0] == pytest.approx(100 * BAR, rel=1e-6)
    # A: 20 sqrt(100/120) = 18.26 L/min through the load, 1.74 over the relief; p = (100 + 4)/2
    assert r.flow("d", "relief A")[0] / LPM == pytest.approx(20 - 20 * math.sqrt(100 / 120), rel=1e-4)
    assert r.pressure("d", "inlet")[0] == pytest.approx(52 * BAR, rel=1e-6)


def test_unequal_sections_share_as_their_displacements():
    divider = "{kind: flow divider, sections: [30 cc/rev, 10 cc/rev], turning loss: 0 bar, leakage: 0 L/min at 100 bar}"
    r = divided(divider, square(60, 30), square(20, 10))
    assert r.flow("a", "passage")[0] / LPM == pytest.approx(30, rel=1e-6)
    assert r.pressure("d", "inlet")[0] == pytest.approx((3 * 60 + 20) / 4 * BAR, rel=1e-6)


@pytest.mark.parametrize("sections", ["[10 cc/rev]", "[]", "[1 cc/rev, 1 cc/rev, 1 cc/rev, 1 cc/rev, 1 cc/rev]", "8 cc/rev"])
def test_two_to_four_sections(sections):
    with pytest.raises(ValueError):
        part("d", f"{{kind: flow divider, sections: {sections}}}")


# ---- two stages
STAGES = "{kind: two-stage pump, large stage: 8 cc/rev, small stage: 2.1 cc/rev, unloads at: 50 bar, speed: 1450 rpm, " \
    "volumetric efficiency: 92 %%, mechanical efficiency: 90 %%, unloader drop: 3 bar at 40 L/min, droop: 3 bar%s}"  # fmt: skip


def pressed(kilonewtons: float, more: str = ""):
    parts = {
        "tank": TANK, "pump": STAGES % more, "t": "{kind: tee}", "rv": relief(235), "ram": "{kind: single-acting cylinder, "
        "bore: 125 mm}",
    }  # fmt: skip
    joints = ("tank.oil > pump.inlet", "pump.outlet > t.run a", "t.run b > rv.inlet", "rv.outlet > tank.oil", "t.branch > ram.cap")
    joints += ("pump.U > tank.oil",) if more else ()
    return solved(parts, joints, {"only": {("ram", "load"): kilonewtons * 1e3}})


@pytest.mark.parametrize("more", ["", ", unload port: yes"], ids=["to the inlet", "to a port of its own"])
def test_both_stages_below_the_change(more):
    """10.1 cm3 x 1450 x 0.92 = 13.47 L/min at 5 kN / 122.7 cm2 = 4.07 bar."""
    r = pressed(5, more)
    case_pump = kinds.registry()["two-stage pump"]
    flow = case_pump.delivery(r.circuit.parts["pump"], "outlet", r)[0]
    assert flow / LPM == pytest.approx(10.1e-3 * 1450 * 0.92, rel=1e-6)
    assert r.speed("ram", "rod")[0] == pytest.approx(flow / disc(125), rel=1e-6)
    # check valve: 0.5 + 1 (10.67/40)^2 = 0.571 bar above the outlet for the large stage
    torque = (2.1e-6 * 4.074e5 + 8e-6 * (4.074e5 + 0.5712e5)) / (2 * math.pi) / 0.9
    assert case_pump.shaft_demand(r.circuit.parts["pump"], r).torque[0] == pytest.approx(torque, rel=1e-3)


@pytest.mark.parametrize("more", ["", ", unload port: yes"], ids=["to the inlet", "to a port of its own"])
def test_small_stage_alone_above_it(more):
    """196 kN / 122.7 cm2 = 159.7 bar: 2.1 cm3 x 1450 x 0.92 = 2.80 L/min; the large stage turns at 3 (10.67/40)^2 =
    0.213 bar. Shaft: (2.1 x 159.7 + 8 x 0.213) cm3 bar/(2 pi)/0.9 = 5.96 N m, 905 W. A pump that did not unload would
    ask for 10.1 cm3: 28.5 N m."""
    r = pressed(196, more)
    kind = kinds.registry()["two-stage pump"]
    assert kind.delivery(r.circuit.parts["pump"], "outlet", r)[0] / LPM == pytest.approx(2.801, rel=1e-3)
    demand = kind.shaft_demand(r.circuit.parts["pump"], r)
    assert demand.torque[0] == pytest.approx((2.1e-6 * 159.7e5 + 8e-6 * 0.2135e5) / (2 * math.pi) / 0.9, rel=1e-3)
    assert demand.power[0] == pytest.approx(demand.torque[0] * 1450 * 2 * math.pi / 60)
    case = Case(r.circuit, r.network, r.solution, r)
    assert heat.into_oil(case)[0] + heat.work(case)[0] == pytest.approx(demand.power[0], rel=1e-9)


def test_unloading_valve_by_a_line_of_its_own():
    """Large pump 10.67 L/min unloaded by 159.7 bar at its pilot: 3 (10.67/40)^2 = 0.213 bar at P."""
    parts = {
        "tank": TANK, "large": pump(10.67), "small": pump(2.8), "u": "{kind: unloading valve, setting: 50 bar}", "t": "{kind: tee}",
        "f": "{kind: tee}", "c": "{kind: check valve}", "p": "{kind: tee}", "rv": relief(235),
        "ram": "{kind: single-acting cylinder, bore: 125 mm}",
    }  # fmt: skip
    joints = (
        "tank.oil > large.inlet", "tank.oil > small.inlet", "large.outlet > t.run a", "t.run b > u.P", "u.T > tank.oil",
        "t.branch > c.inlet", "c.outlet > f.run a", "small.outlet > f.run b", "f.branch > p.run a", "p.run b > ram.cap",
        "p.branch > x.run a", "x.run b > u.pilot", "x.branch > rv.inlet", "rv.outlet > tank.oil",
    )  # fmt: skip
    r = solved({**parts, "x": "{kind: tee}"}, joints, {
        "low": {("ram", "load"): 5e3}, "high": {("ram", "load"): 196e3},
    })  # fmt: skip
    assert r.speed("ram", "rod") * disc(125) / LPM == pytest.approx([13.47, 2.8], rel=1e-6)
    assert r.pressure("large", "outlet")[1] == pytest.approx(3 * (10.67 / 40) ** 2 * BAR, rel=1e-3)


def test_unloading_valve_with_its_check_is_the_same():
    parts = {
        "tank": TANK, "large": pump(10.67), "small": pump(2.8), "u": "{kind: unloading valve, setting: 50 bar, check: yes}",
        "f": "{kind: tee}", "rv": relief(235), "x": "{kind: tee}", "ram": "{kind: single-acting cylinder, bore: 125 mm}",
    }  # fmt: skip
    joints = (
        "tank.oil > large.inlet", "tank.oil > small.inlet", "large.outlet > u.P", "u.T > tank.oil", "u.A > f.run a",
        "small.outlet > f.run b", "f.branch > x.run a", "x.run b > ram.cap", "x.branch > rv.inlet", "rv.outlet > tank.oil",
    )  # fmt: skip
    r = solved(parts, joints, {"low": {("ram", "load"): 5e3}, "high": {("ram", "load"): 196e3}})
    assert r.speed("ram", "rod") * disc(125) / LPM == pytest.approx([13.47, 2.8], rel=1e-6)


def test_battery_motor():
    """1.8 kW at 70 % and 12 V: 214 A; in 12 m of 35 mm2 copper 214 x 1.75e-8 x 12 / 35e-6 = 1.29 V."""
    params = part("m", kinds.registry()["DC motor"].example).params
    assert params.current(1800) == pytest.approx(214.3, abs=0.1)
    assert params.cable_drop(params.current(1800)) == pytest.approx(1.286, abs=0.002)
    assert part("m", "{kind: DC motor, power: 1 kW, speed: 2800 rpm, voltage: 12 V}").params.cable_drop(100) is None
    assert circuit({"m": kinds.registry()["DC motor"].example}).parts["m"].kind == "DC motor"


# ---- tandem pump, hand pump, spool divider
def test_tandem_pump_adds_its_torques():
    """10 and 4 cm3 at 1000 rpm without loss: 10 and 4 L/min; 100 and 40 bar: (10 x 100 + 4 x 40) cm3 bar/(2 pi) = 18.46
    N m, 1.933 kW: not counted once for each outlet."""
    parts = {
        "tank": TANK, "p": "{kind: tandem pump, sections: [10 cc/rev, 4 cc/rev], speed: 1000 rpm, volumetric efficiency: 100 %, mechanical efficiency: 100 %}",
        "a": square(100, 10), "b": square(40, 4),
    }  # fmt: skip
    r = solved(parts, ("tank.oil > p.inlet", "p.A > a.A", "p.B > b.A", "a.B > tank.oil", "b.B > tank.oil"))
    kind, case = kinds.registry()["tandem pump"], Case(r.circuit, r.network, r.solution, r)
    assert r.pressure("p", "A")[0] == pytest.approx(100 * BAR, rel=1e-6)
    assert kind.shaft_demand(r.circuit.parts["p"], r).torque[0] == pytest.approx(116e-6 * 1e6 / (2 * math.pi) , rel=1e-3)
    assert heat.into_oil(case)[0] == pytest.approx(100e5 * 10 * LPM + 40e5 * 4 * LPM, rel=1e-6)
    assert [pump.role for pump in walk.pumps(r.network)] == ["A", "B"]


def test_hand_pump():
    """25 cm3 x 30/min x 90 % = 0.675 L/min on 19.635 cm2; 20 kN: 101.86 bar; hand: 101.86 bar x 3 cm2 / 15 = 203.7 N."""
    parts = {"tank": TANK, "p": kinds.registry()["hand pump"].example, "ram": "{kind: single-acting cylinder, bore: 50 mm}"}
    r = solved(parts, ("tank.oil > p.inlet", "p.outlet > ram.cap"), {
        "pumping": {("p", "position"): 0.5, ("ram", "load"): 20e3}, "resting": {("ram", "load"): 20e3},
    })  # fmt: skip
    assert r.speed("ram", "rod") == pytest.approx([0.675 * LPM / disc(50), 0.0], abs=1e-9)
    force = kinds.registry()["hand pump"].hand_force(r.circuit.parts["p"], r)
    assert force == pytest.approx([20e3 / disc(50) * 3e-4 / 15, 0.0], rel=1e-6)
    assert r.pressure("p", "outlet") == pytest.approx([20e3 / disc(50)] * 2, rel=1e-6)  # held while it rests


@pytest.mark.parametrize(("text", "per_second"), [("30 strokes/min", 0.5), ("30/min", 0.5), ("rests", 0.0)])
def test_strokes(text, per_second):
    (control,) = kinds.registry()["hand pump"].controls(part("p", kinds.registry()["hand pump"].example).params)
    assert control.parse(text) == per_second


def test_spool_divider_keeps_flows_equal():
    """30 L/min, loads 80 and 30 bar at 15 L/min: the light side is throttled down from 81, the other is open (1 bar):
    p = 80 + 1 + 5 = 86 bar."""
    divider = "{kind: spool divider, share of A: 50 %, metering drop: 5 bar at 30 L/min, drop: 1 bar at 15 L/min}"
    parts = {"tank": TANK, "pump": pump(30), "t": "{kind: tee}", "rv": relief(200), "d": divider, "a": square(80, 15), "b": square(30, 15)}
    r = solved(parts, (*FED, "d.A > a.A", "a.B > tank.oil", "d.B > b.A", "b.B > tank.oil"))
    assert r.flow("a", "passage")[0] / LPM == pytest.approx(15, rel=1e-3)
    assert r.pressure("d", "inlet")[0] == pytest.approx(86 * BAR, rel=1e-3)
    assert r.pressure("d", "B")[0] == pytest.approx(30 * BAR, rel=1e-3)


RETURNING = "{kind: spool divider, metering drop: 5 bar at 20 L/min, drop: 1 bar at 10 L/min, combines: %s}"


@pytest.mark.parametrize(("combines", "left", "right"), [("yes", 10.0, 10.0), ("no", 24.10, 0.0)])
def test_spool_divider_brings_returning_oil_together(combines, left, right):
    """Plungers of 12.566 cm2 under 12 and 6 kN, 95.49 and 47.75 bar, let down through an orifice of 41.746 bar at 20
    L/min. Combining, the light side is open, 47.75 = 1 + 5 + 41.75 bar at 10 L/min each, the heavy one throttled. A
    divider alone lets only the heavy side through: 95.49 bar = (1 + 5 + 41.746/4) (q / 10 L/min)^2, q = 24.10 L/min."""
    ram = "{kind: single-acting cylinder, bore: 40 mm}"
    parts = {"tank": TANK, "d": RETURNING % combines, "one": ram, "two": ram, "o": square(41.746, 20)}
    loads = {"down": {("one", "load"): 12e3, ("two", "load"): 6e3}}
    r = solved(parts, ("d.A > one.cap", "d.B > two.cap", "d.inlet > o.A", "o.B > tank.oil"), loads)
    area = math.pi / 4 * 0.04**2
    assert -r.speed("one", "rod")[0] * area / LPM == pytest.approx(left, rel=1e-3)
    assert -r.speed("two", "rod")[0] * area / LPM == pytest.approx(right, rel=1e-3, abs=1e-3)


def test_spool_divider_with_unequal_shares():
    divider = "{kind: spool divider, share of A: 25 %, metering drop: 5 bar at 40 L/min, drop: 1 bar at 40 L/min}"
    parts = {"tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(200), "d": divider, "a": square(20, 10), "b": square(90, 30)}
    r = solved(parts, (*FED, "d.A > a.A", "a.B > tank.oil", "d.B > b.A", "b.B > tank.oil"))
    assert r.flow("a", "passage")[0] / LPM == pytest.approx(10, rel=1e-3)


def test_an_unloader_that_sticks_overloads_the_motor():
    """Both stages at 159.7 bar: (2.1 x 159.7 + 8 x (159.7 + 0.571)) cm3 bar/(2 pi)/0.9 = 28.6 N m."""
    parts = {"tank": TANK, "pump": STAGES % "", "t": "{kind: tee}", "rv": relief(235), "ram": "{kind: single-acting cylinder, bore: 125 mm}"}
    joints = ("tank.oil > pump.inlet", "pump.outlet > t.run a", "t.run b > rv.inlet", "rv.outlet > tank.oil", "t.branch > ram.cap")
    r = solved(parts, joints, {"stuck": {("ram", "load"): 196e3, ("pump", "unloader"): "stuck shut"}})
    demand = kinds.registry()["two-stage pump"].shaft_demand(r.circuit.parts["pump"], r)
    assert demand.torque[0] == pytest.approx((2.1e-6 * 159.7e5 + 8e-6 * 160.28e5) / (2 * math.pi) / 0.9, rel=1e-3)
