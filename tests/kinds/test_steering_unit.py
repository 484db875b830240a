"""The steering unit by hand. Invented data; continuity and square laws, no published source. bar, L/min."""

from __future__ import annotations

import math

import pytest
from builddoc import kinds
from builddoc.kinds.orders import LET_GO

from .bench import BAR, LPM, SUPPLY, TANK, disc, part, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=2e-3)  # noqa: E731
RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"
CAP, RING = disc(50), disc(50) - disc(28)
RPM = math.pi / 30
KEYS = (
    "displacement: 100 cc/rev, volumetric efficiency: 90 %, metering drop: 8 bar, return drop: 8 bar at 40 L/min, "
    "centre drop: 6 bar at 40 L/min, relief: {setting: 100 bar, override: 0 bar at 9 L/min}"
)


def rig(states, more="centre: open, power beyond: yes", flow=20):
    beyond = ["u.PB > next.A", "next.B > tank.oil"] if "beyond" in more else []
    parts = {"next": square(10, 20)} if beyond else {}
    return solved(
        {"tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(200), "ram": RAM,
         "u": f"{{kind: steering unit, {KEYS}, {more}}}", **parts},
        [*SUPPLY, "t.branch > u.P", "u.T > tank.oil", "u.R > ram.cap", "u.L > ram.rod", *beyond],
        {name: {("u", "position"): hand, ("ram", "load"): load, ("ram", "stop"): stop}
         for name, (hand, load, stop) in states.items()},
    )  # fmt: skip


def test_flow_to_the_cylinder_is_displacement_times_hand_speed():
    # 60 rpm x 0.1 L x 0.9 = 5.4 L/min to the cap; rod side 5.4 RING/CAP back by L: 8 (q/40)^2. The rest, 14.6, to PB.
    # Left: 5.4 to the rod side. Held: all 20 through the centre: 6 (20/40)^2 + 10 = 11.5 bar.
    r = rig({"right": (60 * RPM, 10e3, None), "left": (-60 * RPM, -10e3, None), "held": (0.0, 0.0, None)})
    assert r.speed("ram", "rod")[0] == approx(5.4 * LPM / CAP)
    assert r.speed("ram", "rod")[1] == approx(-5.4 * LPM / RING)
    assert [x / LPM for x in r.flow("next", "passage")] == [approx(14.6), approx(14.6), approx(20)]
    back = 8 * (5.4 * RING / CAP / 40) ** 2
    cap = (10e3 + back * BAR * RING) / CAP / BAR
    assert r.pressure("u", "P")[0] / BAR == approx(cap + 8)
    assert r.pressure("u", "P")[2] / BAR == approx(11.5)
    assert abs(r.speed("ram", "rod")[2]) < 1e-9


def test_supply_limits_the_flow():
    # 300 rpm asks for 27 L/min; the pump gives 20: all of it goes to the cap, nothing beyond.
    r = rig({"fast": (300 * RPM, 10e3, None)})
    assert r.speed("ram", "rod")[0] == approx(20 * LPM / CAP)
    assert r.flow("next", "passage")[0] / LPM == approx(0)


def test_at_the_stop_its_relief_takes_all():
    r = rig({"stop": (60 * RPM, 0.0, "extended")})
    assert r.pressure("u", "P")[0] / BAR == approx(100)
    assert r.flow("u", "relief")[0] / LPM == approx(20)


def test_closed_centre_blocks_while_held():
    r = rig({"held": (0.0, 0.0, None), "right": (60 * RPM, 0.0, None)}, "centre: closed")
    assert r.pressure("u", "P")[0] / BAR == approx(100)
    assert r.speed("ram", "rod")[1] == approx(5.4 * LPM / CAP)


def test_shock_relief_and_make_up_while_held():
    # 23.7 kN / CAP = 120.7 bar pushes R over its relief at 120: the rod gives way and L draws oil through its check.
    r = rig(
        {"held": (0.0, 23.7e3, None)},
        "centre: open, port reliefs: {setting: 120 bar, override: 10 bar at 20 L/min}, make up: yes",
    )
    out = r.flow("u", "relief of R")[0] / LPM
    assert 0 < out < 4
    assert r.flow("u", "make-up to L")[0] / LPM == approx(out * RING / CAP)


def test_load_reaction_lets_the_wheels_turn_the_unit_when_let_go():
    # A ram on each port, rod sides open: the heavier load pushes its oil over to the lighter one,
    # (10 - 2) kN / CAP = 8 (q/40)^2.
    for order, moves in ((LET_GO, True), (0.0, False)):
        r = solved(
            {"tank": TANK, "pump": pump(20), "t": "{kind: tee}", "rv": relief(200), "one": RAM, "two": RAM,
             "u": f"{{kind: steering unit, {KEYS}, centre: open, load reaction: yes}}"},
            [*SUPPLY, "t.branch > u.P", "u.T > tank.oil", "u.R > one.cap", "u.L > two.cap", "one.rod > tank.oil",
             "two.rod > tank.oil"],
            {"only": {("u", "position"): order, ("one", "load"): 10e3, ("two", "load"): 2e3}},
        )  # fmt: skip
        q = 40 * math.sqrt((10e3 - 2e3) / CAP / BAR / 8) if moves else 0.0
        assert r.flow("u", "L to R")[0] / LPM == approx(-q)
        assert r.speed("two", "rod")[0] == approx(q * LPM / CAP)


def test_orders():
    unit = kinds.registry()["steering unit"]
    (plain,) = unit.controls(part("u", "{kind: steering unit, displacement: 100 cc/rev, centre: open}").params)
    (free,) = unit.controls(
        part("u", "{kind: steering unit, displacement: 100 cc/rev, centre: open, load reaction: yes}").params
    )
    assert plain.parse("60 rpm left") == pytest.approx(-60 * RPM) and plain.parse("held") == 0.0
    assert free.parse("let go") == LET_GO
    for text in ("let go", "60 rpm", "-5 rpm left"):
        with pytest.raises(ValueError):
            plain.parse(text)
