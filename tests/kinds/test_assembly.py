"""Assembly and results: nodes, taps, direct joints, ties, temperatures, what is not known stays unknown."""

from __future__ import annotations

import numpy as np
import pytest
from builddoc.assemble import assemble
from builddoc.circuit import Fitting, Oil
from builddoc.nodes import number
from builddoc.physics import line as laws
from builddoc.physics import oil

from .bench import BAR, LPM, SUPPLY, TANK, circuit, line, pump, relief, solved, square

OIL46 = Oil("46", 46e-6, 6.8e-6, 870.0, 318.15)
GAUGE = "{kind: gauge point}"


def test_reservoir_joined_ports_and_direct_joints_share_nodes():
    parts = {"tank": TANK, "p": pump(10), "t": "{kind: tee}", "g": GAUGE}
    made = circuit(parts, ["tank.oil > p.inlet", "p.outlet > t.run a"])
    nodes = number(made)
    assert nodes.ports["tank", "oil"] == nodes.ports["p", "inlet"] == 0
    assert nodes.ports["p", "outlet"] == nodes.ports["t", "run b"] == nodes.ports["t", "branch"]
    assert len({*nodes.ports.values()}) == len(nodes.names) == 3
    assert nodes.names[0] == "reservoir" and "p.outlet" in nodes.names


def test_a_line_with_taps_is_several_runs():
    feed = line("feed", "p.outlet > o.A", 0.0127, 0.8, [Fitting("elbow", 0.9, 2)])
    made = circuit(
        {"tank": TANK, "p": pump(40), "o": square(1, 40), "g": GAUGE, "h": GAUGE, "k": GAUGE},
        ["tank.oil > p.inlet", "o.B > tank.oil", "feed at 0.6 > h.port", "feed at 0.8 > k.port"],
        lines=[feed, line("gauge hose", "feed at 0.4 > g.port", 0.006, 0.3)], oil=OIL46,
    )  # fmt: skip
    net = assemble(made)
    runs = [net.branches[k] for k in net.line_branches["feed"]]
    assert len(runs) == 3
    short = runs[1].tube.laminar[0]
    assert [b.tube.laminar[0] for b in runs] == pytest.approx([2 * short, short, short])
    assert runs[0].b[0] == pytest.approx(laws.minor_loss(1.8, 0.0127, oil.density(870.0, 318.15))) and runs[1].b[0] == 0
    assert net.port_nodes["h", "port"] == runs[1].j
    assert net.port_nodes["k", "port"] == runs[2].j == net.port_nodes["o", "A"]
    assert net.line_nodes["gauge hose"][0] == runs[0].j


def test_a_tapped_line_loses_what_a_whole_one_loses():
    def drop(extra):
        r = solved(
            {"tank": TANK, "p": pump(40), "o": square(1, 40), "g": GAUGE},
            ["tank.oil > p.inlet", "o.B > tank.oil", *extra],
            lines=[line("feed", "p.outlet > o.A", 0.0127, 0.8)], oil=OIL46,
        )  # fmt: skip
        a, b = r.line_pressures("feed")
        return a[0] - b[0]

    rho, nu = oil.density(870.0, 318.15), oil.viscosity(46e-6, 6.8e-6, 318.15)
    expected = laws.pressure_drop(40 * LPM, 0.8, 0.0127, rho, nu)
    assert drop([]) == pytest.approx(expected, rel=1e-4) == pytest.approx(drop(["feed at 0.3 > g.port"]), rel=1e-4)


def test_taps_out_of_reach_and_in_a_ring_are_refused():
    feed = line("feed", "h.port > g.port", 0.01, 0.8)
    with pytest.raises(ValueError, match="outside"):
        number(circuit({"g": GAUGE, "h": GAUGE}, ["feed at 0.9 > g.port"], lines=[feed]))
    ring = [line("a", "b at 0 > g.port", 0.01, 1.0), line("b", "a at 0 > h.port", 0.01, 1.0)]
    with pytest.raises(ValueError, match="ring"):
        number(circuit({"g": GAUGE, "h": GAUGE}, lines=ring))


def test_states_have_their_own_oil():
    made = circuit(
        {"tank": TANK, "g": GAUGE}, states={"warm": {}, "cold": {}}, temperatures={"cold": 263.15}, oil=OIL46,
        lines=[line("l", "tank.oil > g.port", 0.01, 1.0)],
    )  # fmt: skip
    tube = assemble(made).branches[0].tube
    assert tube.laminar[1] / tube.laminar[0] > 20
    assert tube.laminar[1] == pytest.approx(
        laws.laminar_resistance(1.0, 0.01, oil.density(870.0, 263.15), oil.viscosity(46e-6, 6.8e-6, 263.15))
    )


def test_flows_in_direct_joints():
    # Pump 20 L/min into a tee; a gauge, a relief that stays shut, an orifice on it; everything screwed together.
    r = solved(
        {
            "tank": TANK, "pump": pump(20), "t": "{kind: tee}", "t2": "{kind: tee}", "rv": relief(100), "g": GAUGE,
            "o": square(5, 20),
        },
        [*SUPPLY, "t2.run a > t.branch", "t2.run b > g.port", "t2.branch > o.A", "o.B > tank.oil"],
    )  # fmt: skip
    found = [r.line_flow(name)[0] / LPM for name in r.circuit.lines]
    assert found == pytest.approx([20, 20, 0, 0, -20, 0, 20, 20], abs=1e-5)


def test_joints_at_taps_and_in_rings():
    r = solved(
        {
            "tank": TANK, "p": pump(20), "a": square(5, 10), "b": square(5, 10), "t": "{kind: tee, ports: 4}",
            "u": "{kind: tee}",
        },
        ["tank.oil > p.inlet", "feed at 0.5 > a.A", "a.B > tank.oil", "b.B > tank.oil",
         "t.run b > u.run a", "t.branch > u.run b", "u.branch > b.A"],
        lines=[line("feed", "p.outlet > t.run a", 0.02, 1.0)],
    )  # fmt: skip
    flow = r.flow("a", "passage")[0]
    assert r.line_flow("joint 1")[0] == pytest.approx(flow) and 0 < flow < 20 * LPM
    assert r.line_flow("joint 6")[0] == pytest.approx(20 * LPM - flow)
    assert np.isnan(r.line_flow("joint 4")[0]) and np.isnan(r.line_flow("joint 5")[0])  # two ways for one flow


def test_joint_flow_of_tied_cylinders_is_each_ones_own():
    r = solved(
        {
            "tank": TANK, "pump": pump(24), "rv": relief(180), "t": "{kind: tee, ports: 4}",
            "one": "{kind: cylinder, bore: 60 mm, rod: 35 mm}", "two": "{kind: cylinder, bore: 40 mm, rod: 20 mm}",
        },
        [*SUPPLY, "t.branch > one.cap", "t.branch b > two.cap", "one.rod > tank.oil", "two.rod > tank.oil"],
        {"only": {("pair", "load"): 35e3}},
        ties={"pair": ("one", "two")},
    )  # fmt: skip
    share = 60**2 / (60**2 + 40**2)
    assert r.line_flow("joint 4")[0] / LPM == pytest.approx(24 * share, rel=1e-4)
    assert r.line_flow("joint 5")[0] / LPM == pytest.approx(24 * (1 - share), rel=1e-4)
    assert r.line_flow("joint 6")[0] / LPM == pytest.approx(-(-24 * share * (1 - (35 / 60) ** 2)), rel=1e-4)


def test_heat_is_what_is_lost_everywhere():
    # Heat from the power balance equals the sum of all losses found one by one.
    r = solved(
        {
            "tank": TANK, "rv": relief(180, "5 bar at 20 L/min"), "t": "{kind: tee}",
            "pump": pump(20, "volumetric efficiency: 90 %, efficiency pressure: 200 bar"),
            "v": "{kind: directional valve, centre: open}", "f": "{kind: filter}",
            "m": "{kind: hydraulic motor, displacement: 100 cc/rev, leakage: 1 L/min at 100 bar, "
            "mechanical efficiency: 80 %}",
        },
        [*SUPPLY, "t.branch > v.P", "v.A > m.A", "m.B > v.B", "f.outlet > tank.oil"],
        {"turning": {("v", "position"): _position("A"), ("m", "load"): _load(100.0)}, "idling": {}},
        lines=[line("return", "v.T > f.inlet", 0.0127, 2.0, [Fitting("elbow", 0.9)])], oil=OIL46,
    )  # fmt: skip
    passages = sum(r.dissipation(name) for name in (*r.circuit.parts, "return"))
    turning = np.abs(r.speed("m", "shaft")) * np.array([100 * (1 / 0.8 - 1), 0.0])
    assert r.heat() == pytest.approx(passages + turning, rel=1e-5)
    assert r.output_power() == pytest.approx(np.array([100.0, 0.0]) * r.speed("m", "shaft"), rel=1e-5, abs=1e-6)


def _position(letter):
    from builddoc.kinds.base import SpoolOrder

    return SpoolOrder(letter)


def _load(torque):
    from builddoc.kinds.orders import ShaftLoad

    return ShaftLoad(resisting=torque)


def test_worst_names_the_state_and_leaves_out_the_unknown():
    r = solved(
        {"tank": TANK, "p": pump(20), "o": square(5, 20)}, ["tank.oil > p.inlet", "p.outlet > o.A", "o.B > tank.oil"],
        {"one": {}, "two": {}},
    )  # fmt: skip
    worst = r.worst(np.array([np.nan, 3.0]))
    assert worst is not None and (worst.state, worst.value, worst.index) == ("two", 3.0, 1)
    assert r.worst(np.array([2.0, 3.0]), lowest=True).state == "one"
    assert r.worst(np.array([np.nan, np.nan])) is None
    with pytest.raises(KeyError):
        r.flow("o", "relief")
    with pytest.raises(KeyError):
        r.source_flow("o")


def test_starved_pump_delivers_what_it_gets():
    # A suction line so thin that the whole flow would need more than there is: the outlet gets less than displacement.
    r = solved(
        {"tank": TANK, "p": pump(20), "o": square(5, 20)}, ["p.outlet > o.A", "o.B > tank.oil"],
        lines=[line("suction", "tank.oil > p.inlet", 0.006, 2.0)],
    )  # fmt: skip
    assert r.pressure("p", "inlet")[0] / BAR == pytest.approx(-0.9, rel=1e-3)
    assert r.source_flow("p")[0] < 19 * LPM
    assert r.source_flow("p")[0] == pytest.approx(r.line_flow("suction")[0], rel=1e-3)
    assert r.line_flow("joint 0")[0] == pytest.approx(r.flow("o", "passage")[0], rel=1e-6)
