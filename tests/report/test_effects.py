"""What makes a pressure: shares traced through the solved circuit, worked by hand."""

from __future__ import annotations

import math

import pytest
from builddoc.effects import Effects
from builddoc.kinds.base import SpoolOrder
from builddoc.kinds.orders import ShaftLoad
from builddoc.pipeline import solve_text
from builddoc.report.effect import effect

from tests.checks.machines import BAR, Machine, hose, mill
from tests.content.conftest import block
from tests.kinds.bench import SUPPLY, TANK, disc, pump, relief, solved


def largest(machine: Machine, part: str, port: str, state: str):
    case = machine.case()
    r = case.results
    return Effects(r).shares(case.network.port_nodes[part, port], r.states.index(state)), r


def test_relief_holds_what_stands_at_a_stop():
    shares, _ = largest(mill(), "bank", "P", "clamp at its stop")
    assert (shares[0].sort, shares[0].name) == ("relief", "bank")
    assert shares[0].value == pytest.approx(151 * BAR, rel=0.01) and shares[0].gain == pytest.approx(1.0, rel=0.01)


def test_load_and_losses_while_it_moves():
    """4000 N / 19.63 cm2 = 20.4 bar of the cap's pressure come from the load; the rest is loss on the way back."""
    shares, r = largest(mill(), "ram", "cap", "closing")
    cap = r.pressure("ram", "cap")[r.states.index("closing")]
    load = next(s for s in shares if s.sort == "load")
    assert load.value == pytest.approx(4000 / (math.pi / 4 * 0.05**2), rel=1e-3) and load.name == "ram"
    assert sum(s.value for s in shares) == pytest.approx(cap, rel=0.02)  # shares below 1 % are not listed
    assert all(s.sort in ("load", "loss") for s in shares)


def test_intensification_has_the_ratio_of_the_areas():
    """Rod side shut: every cm3 put in there moves cap/ring = 1/(1 - (28/50)^2) = 1.457 cm3 out of the cap side and over
    the relief."""
    machine = mill(shut={("bank", "clamp"): SpoolOrder("A")})
    machine.parts["valve"] = {"kind": "shut-off valve"}
    machine.lines["open"]["route"] = "bank.clamp.B > valve.A"
    machine.lines["rod"] = {"route": "valve.B > ram.rod", "conduit": hose(9.5e-3, 330.0)}
    machine.parts["bank"]["load checks"] = "no"
    machine.states["shut"]["valve", "position"] = 0.0
    case = machine.case()
    s = case.results.states.index("shut")
    node = case.network.port_nodes["ram", "rod"]
    share = Effects(case.results).shares(node, s)[0]
    assert (share.sort, share.name, share.through) == ("relief", "bank", "ram")
    assert share.gain == pytest.approx(1 / (1 - (28 / 50) ** 2), rel=1e-3)
    assert effect(case, node, s) == "relief of bank, open, times 1.46 by intensification in ram"


def test_loads_in_series_add_up():
    """Two motors of 80 cm3/rev in series, 30 and 60 N m: 2 pi T / (V e) each, in the ratio 1:2."""
    machine = mill()
    for name in ("ram",):
        del machine.parts[name]
    for name in ("first", "second"):
        machine.parts[name] = {
            "kind": "hydraulic motor", "displacement": "80 cc/rev", "case drain": "no", "rating": "175 bar",
            "mechanical efficiency": "90 %",
        }  # fmt: skip
    machine.lines["close"]["route"] = "bank.clamp.A > first.A"
    machine.lines["open"]["route"] = "second.B > bank.clamp.B"
    machine.lines["between"] = {"route": "first.B > second.A", "conduit": hose()}
    loads = {("first", "load"): ShaftLoad(30.0), ("second", "load"): ShaftLoad(60.0)}
    machine.states = {"turning": {("bank", "clamp"): SpoolOrder("A"), **loads}}
    case = machine.case()
    node = case.network.port_nodes["first", "A"]
    shares = {(s.sort, s.name): s.value for s in Effects(case.results).shares(node, 0)}
    assert shares["load", "second"] / shares["load", "first"] == pytest.approx(2.0, rel=0.05)
    assert effect(case, node, 0).startswith("in series: load on second, plus load on first")


RAM = "{kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 400 mm}"


def told(parts, joints, orders, port):
    supply = {"tank": TANK, "pump": pump(30), "t": "{kind: tee}", "rv": relief(200)}
    r = solved({**supply, **parts}, joints, {"only": orders})
    return {(x.sort, x.name): x.value / BAR for x in Effects(r).shares(r.network.port_nodes[port], 0)}


def test_load_let_down_by_a_counterbalance():
    """p cap = F + p_pilot ring on the rod and p + 3 p_pilot = Z on the poppet, Z = 180 bar and its droop: with k = ring
    over cap = 0.6864, p = (3 F/cap + k Z) / (3 + k). 20 kN give 82.9 bar of it, the setting at least 33.5."""
    parts = {
        "ram": RAM, "t2": "{kind: tee}",
        "v": "{kind: counterbalance valve, setting: 180 bar, pilot ratio: 3:1, droop: 10 bar, drop: 8 bar at 40 L/min}",
    }  # fmt: skip
    joints = [*SUPPLY, "t.branch > t2.run a", "t2.run b > ram.rod", "t2.branch > v.pilot", "ram.cap > v.load",
              "v.V > tank.oil"]  # fmt: skip
    found = told(parts, joints, {("ram", "load"): 20e3}, ("ram", "cap"))
    k = 1 - (28 / 50) ** 2
    assert found["load", "ram"] == pytest.approx(3 * 20e3 / disc(50) / BAR / (3 + k), rel=1e-3)
    assert k * 180 / (3 + k) < found["setting", "v"] < k * 190 / (3 + k)


def test_load_shut_in_with_nothing_behind_it():
    """6 kN pull on a ring of 13.48 cm2: 44.5 bar, less 0.9 bar x cap/ring where the other side is empty. No loss is
    told of: nothing flows."""
    parts = {"ram": RAM, "x": "{kind: plug}", "y": "{kind: plug}"}
    found = told(parts, [*SUPPLY, "t.branch > x.port", "ram.rod > y.port"], {("ram", "load"): -6e3}, ("ram", "rod"))
    ring = disc(50) - disc(28)
    assert found["load", "ram"] == pytest.approx(6e3 / ring / BAR, rel=1e-3)
    assert found["void", ""] == pytest.approx(-0.9 * disc(50) / ring, rel=1e-2)
    assert not [name for sort, name in found if sort == "loss"]


def test_behind_a_reducing_valve_its_setting_counts_also_at_a_stop():
    parts = {"ram": RAM, "v": "{kind: pressure reducing valve, setting: 60 bar, droop: 4 bar}"}
    joints = [*SUPPLY, "t.branch > v.inlet", "v.outlet > ram.cap", "ram.rod > tank.oil", "v.drain > tank.oil"]
    assert told(parts, joints, {("ram", "stop"): "extended"}, ("ram", "cap")) == {("setting", "v"): pytest.approx(60)}


@pytest.mark.parametrize("page", ["bandsaw-mill-as-first-built.md", "shop-press/before.md"])
def test_every_pressure_of_our_pages_has_its_cause(page):
    """The shares of every pressure add up to it, and none is left without words."""
    case = solve_text(block(page).text).case
    found = Effects(case.results)
    for s in range(case.results.size):
        for node in range(1, len(case.network.nodes)):
            p = case.results.p[s, node]
            if case.results.fixed[s, node] and p > 1e4:
                assert sum(x.value for x in found.shares(node, s)) == pytest.approx(p, rel=0.1), (s, node)
            assert effect(case, node, s) != "not worked out", (case.results.states[s], case.network.nodes[node])
