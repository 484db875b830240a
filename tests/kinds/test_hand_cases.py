"""Circuits small enough to be solved by hand, built from kinds. Each test says the derivation; values in bar, L/min,
mm/s. Invented data. Elementary relations of hydrostatics and square-law passages; no published source."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builddoc.circuit import Oil
from builddoc.kinds.cylinder import rod_motion
from builddoc.kinds.orders import ShaftLoad
from builddoc.solution import Verdict

from .bench import BAR, LPM, SUPPLY, TANK, disc, line, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731


def bar(results, port):
    name, _, which = port.partition(".")
    return results.pressure(name, which)[0] / BAR


def litres(results, name, role="passage"):
    return results.flow(name, role)[0] / LPM


def speed(results, name):
    return results.speed(name, "rod")[0] * 1e3


def test_open_centre_idle():
    # All 40 L/min goes through everything in series: 3 (40/40)^2 + 5 (40/50)^2 + linear filter 1.5 x 40/60 = 7.2 bar.
    r = solved(
        {
            "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(180),
            "v": "{kind: directional valve, centre: open, centre drop: 3 bar at 40 L/min}",
            "c2": square(5, 50), "f": "{kind: filter, drop: 1.5 bar at 60 L/min}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > c2.A", "c2.B > f.inlet", "f.outlet > tank.oil"],
    )  # fmt: skip
    assert bar(r, "pump.outlet") == approx(7.2)
    assert bar(r, "c2.A") == approx(4.2)
    assert bar(r, "f.inlet") == approx(1.0)
    assert litres(r, "rv", "relief") == approx(0)
    assert litres(r, "c2") == approx(40)


def rig(load, **more):
    """Pump 30 L/min, relief 200 bar, cylinder 50/28 whose rod side returns through 5 bar at 40 L/min."""
    return solved(
        {
            "tank": TANK, "pump": pump(30), "t": "{kind: tee}", "rv": relief(200), "ret": square(5, 40),
            "ram": "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm, friction: 500 N}"
            if more.get("friction") else "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}",
        },
        [*SUPPLY, "t.branch > ram.cap", "ram.rod > ret.A", "ret.B > tank.oil"],
        {"only": {("ram", "load"): load, **more.get("orders", {})}},
    )  # fmt: skip


def test_extend_against_load():
    # v = Q/A. Rod flow = v A_ring, p_rod = 5 (q/40)^2, p_cap = 20 kN/A + p_rod A_ring/A.
    r = rig(20e3)
    cap, ring = disc(50), disc(50) - disc(28)
    v = 30 * LPM / cap
    p_rod = 5 * (v * ring / LPM / 40) ** 2
    assert speed(r, "ram") == approx(v * 1e3) == approx(254.647909)
    assert litres(r, "ret") == approx(20.592)
    assert bar(r, "ram.rod") == approx(p_rod) == approx(1.325095)
    assert bar(r, "ram.cap") == approx(102.768709)
    motion = r_motion(r, "ram")
    assert motion.effort[0] == approx(20e3)
    assert motion.output[0] == approx(20e3 * v)
    assert motion.stroke_time[0] == approx(0.4 / v)
    # Without losses in pump and cylinder the pump's power is the work plus what the passage turns into heat.
    assert r.heat()[0] == pytest.approx(r.dissipation("ret")[0], rel=1e-6)


def r_motion(r, name, role="rod"):
    from builddoc import kinds

    own = r.circuit.parts[name]
    return kinds.registry()[own.kind].motions(own, r)[role]


def test_friction_of_a_moving_cylinder_adds_to_the_load_and_is_heat():
    r, smooth = rig(20e3, friction=True), rig(20e3)
    assert bar(r, "ram.cap") - bar(smooth, "ram.cap") == approx(500 / disc(50) / BAR)
    motion = r_motion(r, "ram")
    assert motion.effort[0] == approx(20.5e3) and motion.given[0] == approx(20e3)
    assert motion.output[0] == approx(20e3 * motion.speed[0])
    assert r.heat()[0] == pytest.approx(r.dissipation("ret")[0] + 500 * motion.speed[0], rel=1e-6)


def test_load_beyond_the_relief_is_not_held():
    # 50 kN needs 254.6 bar. An ideal relief holds 200 at any flow, so nothing limits how fast the load pushes the rod
    # back: no figures. Resting on its retracted stop the rod stands, and the relief takes the whole flow.
    r = rig(50e3)
    assert r.solution.states[0].verdict is Verdict.RUNAWAY
    assert np.isnan(speed(r, "ram")) and np.isnan(bar(r, "ram.cap")) and np.isnan(r_motion(r, "ram").output[0])
    held = rig(50e3, orders={("ram", "stop"): "retracted"})
    assert speed(held, "ram") == approx(0)
    assert bar(held, "ram.cap") == approx(200)
    assert np.isnan(r_motion(held, "ram").stroke_time[0])
    assert r_motion(held, "ram").output[0] == 0


def test_stall_at_relief_with_override():
    # Pump 40 - 0.02 p, relief p = 180 + 0.3 q, both with p in bar: p = 192/1.006 = 190.8549, q = 36.1829.
    # The pump's leakage of 0.02 L/min per bar is an efficiency of 90 % at 200 bar.
    r = solved(
        {
            "tank": TANK, "t": "{kind: tee}", "rv": relief(180, "12 bar at 40 L/min"),
            "pump": pump(40, "volumetric efficiency: 90 %, efficiency pressure: 200 bar"),
            "ram": "{kind: cylinder, bore: 63 mm, rod: 36 mm}",
        },
        [*SUPPLY, "t.branch > ram.cap", "ram.rod > tank.oil"],
        {"only": {("ram", "stop"): "extended"}},
    )  # fmt: skip
    assert bar(r, "ram.cap") == approx(190.854871)
    assert litres(r, "rv", "relief") == approx(36.182903)
    assert speed(r, "ram") == approx(0)
    assert r.source_flow("pump")[0] / LPM == approx(36.182903)


def test_regenerative_extension():
    # Both ports on one node: p (A - A_ring) = p A_rod = 15 kN; v = Q/A_rod.
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "t": "{kind: tee, ports: 4}", "rv": relief(210),
            "ram": "{kind: cylinder, bore: 63 mm, rod: 36 mm}",
        },
        [*SUPPLY, "t.branch > ram.cap", "t.branch b > ram.rod"],
        {"only": {("ram", "load"): 15e3}},
    )  # fmt: skip
    assert bar(r, "ram.cap") == approx(147.365688)
    assert speed(r, "ram") == approx(327.479307)


def test_blocked_rod_end_multiplies_pressure():
    # Coupler apart: v = 0, relief at 150; without load p_rod = 150/(1 - (56/80)^2) = 294.118 bar.
    r = solved(
        {
            "tank": TANK, "pump": pump(25), "t": "{kind: tee}", "rv": relief(150), "qc": "{kind: quick coupler}",
            "ram": "{kind: cylinder, bore: 80 mm, rod: 56 mm}",
        },
        [*SUPPLY, "t.branch > ram.cap", "ram.rod > qc.A", "qc.B > tank.oil"],
        {"only": {("qc", "position"): False}},
    )  # fmt: skip
    assert bar(r, "ram.cap") == approx(150)
    assert bar(r, "ram.rod") == approx(294.117647)
    assert speed(r, "ram") == approx(0)
    assert litres(r, "rv", "relief") == approx(25)
    assert litres(r, "qc") == 0


FREE = {
    "tank": TANK, "pump": pump(24), "rv": relief(180), "t": "{kind: tee, ports: 4}",
    "c1": "{kind: single-acting cylinder, bore: 60 mm}", "c2": "{kind: single-acting cylinder, bore: 60 mm}",
}  # fmt: skip


def test_free_pair_light_one_first():
    # p = the lower of F/A = 10 kN/A = 35.368 bar; 25 kN would need 88.4, so the second rests on its stop; v = Q/A.
    r = solved(
        FREE,
        [*SUPPLY, "t.branch > c1.cap", "t.branch b > c2.cap"],
        {
            "only": {
                ("c1", "load"): 10e3, ("c1", "stop"): "retracted", ("c2", "load"): 25e3, ("c2", "stop"): "retracted",
            }
        },
    )  # fmt: skip
    assert bar(r, "c1.cap") == approx(35.367765)
    assert speed(r, "c1") == approx(141.471061)
    assert speed(r, "c2") == approx(0)
    # Direct joints carry what lies behind them.
    flows = {name: r.line_flow(name)[0] / LPM for name in r.circuit.lines}
    assert [flows[f"joint {n}"] for n in range(6)] == [approx(v) for v in (24, 24, 0, 0, 24, 0)]


def tied(own=None):
    return solved(
        {
            "tank": TANK, "pump": pump(24), "rv": relief(180), "t": "{kind: tee, ports: 4}",
            "r1": square(6, 12), "r2": square(2, 12),
            "left": "{kind: cylinder, bore: 60 mm, rod: 35 mm, stroke: 300 mm}",
            "right": "{kind: cylinder, bore: 60 mm, rod: 35 mm, stroke: 300 mm}",
        },
        [*SUPPLY, "t.branch > r1.A", "t.branch b > r2.A", "r1.B > left.cap", "r2.B > right.cap",
         "left.rod > tank.oil", "right.rod > tank.oil"],
        {"only": own or {("pair", "load"): 35e3}},
        ties={"pair": ("left", "right")},
    )  # fmt: skip


def test_tied_pair():
    # Equal areas and speed: 12 L/min each; p - 6 and p - 2 at the pistons, (p1 + p2) A = 35 kN -> p = 35 kN/(2A) + 4.
    r = tied()
    assert speed(r, "left") == approx(70.73553) == approx(speed(r, "right"))
    assert bar(r, "pump.outlet") == approx(65.893589)
    assert bar(r, "left.cap") == approx(59.893589)
    assert bar(r, "right.cap") == approx(63.893589)
    assert litres(r, "r1") == approx(12)
    # Each rod carries its own share of the load; together they carry all of it.
    shares = [r_motion(r, name).effort[0] for name in ("left", "right")]
    assert shares[0] == approx(bar(r, "left.cap") * BAR * disc(60))
    assert sum(shares) == approx(35e3)
    assert r.output_power()[0] == approx(35e3 * speed(r, "left") / 1e3)
    assert [a.part for a in r.network.actuators] == ["pair"]


def test_tie_takes_loads_of_members_and_its_own_stop():
    same = tied({("left", "load"): 20e3, ("pair", "load"): 15e3})
    assert bar(same, "pump.outlet") == approx(65.893589)
    held = tied({("pair", "stop"): "extended"})
    assert speed(held, "left") == approx(0)
    assert bar(held, "pump.outlet") == approx(180)


MOTOR = "{kind: hydraulic motor, displacement: 100 cc/rev, mechanical efficiency: 100 %, leakage: 1 L/min at 100 bar}"


def motor_rig(motor, orders, size=45):
    return solved(
        {"tank": TANK, "pump": pump(size), "rv": relief(180), "t": "{kind: tee}", "m": motor},
        [*SUPPLY, "t.branch > m.A", "m.B > tank.oil"],
        {"only": orders},
    )  # fmt: skip


@pytest.mark.parametrize("load", [ShaftLoad(resisting=120.0), ShaftLoad(against=120.0)])
def test_motor_with_leakage(load):
    # p = 2 pi T/D = 75.398 bar; leakage 0.01 x 75.398 = 0.754 L/min; n = (45 - 0.754)/0.1 = 442.46 rpm.
    r = motor_rig(MOTOR, {("m", "load"): load})
    assert bar(r, "m.A") == approx(75.398224)
    assert r.speed("m", "shaft")[0] * 60 / (2 * math.pi) == approx(442.460178)
    motion = r_motion(r, "m", "shaft")
    assert motion.effort[0] == approx(120)
    assert motion.output[0] == approx(120 * motion.speed[0])


def test_rod_that_moves_without_a_load_gives_none():
    """What the oil gives it is friction's, to the last digit: 500 N of friction, no load."""
    speed, effort = np.array([0.2, -0.2, 0.0]), np.array([500.0, -500.0, 300.0])
    motion = rod_motion(speed, effort, 500.0, None)
    assert list(motion.given) == [0.0, 0.0, 300.0] and list(motion.output) == [0.0, 0.0, 0.0]


def test_motor_with_mechanical_losses():
    # D dp = T/0.8 + 5: the shaft gives 120 N m, the oil 155 N m.
    text = MOTOR.replace("mechanical efficiency: 100 %", "mechanical efficiency: 80 %, idle torque: 5 N.m")
    r = motor_rig(text, {("m", "load"): ShaftLoad(resisting=120.0)})
    assert bar(r, "m.A") == approx(2 * math.pi * 155 / 100e-6 / BAR)
    motion = r_motion(r, "m", "shaft")
    assert motion.output[0] == approx(120 * motion.speed[0]) and motion.given[0] == approx(120)


def test_resisting_load_holds_a_motor_at_rest():
    # 300 N m would need 188.5 bar: above the relief, so the shaft stands and only leakage passes it.
    r = motor_rig(MOTOR, {("m", "load"): ShaftLoad(resisting=300.0)})
    assert r.speed("m", "shaft")[0] == approx(0)
    assert bar(r, "m.A") == approx(180)
    assert litres(r, "m", "leakage") == approx(1.8)


def test_volumetric_efficiency_of_a_motor_is_met_at_its_point():
    # At 120 bar and 250 rpm a 100 cc motor of 90 % takes 25/0.9 = 27.78 L/min.
    text = (
        "{kind: hydraulic motor, displacement: 100 cc/rev, mechanical efficiency: 100 %, volumetric efficiency: 90 %, "
        "efficiency pressure: 120 bar, efficiency speed: 250 rpm}"
    )
    torque = 120e5 * 100e-6 / (2 * math.pi)
    r = motor_rig(text, {("m", "load"): ShaftLoad(resisting=torque)}, 25 / 0.9)
    assert r.speed("m", "shaft")[0] * 60 / (2 * math.pi) == approx(250)
    assert bar(r, "m.A") == approx(120)


def test_motors_in_series():
    # Same oil through both: 32/0.05 = 640, 32/0.08 = 400 rpm. Drops add: 2 pi 60/80e-6, plus 2 pi 40/50e-6.
    kind = "{{kind: hydraulic motor, displacement: {} cc/rev, mechanical efficiency: 100 %, leakage: 0 mL/min/bar}}"
    r = solved(
        {
            "tank": TANK, "pump": pump(32), "rv": relief(200), "t": "{kind: tee}",
            "m1": kind.format(50), "m2": kind.format(80),
        },
        [*SUPPLY, "t.branch > m1.A", "m1.B > m2.A", "m2.B > tank.oil"],
        {"only": {("m1", "load"): ShaftLoad(40.0), ("m2", "load"): ShaftLoad(60.0)}},
    )  # fmt: skip
    assert bar(r, "m2.A") == approx(47.12389)
    assert bar(r, "m1.A") == approx(97.389372)
    assert r.speed("m1", "shaft")[0] * 60 / (2 * math.pi) == approx(640)
    assert r.speed("m2", "shaft")[0] * 60 / (2 * math.pi) == approx(400)


def test_laminar_tubes_in_parallel():
    # Oil of 100 cSt and 870 kg/m3 (here: at 15 degC, so that the density needs no correction; the viscosity at 40 degC
    # is chosen to give 100 cSt there). Largest Re 241: R = 128 mu L/(pi d^4); flows split as R2:R1.
    from builddoc.physics import oil as laws

    thin = 40e-6
    for _ in range(60):  # nu40 with nu(15 degC) = 100 cSt
        thin *= 100e-6 / laws.viscosity(thin, 0.15 * thin, 288.15)
    r = solved(
        {"tank": TANK, "pump": pump(18), "rv": relief(180), "t": "{kind: tee, ports: 4}"},
        [*SUPPLY, ],
        lines=[line("t1", "t.branch > tank.oil", 0.010, 6.0), line("t2", "t.branch b > tank.oil", 0.012, 4.0)],
        oil=Oil("test", thin, 0.15 * thin, 870.0, 288.15),
    )
    assert bar(r, "pump.outlet") == approx(1.552272)
    assert r.line_flow("t1")[0] / LPM == approx(4.379136)
    assert r.line_flow("t2")[0] / LPM == approx(13.620864)


def test_filter_on_bypass():
    # The ideal bypass holds 3.5 bar; the element passes 60 x 3.5/10 = 21 L/min, the rest, 39, goes round it.
    r = solved(
        {
            "tank": TANK, "pump": pump(60), "rv": relief(180), "t": "{kind: tee}",
            "f": "{kind: filter, drop: 10 bar at 60 L/min, bypass: 3.5 bar, bypass drop: 0 bar at 60 L/min}",
        },
        [*SUPPLY, "t.branch > f.inlet", "f.outlet > tank.oil"],
        {"only": {}, "half": {("f", "position"): 0.5}, "blocked": {("f", "position"): 1.0}},
    )  # fmt: skip
    assert bar(r, "f.inlet") == approx(3.5)
    assert r.flow("f", "element") / LPM == pytest.approx([21, 10.5, 0], rel=1e-3, abs=1e-6)
    assert r.flow("f", "bypass") / LPM == pytest.approx([39, 49.5, 60], rel=1e-3)


def test_deadheaded_pump_has_no_figures():
    # 20 L/min enters the set {pump outlet, line, coupler}, nothing leaves: no steady state.
    r = solved(
        {"tank": TANK, "pump": pump(20), "qc": "{kind: quick coupler}"},
        ["tank.oil > pump.inlet", "qc.B > tank.oil"],
        {"only": {("qc", "position"): False}, "joined": {}},
        lines=[line("hose", "pump.outlet > qc.A", 0.012, 2.0)],
    )
    state = r.solution.states[0]
    assert state.verdict is Verdict.UNBOUNDED
    assert {r.network.port_nodes["pump", "outlet"], r.network.port_nodes["qc", "A"]} <= set(state.blocked)
    for values in (
        r.pressure("pump", "outlet"), r.line_flow("hose"), r.line_flow("joint 0"), r.flow("qc", "passage"), r.heat(),
        r.source_flow("pump"), r.dissipation("hose"), r.line_highest("hose"), r.highest_possible(1),
    ):  # fmt: skip
        assert np.isnan(values[0]) and np.isfinite(values[1])
    worst = r.worst(r.pressure("pump", "outlet"))
    assert worst is not None and worst.state == "joined" and worst.index == 1


def test_locked_cylinder_has_ranges_not_figures():
    # v = 0 and p_a A - p_b A_ring = 40 kN is the only equation. Lowest p_a with p_b at cavitation (-0.9 bar); highest
    # at the port relief of 250 bar; then p_b = (250e5 A - F)/A_ring, below its own relief.
    r = solved(
        {"tank": TANK, "a": relief(250), "b": relief(400), "ram": "{kind: cylinder, bore: 80 mm, rod: 45 mm}"},
        ["ram.cap > a.inlet", "ram.rod > b.inlet", "a.outlet > tank.oil", "b.outlet > tank.oil"],
        {"only": {("ram", "load"): 40e3}},
    )
    assert speed(r, "ram") == approx(0)
    assert np.isnan(r.pressure("ram", "cap")[0])
    low, high = r.pressure_range("ram", "cap", 0)
    cap, ring = disc(80), disc(80) - disc(45)
    assert low / BAR == pytest.approx((40e3 - 0.9e5 * ring) / cap / BAR, rel=1e-3) == pytest.approx(78.96224, rel=1e-3)
    assert high / BAR == pytest.approx(250, rel=1e-3)
    low, high = r.pressure_range("ram", "rod", 0)
    assert low / BAR == pytest.approx(-0.9, rel=1e-3)
    assert high / BAR == pytest.approx(249.30381, rel=1e-3)
    assert r.highest_possible(r.network.port_nodes["ram", "cap"])[0] == pytest.approx(250e5, rel=1e-3)
    assert np.isnan(r_motion(r, "ram").effort[0])
    assert r_motion(r, "ram").output[0] == 0


def test_check_valve_and_orifice_by_diameter():
    # Orifice: Q = Cd A sqrt(2 dp/rho). Check: cracking 0.5 bar plus 1 bar (10/40)^2 at 10 L/min.
    r = solved(
        {
            "tank": TANK, "pump": pump(10), "cv": "{kind: check valve, cracking: 0.5 bar, drop: 1 bar at 40 L/min}",
            "o": "{kind: orifice, diameter: 3 mm, discharge coefficient: 65 %, adjustable: yes}",
        },
        ["tank.oil > pump.inlet", "pump.outlet > cv.inlet", "cv.outlet > o.A", "o.B > tank.oil"],
        {"only": {}, "half open": {("o", "position"): 0.5}},
    )  # fmt: skip
    drop = r.pressure("o", "A")
    assert 0.65 * disc(3) * math.sqrt(2 * drop[0] / r.rho[0]) / LPM == approx(10)
    assert drop[1] / drop[0] == approx(4)
    assert bar(r, "pump.outlet") - drop[0] / BAR == approx(0.5 + 1 / 16)


def test_spring_of_a_single_acting_cylinder():
    # Retracting by its spring alone: 1 kN on 50 mm is 5.093 bar, thrown away in an orifice.
    r = solved(
        {"tank": TANK, "o": square(5, 10), "ram": "{kind: single-acting cylinder, bore: 50 mm, spring: 1 kN}"},
        ["ram.cap > o.A", "o.B > tank.oil"],
    )
    p = 1e3 / disc(50) / BAR
    assert bar(r, "ram.cap") == approx(p)
    assert litres(r, "o") == approx(10 * math.sqrt(p / 5))
    assert speed(r, "ram") == approx(-litres(r, "o") * LPM / disc(50) * 1e3)


def test_cooler_has_both_laws():
    r = solved(
        {"tank": TANK, "pump": pump(30), "c": "{kind: cooler, drop: 2 bar at 60 L/min}"},
        ["tank.oil > pump.inlet", "pump.outlet > c.inlet", "c.outlet > tank.oil"],
    )
    assert bar(r, "c.inlet") == approx(0.5 * 2 * (0.5 + 0.25))


def test_engine_speed_moves_the_pump_and_its_leakage_stays():
    # 10 cc at 2000 rpm ideal 20 L/min, leakage 2 L/min at 100 bar whatever the speed: at half speed 10 - 2 = 8.
    r = solved(
        {
            "tank": TANK, "engine": "{kind: engine, power: 10 kW at 3000 rpm, speed: 2400 rpm}",
            "pump": "{kind: pump, displacement: 10 cc/rev, speed: 2000 rpm, driven by: engine, "
            "volumetric efficiency: 90 %, efficiency pressure: 100 bar, mechanical efficiency: 80 %}",
            "rv": relief(100),
        },
        ["tank.oil > pump.inlet", "pump.outlet > rv.inlet", "rv.outlet > tank.oil"],
        {"full": {}, "half": {("engine", "speed"): 1200 * math.pi / 30}, "stopped": {("engine", "speed"): 0.0}},
    )  # fmt: skip
    assert r.flow("rv", "relief") / LPM == pytest.approx([18, 8, 0], rel=1e-4, abs=1e-6)
    # Power D n dp/eta: 20 L/min at 100 bar = 3333 W ideal, 4167 W at the shaft; half of it at half speed.
    assert r.input_power() == pytest.approx([4166.67, 2083.33, 0], rel=1e-4, abs=1e-3)
    assert r.heat() == pytest.approx(r.input_power(), rel=1e-9, abs=1e-6)
    from builddoc import kinds

    engine = r.circuit.parts["engine"]
    supply = kinds.registry()["engine"].shaft_supply(engine, np.array([3000, 1500, 6000]) * math.pi / 30)
    assert supply == pytest.approx([8500, 4250, 8500])
