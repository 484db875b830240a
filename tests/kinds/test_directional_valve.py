"""Directional valve: open passages by position, feed, float, load checks. Laws: common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest
from builddoc.assemble import assemble
from builddoc.kinds.base import SpoolOrder
from builddoc.solution import Verdict

from .bench import BAR, LPM, SUPPLY, TANK, circuit, part, pump, relief, solved, square

A, B, FLOAT = SpoolOrder("A"), SpoolOrder("B"), SpoolOrder("float")
BARE = "drop: 0 bar at 20 L/min, centre drop: 4 bar at 20 L/min, load check cracking: 0 bar"


def opened(text, states, control="position"):
    """Roles of the passages that are open in each state."""
    made = circuit({"v": text}, states={name: {("v", control): order} for name, order in states.items()})
    branches = assemble(made).branches
    return {
        name: {b.role for b in branches if not (b.lo[s] == b.hi[s] == 0)} for s, name in enumerate(made.states)
    }


def test_paths_of_one_spool():
    found = opened(
        "{kind: directional valve, centre: open, spools: {ram: {float: yes}}, relief: 150 bar}",
        {"centre": SpoolOrder(), "A": A, "B": B, "float": FLOAT, "half": SpoolOrder("A", 0.5)},
        "ram",
    )
    assert found["centre"] == {"relief", "ram: centre"}
    assert found["A"] == {"relief", "ram: P to A", "ram: B to T"}
    assert found["B"] == {"relief", "ram: P to B", "ram: A to T"}
    assert found["float"] == {"relief", "ram: centre", "ram: A to T", "ram: B to T"}
    assert found["half"] == {"relief", "ram: centre", "ram: P to A", "ram: B to T"}


def test_closed_centre_and_motor_spool():
    closed = opened("{kind: directional valve, centre: closed}", {"centre": SpoolOrder(), "A": A})
    assert closed == {"centre": set(), "A": {"P to A", "B to T"}}
    motor = opened(
        "{kind: directional valve, centre: closed, spools: {m: {ports in centre: to tank}}}",
        {"centre": SpoolOrder()},
        "m",
    )
    assert motor["centre"] == {"m: A to T", "m: B to T"}


def test_many_spools_and_ports():
    from builddoc import kinds

    valve = part("v", "{kind: directional valve, centre: open, spools: [a, b, c, d, {e: {float: yes}}]}")
    names = [port.name for port in kinds.registry()["directional valve"].ports(valve.params)]
    assert names == ["P", "T", *(f"{s}.{letter}" for s in "abcde" for letter in "AB")]


def two_spools(feed, states, more=""):
    """Spool one works 50 bar at 20 L/min, spool two 30 bar at 20 L/min; pump 20 L/min, relief 200 bar."""
    return solved(
        {
            "tank": TANK, "pump": pump(20), "rv": relief(200), "t": "{kind: tee}",
            "a": square(50, 20), "b": square(30, 20),
            "v": f"{{kind: directional valve, centre: open, feed: {feed}, spools: [one, two], {BARE}{more}}}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil",
         "v.one.A > a.A", "a.B > v.one.B", "v.two.A > b.A", "b.B > v.two.B"],
        {name: {("v", spool): order for spool, order in orders.items()} for name, orders in states.items()},
    )  # fmt: skip


STATES = {"centre": {}, "one": {"one": A}, "two": {"two": B}, "both": {"one": A, "two": A}}


def test_series_adds_pressures():
    # Each section costs 4 bar in centre. One: 50 + 4; two: 4 + 30; both: 50 + 30.
    r = two_spools("series", STATES)
    assert r.pressure("v", "P") / BAR == pytest.approx([8, 54, 34, 80], rel=1e-3)


def test_tandem_gives_the_first_spool_all():
    # With one shifted the centre is shut behind it: two gets nothing.
    r = two_spools("tandem", STATES)
    assert r.pressure("v", "P") / BAR == pytest.approx([8, 50, 34, 50], rel=1e-3)
    assert r.flow("b", "passage")[3] == pytest.approx(0, abs=1e-8)
    assert r.flow("a", "passage")[3] / LPM == pytest.approx(20, rel=1e-4)


def test_parallel_shares():
    # Two square laws at one pressure: flows as 1/sqrt(50) to 1/sqrt(30); the two alone pays no centre of the one.
    r = two_spools("parallel", STATES)
    share = np.sqrt(1 / 50) / (np.sqrt(1 / 50) + np.sqrt(1 / 30))
    assert r.pressure("v", "P")[:3] / BAR == pytest.approx([8, 50, 30], rel=1e-3)
    assert r.flow("a", "passage")[3] / LPM == pytest.approx(20 * share, rel=1e-3)


def test_partly_shifted_shares_with_the_centre():
    # Half travel, no load: the centre (4 bar at 20 L/min, half its area: 16 bar) is beside the path (5 bar: 20 bar at
    # half its area, in and out 40 bar): flows as 1/sqrt(16) to 1/sqrt(40).
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "rv": relief(200), "t": "{kind: tee}",
            "v": "{kind: directional valve, centre: open, drop: 5 bar at 20 L/min, centre drop: 4 bar at 20 L/min, "
            "load checks: no}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil", "v.A > v.B"],
        {"half": {("v", "position"): SpoolOrder("A", 0.5)}},
    )  # fmt: skip
    centre, path = 16 / 400, 40 / 400
    flow = np.sqrt(1 / centre) / (np.sqrt(1 / centre) + np.sqrt(1 / path)) * 20
    assert r.flow("v", "centre")[0] / LPM == pytest.approx(flow, rel=1e-4)
    assert r.pressure("v", "P")[0] / BAR == pytest.approx(centre * flow**2, rel=1e-4)


def lifted(more=""):
    """A load on the cap side, spool half way to A while the pump idles through the other half of the centre."""
    return solved(
        {
            "tank": TANK, "pump": pump(10), "v": f"{{kind: directional valve, centre: open{more}}}",
            "ram": "{kind: cylinder, bore: 50 mm, rod: 25 mm}",
        },
        ["tank.oil > pump.inlet", "pump.outlet > v.P", "v.T > tank.oil", "v.A > ram.cap", "v.B > ram.rod"],
        {"half": {("v", "position"): SpoolOrder("A", 0.5), ("ram", "load"): 20e3}},
    )


def test_load_check_holds_what_the_pump_cannot():
    assert lifted().speed("ram", "rod")[0] == pytest.approx(0, abs=1e-8)
    assert lifted(", load checks: no").speed("ram", "rod")[0] < -1e-2


def test_float_lets_the_load_down_and_leakage_creeps():
    parts = {
        "tank": TANK, "ram": "{kind: cylinder, bore: 50 mm, rod: 25 mm}",
        "v": "{kind: directional valve, centre: open, spools: {s: {float: yes}}, spool leakage: 20 mL/min at 100 bar}",
    }  # fmt: skip
    joints = ["v.T > tank.oil", "v.s.A > ram.cap", "v.s.B > ram.rod", "v.P > tank.oil"]
    r = solved(parts, joints, {"float": {("v", "s"): FLOAT, ("ram", "load"): 5e3}, "held": {("ram", "load"): 5e3}})
    v = r.speed("ram", "rod")
    assert v[0] < -1e-2
    # Held only by leakage of 20 mL/min at 100 bar: the rod side draws a vacuum, the cap side bears the load.
    area = np.pi / 4 * 0.05**2
    assert v[1] < 0
    assert -v[1] * area / LPM == pytest.approx(0.0002 * r.pressure("ram", "cap")[1] / BAR, rel=1e-3)


def test_built_in_relief_drains_to_the_tank_port():
    # The tank port stands at 20 bar, so the relief of 150 bar opens at 170 in P.
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "back": square(20, 20),
            "v": "{kind: directional valve, centre: closed, relief: {setting: 150 bar, override: 2 bar at 20 L/min}}",
        },
        ["tank.oil > pump.inlet", "pump.outlet > v.P", "v.T > back.A", "back.B > tank.oil"],
    )
    assert r.pressure("v", "P")[0] / BAR == pytest.approx(172, rel=1e-4)


def test_closed_centre_without_relief_is_a_dead_head():
    r = solved(
        {"tank": TANK, "pump": pump(20), "v": "{kind: directional valve, centre: closed}"},
        ["tank.oil > pump.inlet", "pump.outlet > v.P", "v.T > tank.oil"],
    )
    assert r.solution.states[0].verdict is Verdict.UNBOUNDED
