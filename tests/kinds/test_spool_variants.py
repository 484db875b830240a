"""One case by hand for every way in which a spool, and a stack of them, is made: passages, centres, float, load
checks, port reliefs, power beyond. Invented data; force balances and square laws, elementary relations, no published
source. bar, L/min. Every path takes 5 bar at 40 L/min, every centre 3 bar, a load check 0.4 bar; all drops go with the
square."""

from __future__ import annotations

import math

import pytest
from builddoc.kinds.base import SpoolOrder
from scipy.optimize import brentq

from .bench import BAR, LPM, SUPPLY, TANK, disc, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731
KEYS = "drop: 5 bar at 40 L/min, centre drop: 3 bar at 40 L/min, load check cracking: 0.4 bar"
RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"
CAP, RING = disc(50), disc(50) - disc(28)
K = RING / CAP


def bar(r, name, port):
    return r.pressure(name, port)[0] / BAR


def litres(r, name, role="passage"):
    return r.flow(name, role)[0] / LPM


def leaves(r, speed_of="ram"):
    """L/min that leave the cap side."""
    return -r.speed(speed_of, "rod")[0] * CAP / LPM


# ---- stacks one behind the other
def stacks(levers, sleeve, orders=(), stalled=False):
    """40 L/min; the first stack works 20 bar, the second 60 bar at 40 L/min. Relief of the first: 150 bar to its T."""
    beyond = "power beyond: yes, " if sleeve else ""
    one = ["v1.A > x.port", "v1.B > y.port"] if stalled else ["v1.A > l1.A", "l1.B > v1.B"]
    parts = {"x": "{kind: plug}", "y": "{kind: plug}"} if stalled else {"l1": square(20, 40)}
    return solved(
        {
            "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(300), "l2": square(60, 40), **parts,
            "v1": f"{{kind: directional valve, centre: open, {beyond}{KEYS}, relief: {{setting: 150 bar, override: "
            "0 bar at 9 L/min}}",
            "v2": f"{{kind: directional valve, centre: open, {KEYS}}}",
        },
        [*SUPPLY, "t.branch > v1.P", f"v1.{'PB' if sleeve else 'T'} > v2.P", *(["v1.T > tank.oil"] if sleeve else ()),
         *one, "v2.A > l2.A", "l2.B > v2.B", "v2.T > tank.oil"],
        {"only": {(v, "position"): SpoolOrder("A") for v in levers} | dict(orders)},
    )  # fmt: skip


SERIES = [  # levers, P of the first, its T: centre 3; a stack that works 0.4 + 5 + load + 5
    ((), 3 + 3, 3),
    (("v2",), 3 + 70.4, 70.4),
    (("v1",), 30.4 + 3, 3),
    (("v1", "v2"), 30.4 + 70.4, 70.4),
]


@pytest.mark.parametrize(("levers", "at_p", "at_t"), SERIES)
def test_without_a_sleeve_the_pressures_of_both_stacks_add_up(levers, at_p, at_t):
    r = stacks(levers, sleeve=False)
    assert (bar(r, "v1", "P"), bar(r, "v1", "T")) == (approx(at_p), approx(at_t))


def test_without_a_sleeve_the_relief_of_the_first_stands_on_what_the_second_needs():
    # First stack stalled: all oil over its relief into T, where the second one keeps 70.4: P = 150 + 70.4.
    assert bar(stacks(("v1", "v2"), sleeve=False, stalled=True), "v1", "P") == approx(220.4)


BEYOND = [((), 3 + 3, 0), (("v2",), 3 + 70.4, 40), (("v1",), 30.4, 0), (("v1", "v2"), 30.4, 0)]


@pytest.mark.parametrize(("levers", "at_p", "second"), BEYOND)
def test_with_a_sleeve_the_tank_port_is_free_and_the_first_takes_all(levers, at_p, second):
    # Centre to PB and on; what the first spool takes comes back by T of its own: nothing is left for the second.
    r = stacks(levers, sleeve=True)
    assert bar(r, "v1", "P") == approx(at_p) and bar(r, "v1", "T") == approx(0)
    assert litres(r, "l2") == approx(second if "v2" in levers else 0)


def test_a_forgotten_sleeve_joins_the_ports():
    # PB and T are one but for 3 bar at 40 L/min: beside it the second stack gets what 0.4 + 70 (q/40)^2 lets through.
    r = stacks(("v2",), sleeve=True, orders={("v1", "sleeve"): "missing"}.items())
    p = brentq(lambda p: 40 * math.sqrt(p / 3) + 40 * math.sqrt(max(p - 0.4, 0) / 70) - 40, 0.4, 3)
    assert bar(r, "v1", "P") == approx(3 + p) and litres(r, "l2") == approx(40 * math.sqrt((p - 0.4) / 70))


# ---- passages, the first lever half shifted: its paths 20 bar at 40 L/min each, its centre 12
@pytest.mark.parametrize(
    ("feed", "first", "at_p"),
    [
        # beside each other from P: 40 (q/40)^2 through spool one, 0.4 + 10 + 30 through spool two, no centre
        ("parallel", None, None),
        # before the centre of one: 40 (q/40)^2 to T, and the rest through 12 + 10 + 30 of the centre and spool two
        ("tandem", math.sqrt(52), None),
        # 40 (q/40)^2 beside 12 ((40-q)/40)^2, and all 40 L/min then through 10 + 30 of spool two
        ("series", math.sqrt(12), 40.0),
    ],
)
def test_a_half_shifted_spool_before_one_that_works(feed, first, at_p):
    checks = "load checks: no, " if feed != "parallel" else ""
    r = solved(
        {
            "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(300), "load": square(30, 40),
            "v": f"{{kind: directional valve, centre: open, feed: {feed}, {checks}spools: [one, two], {KEYS}}}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil", "v.one.A > v.one.B", "v.two.A > load.A", "load.B > v.two.B"],
        {"only": {("v", "one"): SpoolOrder("A", 0.5), ("v", "two"): SpoolOrder("A")}},
    )  # fmt: skip
    if feed == "parallel":  # the load checks open at 0.4 bar both: p - 0.4 over 40 and over 40: half each
        assert litres(r, "load") == approx(20) and bar(r, "v", "P") == approx(0.4 + 40 * 0.25)
        return
    q = 40 * first / (first + math.sqrt(40))
    assert litres(r, "v", "one: P to A") == approx(q)
    assert bar(r, "v", "P") == approx(40 * (q / 40) ** 2 + (at_p or 0))


def test_a_closed_centre_partly_shifted_leaves_the_rest_to_the_relief():
    # A tenth of the travel: paths of 500 bar at 40 L/min each; relief 100 bar: q = 40 sqrt((100 - 0.4) / 1000).
    r = solved(
        {
            "tank": TANK, "pump": pump(40), "t": "{kind: tee}", "rv": relief(100),
            "v": f"{{kind: directional valve, centre: closed, {KEYS}}}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil", "v.A > v.B"],
        {"only": {("v", "position"): SpoolOrder("A", 0.1)}},
    )  # fmt: skip
    q = 40 * math.sqrt(99.6 / 1000)
    assert litres(r, "v", "P to A") == approx(q) and litres(r, "rv", "relief") == approx(40 - q)


# ---- one spool, a ram on it
def rig(keys, order, load=0.0, flow=40.0, more="", back=0.0):
    """back: bar at 40 L/min between T and the reservoir."""
    home = ["v.T > back.A", "back.B > tank.oil"] if back else ["v.T > tank.oil"]
    return solved(
        {
            "tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(200), "ram": RAM,
            "v": f"{{kind: directional valve, centre: open, {KEYS}{more}, spools: {{s: {{{keys}}}}}}}",
            **({"back": square(back, 40)} if back else {}),
        },
        [*SUPPLY, "t.branch > v.P", *home, "v.s.A > ram.cap", "v.s.B > ram.rod"],
        {"only": {("v", "s"): order, ("ram", "load"): load}},
    )  # fmt: skip


CENTRE = SpoolOrder()


def test_a_motor_spool_in_centre_lets_both_sides_go():
    # 200 N = 1.02 bar: p_A = 5 (q/40)^2, p_B = -5 (K q/40)^2, p_A - K p_B = F/cap: (1 + K^3) 5 (q/40)^2 = 1.02 bar.
    r = rig("ports in centre: to tank", CENTRE, 200)
    q = 40 * math.sqrt(200 / CAP / BAR / 5 / (1 + K**3))
    assert leaves(r) == approx(q) and bar(r, "ram", "rod") == approx(-5 * (K * q / 40) ** 2)


def test_one_side_to_tank_in_centre():
    # The other side is shut and sinks to -0.9 bar. 5 kN on the cap side: p_A = 25.5 - 0.9 K; pulling: p_B on the ring.
    r = rig("ports in centre: A to tank", CENTRE, 5e3)
    p = 5e3 / CAP / BAR - 0.9 * K
    assert bar(r, "ram", "cap") == approx(p) and leaves(r) == approx(40 * math.sqrt(p / 5))
    r = rig("ports in centre: B to tank", CENTRE, -5e3)
    p = 5e3 / RING / BAR - 0.9 / K
    assert bar(r, "ram", "rod") == approx(p) and -leaves(r) * K == approx(40 * math.sqrt(p / 5))


@pytest.mark.parametrize(("form", "load"), [("A to tank", -5e3), ("B to tank", 5e3), ("blocked", 5e3)])
def test_the_blocked_side_carries_its_load(form, load):
    # Pulled, the ring holds F/ring less 0.9/K where the cap side is empty, which A to tank keeps at 0: then F/ring.
    r = rig(f"ports in centre: {form}", CENTRE, load)
    assert abs(leaves(r)) < 1e-6
    area, port, other = (RING, "rod", 0.0) if load < 0 else (CAP, "cap", 0.0 if form == "B to tank" else 0.9 * K)
    found = r.pressure_range("ram", port, 0)
    low = found[0] / BAR if found else bar(r, "ram", port)
    assert low == approx(abs(load) / area / BAR - other)


def test_float_against_the_back_pressure_of_the_return():
    # T carries the pump's 40 L/min and q - K q of the ram through 2 bar at 40: p_T = 2 ((40 + (1-K) q)/40)^2.
    # p_A = p_T + 5 (q/40)^2, p_B = p_T - 5 (K q/40)^2, p_A - K p_B = 1 kN/cap = 5.09 bar. P: the centre, p_T + 3.
    r = rig("float: yes", SpoolOrder("float"), 1e3, back=2)
    back = lambda q: 2 * ((40 + (1 - K) * q) / 40) ** 2  # noqa: E731
    q = brentq(lambda q: back(q) * (1 - K) + 5 * (q / 40) ** 2 * (1 + K**3) - 1e3 / CAP / BAR, 0, 100)
    assert leaves(r) == approx(q) and bar(r, "v", "T") == approx(back(q))
    assert bar(r, "v", "P") == approx(back(q) + 3)


def test_float_without_a_load_drifts_out():
    # p_T on both sides pushes the rod out by p_T (1 - K): q < 0 into the cap side, by the same balance.
    r = rig("float: yes", SpoolOrder("float"), 0.0, back=2)
    back = lambda v: 2 * ((40 - (1 - K) * v) / 40) ** 2  # noqa: E731
    v = brentq(lambda v: back(v) * (1 - K) - 5 * (v / 40) ** 2 * (1 + K**3), 0, 40)
    assert -leaves(r) == approx(v)


def test_load_check_holds_a_half_shifted_spool():
    # 10 L/min through half the centre: 12 (10/40)^2 = 0.75 bar at P; 20 kN stand at F/cap behind the check.
    r = rig("", SpoolOrder("A", 0.5), 20e3, flow=10)
    assert bar(r, "v", "P") == approx(0.75) and abs(leaves(r)) < 1e-6
    assert bar(r, "ram", "cap") == approx(20e3 / CAP / BAR)


def test_without_load_check_the_load_runs_back_through_the_centre():
    # p_A = 20 (q/40)^2 + 12 ((10 + q)/40)^2; the rod side cannot be filled that fast: -0.9 bar, p_A = F/cap - 0.9 K.
    # 32 q^2 + 240 q + 1200 = 1600 p_A.
    r = rig("", SpoolOrder("A", 0.5), 20e3, flow=10, more=", load checks: no")
    p = 20e3 / CAP / BAR - 0.9 * K
    q = (-240 + math.sqrt(240**2 - 4 * 32 * (1200 - 1600 * p))) / 64
    assert bar(r, "ram", "cap") == approx(p) and leaves(r) == approx(q)


def test_port_relief_without_make_up_draws_a_void():
    # 24 kN: F/cap - 0.9 K = 121.6 bar against 120 + q/4.
    r = rig("port reliefs: {A: {setting: 120 bar, override: 10 bar at 40 L/min}}", CENTRE, 24e3)
    assert bar(r, "ram", "rod") == approx(-0.9)
    assert leaves(r) == approx(4 * (24e3 / CAP / BAR - 0.9 * K - 120))


def test_regenerative_against_normal_extension():
    # 10 L/min and 2 kN. A: p_A = F/cap + K p_B, p_B = 5 (10 K/40)^2, 10 L/min on the cap. regen: on the rod's area.
    plain, fast = (rig("regen: yes", SpoolOrder(place), 2e3, flow=10) for place in ("A", "regen"))
    assert plain.speed("ram", "rod")[0] == approx(10 * LPM / CAP)
    assert bar(plain, "ram", "cap") == approx(2e3 / CAP / BAR + K * 5 * (10 * K / 40) ** 2)
    assert fast.speed("ram", "rod")[0] == approx(10 * LPM / disc(28))
    # retracting with B the normal way: 10 L/min on the ring, 10/K come out of the cap: p_B = (F' + p_A cap)/ring
    back = rig("regen: yes", SpoolOrder("B"), 0.0, flow=10)
    assert bar(back, "ram", "rod") == approx(5 * (10 / K / 40) ** 2 / K)
