"""Valves that other pressures move, each against a case solved by hand. Invented data; force balances and square laws,
elementary relations, no published source. Values in bar and L/min."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from .bench import BAR, LPM, SUPPLY, TANK, disc, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731


def bar(results, port):
    name, _, which = port.partition(".")
    return results.pressure(name, which)[0] / BAR


def litres(results, name, role):
    return results.flow(name, role)[0] / LPM


def supply(setting=200, flow=30):
    return {"tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(setting)}


def hold(valve, setting):
    """A ram with 20 kN on `valve`, whose pilot port lies at a pump on its relief of `setting` bar."""
    return solved(
        {**supply(setting), "v": valve, "ram": "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"},
        [*SUPPLY, "t.branch > v.pilot", "v.V > tank.oil", "v.load > ram.cap", "ram.rod > tank.oil"],
        {"only": {("ram", "load"): 20e3}},
    )


PILOT_CHECK = (
    "{kind: pilot-operated check valve, pilot ratio: 4:1, cracking: 1 bar, droop: 1 bar, "
    "drop: 5 bar at 40 L/min}"
)


def test_pilot_check_opens_at_load_over_ratio():
    # p_load = 20 kN / A = 101.86 bar; it opens from (101.86 + 1) / 4 = 25.7 bar and is wide open from 26.0 bar.
    load = 20e3 / disc(50) / BAR
    held, falling = hold(PILOT_CHECK, 25), hold(PILOT_CHECK, 27)
    assert litres(held, "v", "piloted") == approx(0)
    assert bar(held, "v.load") == approx(load)
    assert litres(falling, "v", "piloted") == approx(40 * math.sqrt(load / 5))


def test_counterbalance_opens_by_setting_and_pilot():
    # 101.86 + 3 x pilot reaches 180 bar at 26.05 bar, 190 bar (wide open) at 29.4 bar; between, x = share of the droop.
    valve = "{kind: counterbalance valve, setting: 180 bar, pilot ratio: 3:1, droop: 10 bar, drop: 8 bar at 40 L/min}"
    load = 20e3 / disc(50) / BAR
    assert litres(hold(valve, 25), "v", "piloted") == approx(0)
    x = (load + 3 * 28 - 180) / 10
    assert 0 < x < 1
    assert litres(hold(valve, 28), "v", "piloted") == approx(x * 40 * math.sqrt(load / 8))


def test_counterbalance_lowers_at_the_speed_of_the_pump():
    # Pump 30 L/min into the rod side: q_cap = 30 cap/ring. Unknown pilot pressure p: load = (F + p ring)/cap and
    # load + 3 p = 180 + 10 x, x = q_cap / (40 sqrt(load/8)).
    r = solved(
        {
            **supply(), "ram": "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}", "t2": "{kind: tee}",
            "v": "{kind: counterbalance valve, setting: 180 bar, pilot ratio: 3:1, droop: 10 bar, "
            "drop: 8 bar at 40 L/min}",
        },
        [*SUPPLY, "t.branch > t2.run a", "t2.run b > ram.rod", "t2.branch > v.pilot", "ram.cap > v.load",
         "v.V > tank.oil"],
        {"only": {("ram", "load"): 20e3}},
    )  # fmt: skip
    cap, ring = disc(50), disc(50) - disc(28)
    flow = 30 * cap / ring
    load = lambda p: 20e3 / cap / BAR + p * ring / cap  # noqa: E731
    pilot = brentq(lambda p: load(p) + 3 * p - 180 - 10 * flow / (40 * math.sqrt(load(p) / 8)), 0, 200)
    assert bar(r, "ram.rod") == approx(pilot)
    assert litres(r, "v", "piloted") == approx(flow)


DIVIDER = "{kind: priority divider, set flow: 15 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min}"


@pytest.mark.parametrize(
    ("flow", "controlled", "excess", "inlet", "got"),
    [
        (50, 60, 4, 67, 15),  # controlled port highest: 60 + 7; 35 L/min left for the excess port
        (50, 60, 90, 92, 15),  # excess port highest: 90 + 2, the compensator takes 92 - 60
        (10, 60, 4, 67 * (10 / 15) ** 2, 10),  # too little oil: all of it goes to the controlled port
    ],
)
def test_priority_divider(flow, controlled, excess, inlet, got):
    r = solved(
        {**supply(200, flow), "d": DIVIDER, "c": square(controlled, 15), "e": square(excess, 35)},
        [*SUPPLY, "t.branch > d.inlet", "d.controlled > c.A", "d.excess > e.A", "c.B > tank.oil", "e.B > tank.oil"],
    )
    assert litres(r, "d", "controlled") == approx(got)
    assert litres(r, "d", "excess") == approx(flow - got)
    assert bar(r, "d.inlet") == pytest.approx(inlet, abs=2e-3)  # the spool's band is 0.001 bar


def test_reducing_valve():
    # Outlet = 60 - 4 x, x = q / (40 sqrt((200 - outlet)/5)), q = 10 sqrt(outlet/50) through the orifice behind it.
    r = solved(
        {**supply(), "v": "{kind: pressure reducing valve, setting: 60 bar, droop: 4 bar, drop: 5 bar at 40 L/min}",
         "o": square(50, 10)},
        [*SUPPLY, "t.branch > v.inlet", "v.outlet > o.A", "o.B > tank.oil", "v.drain > tank.oil"],
    )  # fmt: skip
    out = brentq(lambda p: p - 60 + 4 * 10 * math.sqrt(p / 50) / (40 * math.sqrt((200 - p) / 5)), 1, 60)
    assert bar(r, "v.outlet") == approx(out)
    assert bar(r, "v.inlet") == approx(200)


@pytest.mark.parametrize(("push", "relieved"), [(70.0, False), (100.0, True)])
def test_relieving(push, relieved):
    # Oil pushed into the outlet by a load of 70 or 100 bar: it goes to the drain from 60 + 20 bar, 5 bar at 40 L/min.
    r = solved(
        {**supply(), "v": "{kind: pressure reducing valve, setting: 60 bar, droop: 4 bar, drop: 5 bar at 40 L/min, "
         "relieving margin: 20 bar}", "ram": "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"},
        [*SUPPLY, "t.branch > v.inlet", "v.outlet > ram.cap", "ram.rod > tank.oil", "v.drain > tank.oil"],
        {"only": {("ram", "load"): push * BAR * disc(50)}},
    )  # fmt: skip
    assert litres(r, "v", "relieving") == approx(40 * math.sqrt((push - 80) / 5) if relieved else 0)


@pytest.mark.parametrize(("first", "opened"), [(85.0, False), (300.0, True)])
def test_sequence_valve(first, opened):
    # The first function takes 30 L/min at 85 bar: shut. At 300 bar: the inlet stands at 90 + 5 x, the rest goes on.
    r = solved(
        {**supply(), "v": "{kind: sequence valve, setting: 90 bar, droop: 5 bar, drop: 5 bar at 40 L/min}",
         "t2": "{kind: tee}", "o": square(first, 30)},
        [*SUPPLY, "t.branch > t2.run a", "t2.run b > o.A", "o.B > tank.oil", "t2.branch > v.inlet",
         "v.outlet > tank.oil", "v.drain > tank.oil"],
    )  # fmt: skip
    rest = lambda p: 30 - 30 * math.sqrt(p / first)  # noqa: E731
    inlet = brentq(lambda p: p - 90 - 5 * rest(p) / (40 * math.sqrt(p / 5)), 80, 99) if opened else first
    assert bar(r, "v.inlet") == approx(inlet)
    assert litres(r, "v", "passage") == approx(rest(inlet))


@pytest.mark.parametrize(("back", "inlet", "flow"), [(20, 200, 12), (400, 200, 0)])
def test_flow_control(back, inlet, flow):
    # Relief at 200 bar takes 30 - 12; a downstream orifice of 400 bar at 12 L/min leaves q = 12 sqrt(200/(400 + 8)).
    r = solved(
        {**supply(), "v": "{kind: flow control valve, set flow: 12 L/min, least drop: 8 bar}", "o": square(back, 12)},
        [*SUPPLY, "t.branch > v.inlet", "v.outlet > o.A", "o.B > tank.oil"],
    )
    assert litres(r, "v", "controlled") == approx(flow or 12 * math.sqrt(200 / 408))
    assert bar(r, "v.inlet") == approx(inlet)


def test_flow_control_is_free_backwards():
    # 0.5 bar cracking + 2 bar (30/40)^2
    r = solved(
        {**supply(), "v": "{kind: flow control valve, set flow: 12 L/min}"},
        [*SUPPLY, "t.branch > v.outlet", "v.inlet > tank.oil"],
    )
    assert bar(r, "v.outlet") == approx(0.5 + 2 * (30 / 40) ** 2)


def test_a_line_at_a_pilot_port_is_a_pilot_line_and_the_working_line_is_not():
    from builddoc.checks.duty import duties

    r = hold(PILOT_CHECK, 25)
    found = duties(r.circuit, r.network)
    kinds_of = {f"{line.start} > {line.end}": found[name] for name, line in r.circuit.lines.items()}
    assert kinds_of["t.branch > v.pilot"] == "pilot"
    assert kinds_of["v.load > ram.cap"] == kinds_of["pump.outlet > t.run a"] == "pressure"
