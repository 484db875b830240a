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
