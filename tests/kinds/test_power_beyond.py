"""The power-beyond sleeve: where the centre of a valve goes. Worked by hand, invented data; values in bar and L/min."""

from __future__ import annotations

import pytest
from builddoc.kinds.base import SpoolOrder

from .bench import BAR, LPM, SUPPLY, TANK, part, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731
KEYS = "centre: open, drop: 5 bar at 40 L/min, centre drop: 3 bar at 40 L/min"


@pytest.mark.parametrize(("lever", "beyond", "tank"), [("centre", 40, 0), ("A", 0, 40)])
def test_centre_goes_beyond_and_spools_return_to_tank(lever, beyond, tank):
    # Centre: 3 + 10 bar behind PB. A: no oil in the centre, 0.4 + 5 + 20 (load) + 5 bar, back by T.
    r = solved(
        {
            "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(180),
            "v": f"{{kind: directional valve, {KEYS}, power beyond: yes}}",
            "next": square(10, 40), "load": square(20, 40), "back": square(2, 40),
        },
        [*SUPPLY, "t.branch > v.P", "v.PB > next.A", "next.B > tank.oil", "v.A > load.A", "load.B > v.B",
         "v.T > back.A", "back.B > tank.oil"],
        {"only": {("v", "position"): SpoolOrder(lever)}},
    )  # fmt: skip
    assert r.flow("next", "passage")[0] / LPM == approx(beyond)
    assert r.flow("back", "passage")[0] / LPM == approx(tank)
    assert r.pressure("v", "P")[0] / BAR == approx(13 if lever == "centre" else 0.4 + 5 + 20 + 5 + 2)


def test_series_spools_return_by_tank_from_the_last_one():
    # First spool A: its return passes the centre of the second to PB. Second spool A: its return goes to T.
    for spool, beyond in (("one", 40), ("two", 0)):
        r = solved(
            {
                "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(180),
                "v": f"{{kind: directional valve, {KEYS}, spools: [one, two], feed: series, power beyond: yes}}",
                "next": square(10, 40), "l1": square(20, 40), "l2": square(20, 40),
            },
            [*SUPPLY, "t.branch > v.P", "v.PB > next.A", "next.B > tank.oil", "v.one.A > l1.A", "l1.B > v.one.B",
             "v.two.A > l2.A", "l2.B > v.two.B", "v.T > tank.oil"],
            {"only": {("v", spool): SpoolOrder("A")}},
        )  # fmt: skip
        assert r.flow("next", "passage")[0] / LPM == approx(beyond)


def test_closed_centre_has_no_sleeve():
    with pytest.raises(ValueError, match="closed centre"):
        part("v", "{kind: directional valve, centre: closed, power beyond: yes}")
