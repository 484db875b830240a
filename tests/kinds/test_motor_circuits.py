"""Motors in series as a whole circuit, solved by hand. Invented data; elementary relations of
hydrostatics, no published source."""

from __future__ import annotations

import math

import pytest
from builddoc.kinds.orders import ShaftLoad

from .bench import BAR, LPM, SUPPLY, TANK, pump, relief, solved

MOTOR = "{{kind: hydraulic motor, displacement: {} cc/rev, volumetric efficiency: 100 %, mechanical efficiency: 80 %}}"


def rig(lines, torques):
    return solved(
        {
            "tank": TANK, "pump": pump(30), "t": "{kind: tee}",
            "rv": relief(200), "one": MOTOR.format(100), "two": MOTOR.format(150),
        },
        [*SUPPLY, *lines],
        {"only": {(name, "load"): ShaftLoad(resisting=torque) for name, torque in torques.items()}},
    )  # fmt: skip


def needed(torque, cc):
    """bar over a motor: 2 pi T / (D 0.8)."""
    return 2 * math.pi * torque / (cc * 1e-6 * 0.8) / BAR


def test_series_motors_add_their_pressures_and_share_the_flow():
    r = rig(["t.branch > one.A", "one.B > two.A", "two.B > tank.oil"], {"one": 40.0, "two": 60.0})
    first, second = needed(40, 100), needed(60, 150)
    assert r.pressure("two", "A")[0] / BAR == pytest.approx(second, rel=1e-4)
    assert r.pressure("one", "A")[0] / BAR == pytest.approx(first + second, rel=1e-4)
    for name, cc in (("one", 100), ("two", 150)):
        assert r.speed(name, "shaft")[0] == pytest.approx(30 * LPM / (cc * 1e-6) * 2 * math.pi, rel=1e-4)


def test_parallel_motors_the_lighter_one_takes_all_and_each_case_drains_its_leakage():
    # `one` needs 2 pi 40 / (100e-6 0.8) = 31.4 bar, `two` 62.8 bar for 120 N m at 150 cc: two stands. Leakage 1 L/min
    # at 100 bar of both goes to the drains in proportion to 31.4 bar and is missing at the shaft of `one`.
    motor = MOTOR[:-2].replace("volumetric efficiency: 100 %", "leakage: 1 L/min at 100 bar") + ", case drain: yes}}"
    r = solved(
        {"tank": TANK, "pump": pump(30), "t": "{kind: tee}", "rv": relief(200), "t2": "{kind: tee}",
         "one": motor.format(100), "two": motor.format(150)},
        [*SUPPLY, "t.branch > t2.run a", "t2.run b > one.A", "t2.branch > two.A", "one.B > tank.oil",
         "two.B > tank.oil",
         "one.drain > tank.oil", "two.drain > tank.oil"],
        {"only": {("one", "load"): ShaftLoad(resisting=40.0), ("two", "load"): ShaftLoad(resisting=120.0)}},
    )  # fmt: skip
    p = needed(40, 100)
    assert r.pressure("two", "A")[0] / BAR == pytest.approx(p, rel=1e-4)
    assert abs(r.speed("two", "shaft")[0]) < 1e-6
    assert r.flow("two", "leakage of A")[0] / LPM == pytest.approx(p / 100, rel=1e-4)
    assert r.speed("one", "shaft")[0] == pytest.approx((30 - 2 * p / 100) * LPM / 100e-6 * 2 * math.pi, rel=1e-4)
