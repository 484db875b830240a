"""Telescopic and rephasing cylinders, couplers without valves, blocks and accumulators, worked by hand. Invented data;
elementary relations, no published source."""

from __future__ import annotations

import numpy as np
import pytest
from builddoc import kinds
from builddoc.kinds.accumulator import Accumulator
from builddoc.solution import Verdict

from .bench import BAR, LPM, SUPPLY, TANK, disc, part, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731

STAGES = "[{bore: 90 mm, stroke: 500 mm}, {bore: 70 mm, stroke: 500 mm}, {bore: 50 mm, stroke: 500 mm}]"


def tipping(orders, ram=f"{{kind: telescopic cylinder, stages: {STAGES}}}", joints=(), **parts):
    """Pump 15 L/min, relief 180 bar, a telescopic cylinder at the tee."""
    return solved(
        {"tank": TANK, "pump": pump(15), "t": "{kind: tee}", "rv": relief(180), "ram": ram, **parts},
        [*SUPPLY, *(joints or ("t.branch > ram.cap",))], orders,
    )  # fmt: skip


LOADED = {
    "first": {("ram", "load"): 50e3},
    "second": {("ram", "load"): 40e3, ("ram", "stage"): 2},
    "third": {("ram", "load"): 20e3, ("ram", "stage"): 3},
}


def test_each_stage_has_its_pressure_and_speed():
    # Areas 63.617, 38.485, 19.635 cm2. Pressures 50/63.617, 40/38.485, 20/19.635 kN/cm2 = 78.6, 103.9, 101.9 bar;
    # speeds 250 cm3/s over the areas = 39.3, 65.0, 127.3 mm/s.
    r = tipping(LOADED)
    areas = np.array([disc(90), disc(70), disc(50)])
    assert r.pressure("ram", "cap") == approx(np.array([50e3, 40e3, 20e3]) / areas)
    assert r.speed("ram", "rod") == approx(15 * LPM / areas)


def test_the_flow_of_the_stage_that_moves_is_the_flow_in_the_joint():
    # All 15 L/min go through the joint at its port, whichever stage moves.
    r = tipping(LOADED)
    assert r.line_flow("joint 4") / LPM == approx([15, 15, 15])


def test_the_whole_stroke_is_the_sum_of_the_stages():
    # 0.5 m at 39.30, 64.96 and 127.32 mm/s: 12.72 + 7.70 + 3.93 = 24.35 s; with one stage not shown, none is printed.
    motion = kinds.registry()["telescopic cylinder"].motions(*_part_and_results(LOADED))["rod"]
    assert motion.stroke_time == pytest.approx([24.35] * 3, abs=0.01)
    assert motion.output == approx(np.array([50e3, 40e3, 20e3]) * motion.speed)
    two = {name: LOADED[name] for name in ("first", "third")}
    assert np.isnan(kinds.registry()["telescopic cylinder"].motions(*_part_and_results(two))["rod"].stroke_time).all()


def _part_and_results(orders):
    r = tipping(orders)
    return r.circuit.parts["ram"], r


def test_the_widest_stage_moves_first_and_a_stage_that_cannot_waits():
    # Left out, the first stage moves. From its retracted stop 150 kN need 235.8 bar, above the relief: it stands.
    r = tipping(
        {"free": {("ram", "load"): 20e3}, "too much": {("ram", "load"): 150e3, ("ram", "stop"): "retracted"}}
    )
    assert r.speed("ram", "rod") == approx([15 * LPM / disc(90), 0.0])
    assert r.pressure("ram", "cap")[1] == approx(180 * BAR)
    assert r.v[0, 1] == approx(0.0) and r.v[0, 2] == approx(0.0)


def test_under_its_load_the_stage_that_is_out_comes_in():
    # Cap side to the reservoir through 5 bar at 40 L/min; 20 kN on the third stage: 101.86 bar drive
    # 40 sqrt(101.86/5) = 180.5 L/min out, and the third stage comes in at 180.5/60e3/19.635e-4 = 1.532 m/s.
    r = solved(
        {"tank": TANK, "ram": f"{{kind: telescopic cylinder, stages: {STAGES}}}", "o": square(5, 40)},
        ["ram.cap > o.A", "o.B > tank.oil"], {"down": {("ram", "load"): 20e3, ("ram", "stage"): 3}},
    )  # fmt: skip
    assert r.pressure("ram", "cap")[0] == approx(20e3 / disc(50))
    assert r.speed("ram", "rod")[0] == pytest.approx(-1.532, abs=1e-3)


def test_at_its_stops_it_stands():
    r = tipping({"out": {("ram", "stop"): "extended"}, "held": {("ram", "stop"): "held"}})
    assert r.speed("ram", "rod") == approx([0.0, 0.0])
    assert r.pressure("ram", "cap") == approx([180 * BAR] * 2)
    # What it pushes with at its extended stop is its narrowest stage: 180 bar x 19.635 cm2 = 35.3 kN.
    motion = kinds.registry()["telescopic cylinder"].motions(r.circuit.parts["ram"], r)["rod"]
    assert motion.effort[0] == approx(180 * BAR * disc(50))


def test_double_acting_ring_of_a_stage_drives_it_in():
    # Second stage 70/60: ring 10.21 cm2; 15 L/min into it: 250/10.21 = 244.9 mm/s inwards, 38.485/10.21 x 15 = 56.5
    # L/min come out of the cap side, through 80 bar. The load helps with 20 kN: the ring needs
    # (80 x 384.85 - 20000) / 10.21e-4 = 105.7 bar. On the first stage these push with 36.8 kN: it stays out.
    ram = (
        "{kind: telescopic cylinder, stages: [{bore: 90 mm, rod: 80 mm, stroke: 500 mm}, "
        "{bore: 70 mm, rod: 60 mm, stroke: 500 mm}]}"
    )
    r = tipping(
        {"in": {("ram", "stage"): 2, ("ram", "load"): 20e3}}, ram,
        ("t.branch > ram.rod", "ram.cap > o.A", "o.B > tank.oil"), o=square(80, 15 * 38.4845 / 10.2102),
    )  # fmt: skip
    ring = disc(70) - disc(60)
    assert r.speed("ram", "rod")[0] == approx(-15 * LPM / ring)
    assert r.flow("o", "passage")[0] == approx(15 * LPM * disc(70) / ring)
    assert r.pressure("ram", "rod")[0] == pytest.approx(105.7 * BAR, rel=1e-3)


@pytest.mark.parametrize(
    ("stages", "what"),
    [
        ("[{bore: 90 mm, stroke: 1 m}]", "two stages"),
        ("[{bore: 70 mm, stroke: 1 m}, {bore: 90 mm, stroke: 1 m}]", "thinner than the one before"),
        ("[{bore: 90 mm, rod: 80 mm, stroke: 1 m}, {bore: 70 mm, stroke: 1 m}]", "some stages"),
        ("[{bore: 90 mm, rod: 80 mm, stroke: 1 m}, {bore: 70 mm, rod: 70 mm, stroke: 1 m}]", "rod of a stage"),
    ],
)
def test_impossible_stages(stages, what):
    with pytest.raises(ValueError, match=what):
        part("it", f"{{kind: telescopic cylinder, stages: {stages}}}")


def test_a_stage_is_a_number_that_is_there():
    sample = part("it", f"{{kind: telescopic cylinder, stages: {STAGES}}}")
    stage = {c.name: c for c in kinds.registry()["telescopic cylinder"].controls(sample.params)}["stage"]
    assert stage.parse("3") == 3 and stage.default == 1
    for wrong in ("4", "0", "two", "1.5", "-1"):
        with pytest.raises(ValueError, match="from 1 \\(the widest\\) to 3"):
            stage.parse(wrong)


def series(orders):
    """A wide master whose ring is as large as the slave's piston, the slave's rod side to the reservoir."""
    return solved(
        {
            "tank": TANK, "pump": pump(12), "t": "{kind: tee}", "rv": relief(150),
            "master": "{kind: cylinder, bore: 63 mm, rod: 38.3 mm, stroke: 400 mm, rephasing: extended, "
            "bypass drop: 4 bar at 12 L/min}",
            "slave": "{kind: cylinder, bore: 50 mm, rod: 30 mm, stroke: 400 mm}",
        },
        [*SUPPLY, "t.branch > master.cap", "master.rod > slave.cap", "slave.rod > tank.oil"], orders,
    )  # fmt: skip


def test_a_rephasing_master_passes_oil_at_its_stop():
    # Moving: ring of the master 19.65 cm2, piston of the slave 19.63 cm2: both 12 L/min / 31.17 cm2 = 64.2 mm/s.
    # Master at its stop: all 12 L/min pass it at 4 bar and move the slave alone, 200 cm3/s / 19.635 cm2 = 101.9 mm/s,
    # against 10 kN = 50.93 bar; the pump sees 54.93 bar.
    r = series(
        {
            "together": {("slave", "load"): 10e3},
            "slave behind": {("slave", "load"): 10e3, ("master", "stop"): "extended"},
        }
    )
    v = 12 * LPM / disc(63)
    assert r.speed("master", "rod") == approx([v, 0.0])
    assert r.speed("slave", "rod") == approx([v * (disc(63) - disc(38.3)) / disc(50), 12 * LPM / disc(50)])
    assert r.pressure("pump", "outlet")[1] == approx(10e3 / disc(50) + 4 * BAR)
    assert r.flow("master", "past piston, extended") == approx([0.0, 12 * LPM])


def test_the_bypass_closes_where_a_load_would_push_the_piston_off():
    # Both rephase and the slave, under 10 kN, is at its stop already: the master's oil passes it, but never so freely
    # that it comes back. 10 kN / 19.635 cm2 = 50.93 bar hold it, 1 bar more opens the bypass fully; with no way on for
    # the oil it stands all the same.
    cylinder = "{kind: cylinder, rephasing: extended, bypass drop: 4 bar at 12 L/min, "
    parts = {
        "tank": TANK, "pump": pump(12), "t": "{kind: tee}", "rv": relief(150),
        "master": cylinder + "bore: 63 mm, rod: 38.3 mm}", "slave": cylinder + "bore: 50 mm, rod: 30 mm}",
    }  # fmt: skip
    joints = [*SUPPLY, "t.branch > master.cap", "master.rod > slave.cap", "slave.rod > tank.oil"]
    r = solved(parts, joints, {"first": {("slave", "load"): 10e3, ("slave", "stop"): "extended"}})
    assert r.speed("slave", "rod")[0] == pytest.approx(0.0, abs=1e-9)
    assert r.speed("master", "rod")[0] == approx(12 * LPM / disc(63))
    assert 10e3 / disc(50) <= r.pressure("slave", "cap")[0] <= 10e3 / disc(50) + 1.01 * BAR
    assert r.flow("slave", "past piston, extended")[0] == approx(12 * LPM * (disc(63) - disc(38.3)) / disc(63))


def test_without_rephasing_the_slave_waits_for_ever():
    r = solved(
        {
            "tank": TANK, "pump": pump(12), "t": "{kind: tee}", "rv": relief(150),
            "master": "{kind: cylinder, bore: 63 mm, rod: 38.3 mm}",
            "slave": "{kind: cylinder, bore: 50 mm, rod: 30 mm}",
        },
        [*SUPPLY, "t.branch > master.cap", "master.rod > slave.cap", "slave.rod > tank.oil"],
        {"slave behind": {("slave", "load"): 10e3, ("master", "stop"): "extended"}},
    )  # fmt: skip
    assert r.speed("slave", "rod")[0] == approx(0.0) and r.pressure("pump", "outlet")[0] == approx(150 * BAR)


def test_only_the_rephasing_cylinder_assumes_a_bypass():
    kind = kinds.registry()["cylinder"]
    assert kind.assumptions(part("it", "{kind: cylinder, bore: 50 mm, rod: 30 mm}")) == ()
    said = kind.assumptions(part("it", "{kind: cylinder, bore: 50 mm, rod: 30 mm, rephasing: both}"))
    assert said == ("it: bypass drop 5 bar at 10 L/min (common practice, no source)",)


@pytest.mark.parametrize(
    ("valves", "lost"), [("both", None), ("A", 0.0), ("none", 20.0), ("B", 20.0)]
)  # half A is at the pump  # fmt: skip
def test_a_coupler_half_without_valve_spills(valves, lost):
    # Apart, with the half at the pump open to the air: its 20 L/min run out at half of 2 bar x (20/20)^2 = 1 bar.
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "t": "{kind: tee}", "rv": relief(100),
            "qc": f"{{kind: quick coupler, drop: 2 bar at 20 L/min, valves: {valves}}}", "o": square(1, 20),
        },
        [*SUPPLY, "t.branch > qc.A", "qc.B > o.A", "o.B > tank.oil"],
        {"joined": {}, "apart": {("qc", "position"): False}},
    )  # fmt: skip
    assert r.flow("qc", "passage") == approx([20 * LPM, 0.0])
    assert r.pressure("pump", "outlet")[0] == approx(3 * BAR)
    assert r.pressure("pump", "outlet")[1] == approx((1 if lost else 100) * BAR)
    if valves in ("none", "B"):
        assert r.flow("qc", "spill A")[1] == approx(lost * LPM)


def test_a_manifold_is_one_node():
    r = solved(
        {
            "tank": TANK, "pump": pump(10), "m": "{kind: manifold block, ports: [feed, left, right, guard]}",
            "rv": relief(100), "a": square(4, 6), "b": square(4, 4),
        },
        ["tank.oil > pump.inlet", "pump.outlet > m.feed", "m.guard > rv.inlet", "rv.outlet > tank.oil",
         "m.left > a.A", "m.right > b.A", "a.B > tank.oil", "b.B > tank.oil"],
    )  # fmt: skip
    # 10 L/min through 4 bar at 6 and at 4 side by side: as one of 4 bar at 10 L/min.
    assert [r.pressure("m", port)[0] for port in ("feed", "left", "right", "guard")] == approx([4 * BAR] * 4)
    assert r.flow("a", "passage")[0] == approx(6 * LPM)
    for wrong in ("[one]", "[a, A]", "[a.b, c]"):
        with pytest.raises(ValueError, match="port"):
            part("it", f"{{kind: manifold block, ports: {wrong}}}")


def test_an_accumulator_takes_no_flow_and_holds_by_the_gas_law():
    # 1 L charged to 59 bar at 20 degC is 60.013 bar abs; at 45 degC x 318.15/293.15 = 65.13 bar abs. Slow, n = 1: at
    # 130.26 bar abs it holds half a litre, and gives back 65.13e5 x 1e-3 x ln 2 = 4514 J.
    sample = part("it", "{kind: accumulator, volume: 1 L, precharge: 59 bar, gas temperature: 45 °C}")
    kind = kinds.registry()["accumulator"]
    assert isinstance(kind, Accumulator)
    absolute = (59e5 + 101325) * 318.15 / 293.15
    assert kind.precharge(sample) == approx(absolute - 101325)
    assert kind.held(sample, 2 * absolute - 101325) == approx(0.5e-3)
    assert kind.held(sample, 10e5) == 0.0
    assert kind.energy(sample, 2 * absolute - 101325) == approx(absolute * 1e-3 * np.log(2))
    fast = part("it", "{kind: accumulator, volume: 1 L, precharge: 59 bar, polytropic index: 1.4}")
    own = 59e5 + 101325
    # n = 1.4: 1 - (1/2)^(1/1.4) = 0.39050 L; energy p0 V (2^(0.4/1.4) - 1)/0.4 = 0.54753 p0 V
    assert kind.held(fast, 2 * own - 101325) == pytest.approx(0.39050e-3, rel=1e-4)
    assert kind.energy(fast, 2 * own - 101325) == pytest.approx(0.54753 * own * 1e-3, rel=1e-4)
    r = solved(
        {"tank": TANK, "pump": pump(10), "t": "{kind: tee}", "rv": relief(100), "acc": sample_text()},
        [*SUPPLY, "t.branch > acc.oil"],
    )
    assert r.solution.states[0].verdict is Verdict.SOLVED and r.pressure("acc", "oil")[0] == approx(100 * BAR)


def sample_text():
    return kinds.registry()["accumulator"].example
