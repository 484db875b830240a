"""Port reliefs, make-up checks, section reliefs, centre forms and the regenerative position of the directional valve.
Worked by hand, invented data; force balances and square laws, elementary relations, no published source. bar, L/min."""

from __future__ import annotations

import math

import pytest
from builddoc import kinds
from builddoc.kinds.base import SpoolOrder

from .bench import BAR, LPM, SUPPLY, TANK, disc, part, pump, relief, solved, square

approx = lambda value: pytest.approx(value, rel=1e-4, abs=1e-4)  # noqa: E731
KEYS = "centre: open, drop: 5 bar at 40 L/min, centre drop: 3 bar at 40 L/min, load check cracking: 0.4 bar"
RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"
CAP, RING = disc(50), disc(50) - disc(28)


def rig(more, lever="centre", load=0.0, stop=None, flow=40.0):
    return solved(
        {
            "tank": TANK, "pump": pump(flow), "t": "{kind: tee}", "rv": relief(200), "ram": RAM,
            "v": f"{{kind: directional valve, {KEYS}, spools: {{s: {{{more}}}}}}}",
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil", "v.s.A > ram.cap", "v.s.B > ram.rod"],
        {"only": {("v", "s"): SpoolOrder(lever), ("ram", "load"): load, ("ram", "stop"): stop}},
    )  # fmt: skip


def bar(r, part_name, port):
    return r.pressure(part_name, port)[0] / BAR


def litres(r, role):
    return r.flow("v", role)[0] / LPM


PORTS = (
    "port reliefs: {A: {setting: 120 bar, override: 10 bar at 40 L/min}, "
    "B: {setting: 60 bar, override: 0 bar at 9 L/min}}"
)


def test_port_relief_limits_a_stalled_ram_below_the_inlet_relief():
    # At its stop: all 40 L/min over A's relief: 120 + 10 = 130 bar at the port; P = 130 + 5 + 0.4.
    r = rig(PORTS, "A", stop="extended")
    assert bar(r, "ram", "cap") == approx(130)
    assert bar(r, "v", "P") == approx(135.4)
    assert litres(r, "s: relief of A") == approx(40)


def test_port_relief_gives_way_to_a_load_in_centre_and_make_up_fills_the_other_side():
    # 24 kN / cap = 122.2 bar > 120: the load sinks with p_A cap = F + p_B ring and p_A = 120 + q / 4: about 9 L/min.
    # The rod side draws q ring/cap through its make-up check: p_B = -(0.2 + 2 (q_B/40)^2).
    r = rig(PORTS + ", make up: yes", "centre", load=24e3)
    q = litres(r, "s: relief of A")
    back = q * RING / CAP
    low = -(0.2 + 2 * (back / 40) ** 2)
    assert 8 < q < 9 and litres(r, "s: make-up to B") == approx(back)
    assert bar(r, "ram", "rod") == approx(low)
    assert (120 + q / 4) * BAR * CAP == pytest.approx(24e3 + bar(r, "ram", "rod") * BAR * RING, rel=1e-4)


def test_without_port_relief_the_load_stands():
    assert abs(rig("", "centre", load=30e3).speed("ram", "rod")[0]) < 1e-9


def test_regenerative_position_adds_the_rod_side_to_the_pump():
    # v = q_pump / (cap - ring); rod side 40 RING / (CAP - RING) L/min passes B to A: p_B - p_A = 5 (q_B / 40)^2.
    # p_A cap - p_B ring = F.
    r = rig("regen: yes", "regen", load=5e3, flow=10)
    back = 10 * RING / (CAP - RING)
    drop = 5 * (back / 40) ** 2
    p_a = (5e3 + drop * BAR * RING) / (CAP - RING) / BAR
    assert r.speed("ram", "rod")[0] == approx(10 * LPM / (CAP - RING))
    assert litres(r, "s: B to A") == approx(back)
    assert bar(r, "ram", "cap") == approx(p_a)
    assert bar(r, "v", "P") == approx(p_a + 0.4 + 5 * (10 / 40) ** 2)


FORMS = [("blocked", ""), ("to tank", "AB"), ("A to tank", "A"), ("B to tank", "B")]


@pytest.mark.parametrize(("form", "drained"), FORMS)
def test_forms_of_the_centre(form, drained):
    # A load on a drained side goes down; on a blocked one it stands.
    for load, side in ((5e3, "A"), (-5e3, "B")):
        r = rig(f"ports in centre: {form}, make up: yes", "centre", load=load)
        assert (abs(r.speed("ram", "rod")[0]) > 1e-3) == (side in drained)


@pytest.mark.parametrize("second", [80, 150])
def test_sections_in_series_each_with_a_relief(second):
    # Both levers at A, series, 20 L/min, each working into a passage of 100 bar. Behind spool one stands the feed of
    # spool two: 0.4 + 1.25 + load + 1.25 to T. Section two's relief at 80 bar takes what 20 L/min needs beyond:
    # 80 = 0.4 + (2.5 + 100) (q/20)^2. At 150 bar it stays shut. Section one: feed of two + 1.25 + 100 + 1.25 + 0.4,
    # relief of section one at 190.
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "t": "{kind: tee}", "rv": relief(250),
            "v": f"{{kind: directional valve, {KEYS}, feed: series, spools: {{"
            "one: {relief: {setting: 190 bar, override: 0 bar at 9 L/min}}, "
            f"two: {{relief: {{setting: {second} bar, override: 0 bar at 9 L/min}}}}}}}}",
            "l1": square(100, 20), "l2": square(100, 20),
        },
        [*SUPPLY, "t.branch > v.P", "v.T > tank.oil", "v.one.A > l1.A", "l1.B > v.one.B", "v.two.A > l2.A",
         "l2.B > v.two.B"],
        {"only": {("v", "one"): SpoolOrder("A"), ("v", "two"): SpoolOrder("A")}},
    )  # fmt: skip
    if second == 80:
        q = 20 * math.sqrt((80 - 0.4) / 102.5)
        assert bar(r, "v", "P") == approx(80 + 102.5 + 0.4)
        assert r.flow("v", "two: relief")[0] / LPM == approx(20 - q)
        assert r.flow("v", "one: relief")[0] / LPM == approx(0)
    else:
        # 0.4 + 102.5 behind, 102.9 before at 20 L/min = 205.8 > 190: q through both, 190 = 0.8 + 205 (q/20)^2.
        q = 20 * math.sqrt((190 - 0.8) / 205)
        assert bar(r, "v", "P") == approx(190)
        assert r.flow("l2", "passage")[0] / LPM == approx(q)
        assert r.flow("v", "one: relief")[0] / LPM == approx(20 - q)


def test_its_reliefs_and_guesses_are_known():
    spool = "{s: {port reliefs: {A: 120 bar}, make up: yes}}"
    valve = part("v", f"{{kind: directional valve, {KEYS}, relief: 200 bar, spools: {spool}}}")
    kind = kinds.registry()[valve.kind]
    assert [(r.role, r.port, r.setting) for r in kind.reliefs(valve.params)] == [
        ("relief", "P", 200e5), ("s: relief of A", "s.A", 120e5),
    ]  # fmt: skip
    said = " ".join(kind.assumptions(valve))
    assert "relief of v.s.A: override" in said and "make up cracking" in said


@pytest.mark.parametrize("keys", ["spools: {a: {relief: 100 bar}, b: {}}", "spools: {a: {port reliefs: {C: 100 bar}}}"])
def test_impossible_reliefs_are_refused(keys):
    with pytest.raises(ValueError):
        part("v", f"{{kind: directional valve, centre: open, {keys}}}")


def test_regen_needs_its_position():
    with pytest.raises(ValueError, match="regen"):
        kinds.orders.spool_position(False)("regen")
