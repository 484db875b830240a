"""Loads that hang or drive, tank ports, motors in series, rod sides, pairs."""

from __future__ import annotations

import math
from typing import Any

import pytest
from builddoc import checks
from builddoc.kinds.base import SpoolOrder
from builddoc.kinds.orders import ShaftLoad

from .machines import BAR, Machine, findings, hose, mill

CAP, RING = math.pi / 4 * 0.05**2, math.pi / 4 * (0.05**2 - 0.028**2)


def hanging(**states: dict[tuple[str, str], Any]) -> Machine:
    """The ram of the mill carries 4 kN that push the rod in."""
    machine = mill(**states)
    machine.states["held up"] = {("ram", "load"): 4000.0}
    return machine


def series() -> Machine:
    """Two motors on a valve fed in series: 80 and 160 cm3, 61 and 216 N m."""
    machine = mill()
    del machine.parts["ram"]
    machine.parts["bank"] |= {"spools": ["feed", "turn"], "feed": "series"}
    for name, size in (("first", "80 cc/rev"), ("second", "160 cc/rev")):
        machine.parts[name] = {"kind": "hydraulic motor", "displacement": size, "mechanical efficiency": "85 %",
                               "rating": "210 bar"}  # fmt: skip
    for name in ("close", "open"):
        del machine.lines[name]
    for motor, spool in (("first", "feed"), ("second", "turn")):
        machine.lines[f"{motor} out"] = {"route": f"bank.{spool}.A > {motor}.A", "conduit": hose()}
        machine.lines[f"{motor} back"] = {"route": f"{motor}.B > bank.{spool}.B", "conduit": hose()}
    both = {("bank", "feed"): SpoolOrder("A"), ("bank", "turn"): SpoolOrder("A")}
    loads = {("first", "load"): ShaftLoad(65.0), ("second", "load"): ShaftLoad(216.0)}
    machine.states = {"idling": {}, "both": {**both, **loads}}
    return machine


def two_valves(rating: str | None = None) -> Machine:
    """A second valve on the tank port of the first."""
    machine = mill()
    machine.parts["second"] = {
        "kind": "directional valve", "centre": "open", "spools": ["lift"], "rating": "210 bar",
        "tank port rating": "25 bar",
    }  # fmt: skip
    machine.parts["arm"] = machine.parts["ram"]
    if rating:
        machine.parts["bank"]["tank port rating"] = rating
    machine.lines["return"]["route"] = "bank.T > second.P"
    machine.lines["return"]["conduit"] = hose(19e-3, 225.0)
    machine.lines["return 2"] = {"route": "second.T > tank.oil", "conduit": hose(19e-3, 50.0)}
    machine.lines["arm up"] = {"route": "second.lift.A > arm.cap", "conduit": hose()}
    machine.lines["arm down"] = {"route": "second.lift.B > arm.rod", "conduit": hose()}
    machine.states["arm lifts"] = {("second", "lift"): SpoolOrder("A"), ("arm", "load"): 15e3}
    return machine


def coupled(rod_relief: bool = False) -> Machine:
    """A quick coupler on the rod side of the ram; no state has it apart."""
    machine = mill()
    machine.parts["coupler"] = {"kind": "quick coupler", "rating": "250 bar"}
    machine.lines["open"]["route"] = "bank.clamp.B > coupler.A"
    machine.lines["rod hose"] = {"route": "coupler.B > ram.rod", "conduit": hose(9.5e-3, 180.0)}
    if rod_relief:
        machine.parts["rod tee"] = {"kind": "tee", "rating": "250 bar"}
        machine.parts["rod relief"] = {"kind": "relief valve", "setting": "170 bar", "rating": "250 bar"}
        machine.lines["rod hose"]["route"] = "coupler.B > rod tee.run a"
        machine.lines["rod hose 2"] = {"route": "rod tee.run b > ram.rod", "conduit": hose(9.5e-3, 200.0)}
        machine.lines["to rod relief"] = {"route": "rod tee.branch > rod relief.inlet", "conduit": hose(rating=200.0)}
        machine.lines["rod relief back"] = {"route": "rod relief.outlet > tank.oil", "conduit": hose()}
    return machine


def pair(right_length: float = 1.0) -> Machine:
    """Two rams on one beam, fed through tees; the right one by a longer line."""
    machine = mill()
    machine.parts["right"] = machine.parts["ram"]
    for tee in ("cap tee", "rod tee"):
        machine.parts[tee] = {"kind": "tee", "rating": "210 bar"}
    machine.lines["close"]["route"] = "bank.clamp.A > cap tee.run a"
    machine.lines["open"]["route"] = "bank.clamp.B > rod tee.run a"
    for port, tee in (("cap", "cap tee"), ("rod", "rod tee")):
        machine.lines[f"left {port}"] = {"route": f"{tee}.run b > ram.{port}", "conduit": hose(9.5e-3), "length": 1.0}
        machine.lines[f"right {port}"] = {
            "route": f"{tee}.branch > right.{port}", "conduit": hose(9.5e-3), "length": right_length,
        }  # fmt: skip
    machine.ties = {"beam": ("ram", "right")}
    machine.states = {"lifting": {("bank", "clamp"): SpoolOrder("A"), ("beam", "load"): 20e3}}
    machine.temperatures = {"lifting": 278.15}
    return machine


# ---------------------------------------------------------------- loads
def test_load_that_hangs_on_a_spool_is_a_warning() -> None:
    (f,) = findings(hanging().case(), "load-no-holding")
    assert (f.outcome, f.signal, f.subject, f.state) == ("finding", "WARNING", "ram", "held up")
    assert "4 kN" in f.headline and "bank alone, by the cap side" in f.headline


def test_load_behind_a_check_at_the_cylinder_or_on_a_stop_is_no_finding() -> None:
    machine = hanging()
    machine.parts["lock"] = {"kind": "check valve", "rating": "210 bar"}
    machine.lines["close"]["route"] = "bank.clamp.A > lock.inlet"
    machine.lines["lock line"] = {"route": "lock.outlet > ram.cap", "conduit": hose()}
    assert [f.outcome for f in findings(machine.case(), "load-no-holding")] == ["ok"]
    machine.parts["lock"]["kind"] = "relief valve"  # not known to shut tight
    machine.parts["lock"]["setting"] = "100 bar"
    (f,) = findings(machine.case(), "load-no-holding")
    assert f.outcome == "not checked" and "ends at lock" in f.headline
    machine = hanging()
    machine.states["held up"][("ram", "stop")] = "retracted"
    assert [f.outcome for f in findings(machine.case(), "load-no-holding")] == ["does not apply"]
    assert [f.outcome for f in findings(mill().case(), "load-no-holding")] == ["does not apply"]


def test_a_stall_against_a_load_is_not_a_hanging_load() -> None:
    machine = mill(stall={("bank", "clamp"): SpoolOrder("A"), ("ram", "load"): 40e3})
    assert not findings(machine.case(), "load-no-holding", "finding")


def test_load_pressure_is_told_with_the_lines_that_keep_it() -> None:
    """The rod side is shut in too and may be drawn down to -0.9 bar: so little is left of the load's own 20.4 bar."""
    (f,) = findings(hanging().case(), "load-induced-pressure")
    assert f.outcome == "finding" and f.signal == "NOTICE" and f.headline.startswith("close: kept under pressure")
    assert f.figures["pressure"] == pytest.approx((4000 - 0.9 * BAR * RING) / CAP)


def test_load_that_runs_ahead_of_the_pump_and_one_that_does_not() -> None:
    """25 kN pull the rod out against the throttled way out of the rod side: the piston fills faster than the pump."""
    machine = mill(runs={("bank", "clamp"): SpoolOrder("A"), ("ram", "load"): -25e3})
    case = machine.case()
    (f,) = findings(case, "load-overrunning")
    assert (f.outcome, f.signal, f.state) == ("finding", "WARNING", "runs")
    assert f.figures["speed"] > 10e-6 * 40 * 0.93 / CAP
    run = [g for g in checks.run(case) if g.outcome == "finding" and g.rule in ("suct-void", "load-overrunning")]
    assert [g.rule for g in run] == ["load-overrunning"]  # the void is told there
    machine = mill(follows={("bank", "clamp"): SpoolOrder("A"), ("ram", "load"): -300.0})
    machine.parts["bank"]["drop"] = "60 bar at 20 L/min"
    assert [f.outcome for f in findings(machine.case(), "load-overrunning")] == ["ok"]
    assert [f.outcome for f in findings(mill().case(), "load-overrunning")] == ["does not apply"]


def test_void_at_either_of_two_tied_rods_is_found_in_either_order_of_writing() -> None:
    for names in (("ram", "twin"), ("twin", "ram")):
        machine = mill(follows={("bank", "clamp"): SpoolOrder("A"), ("pair", "load"): -300.0})
        machine.parts["bank"]["drop"] = "60 bar at 20 L/min"
        machine.parts["twin"] = dict(machine.parts["ram"])
        machine.parts = {n: machine.parts[n] for n in sorted(machine.parts, key=lambda n: (n in names, n == names[1]))}
        machine.lines["fill"] = {"route": "tank.oil > twin.cap", "conduit": hose()}
        machine.lines["drain"] = {"route": "twin.rod > tank.oil", "conduit": hose()}
        machine.ties = {"pair": names}
        case = machine.case()
        s = case.results.states.index("follows")
        assert case.results.speed("ram", "rod")[s] > 0 and not case.solution.states[s].void
        case.solution.states[s].void[case.network.port_nodes["twin", "cap"]] = 1e-5
        (f,) = findings(case, "load-overrunning")
        assert f.outcome == "finding" and f.figures["missing flow"] == 1e-5, names


def test_loads_of_an_unsolved_circuit_are_not_checked() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    machine.states = {"clamp at its stop": machine.states["clamp at its stop"]}
    for rule in ("load-no-holding", "load-overrunning", "load-induced-pressure"):
        assert [f.outcome for f in findings(machine.case(), rule)] == ["not checked"], rule


# ---------------------------------------------------------------- tank ports and returns
def test_tank_port_that_feeds_another_valve() -> None:
    (f,) = findings(two_valves().case(), "path-tank-port-pressurised")
    assert (f.outcome, f.signal, f.state) == ("finding", "WARNING", "arm lifts")
    assert "bank.T feeds second" in f.headline and "rated 20 bar" in f.headline
    assert f.figures["pressure"] == pytest.approx(15e3 / CAP, rel=0.1)
    assert [f.outcome for f in findings(two_valves("210 bar").case(), "path-tank-port-pressurised")] == ["ok"]
    assert [f.outcome for f in findings(mill().case(), "path-tank-port-pressurised")] == ["does not apply"]
    machine = two_valves()
    del machine.parts["bank"]["tank port rating"]
    (f,) = findings(machine.case(), "path-tank-port-pressurised")
    assert f.outcome == "finding" and "not rated" in f.headline


def test_back_pressure_of_a_narrow_return() -> None:
    assert [f.outcome for f in findings(mill().case(), "ret-backpressure")] == ["ok"]
    machine = mill()
    machine.lines["return"] |= {"conduit": hose(8e-3, 210.0), "length": 16.0}
    machine.parts["bank"]["tank port rating"] = "100 bar"
    (f,) = findings(machine.case(), "ret-backpressure")
    assert f.outcome == "finding" and f.signal == "NOTICE" and f.figures["pressure"] > 10 * BAR
    machine.parts["bank"]["tank port rating"] = "5 bar"
    (f,) = findings(machine.case(), "ret-backpressure")
    assert f.outcome == "does not apply" and "judged there" in f.headline


# ---------------------------------------------------------------- motors
def test_pressures_in_series_add() -> None:
    """T 2 pi / (V efficiency): 65 N m on 80 cm3 60 bar, 216 N m on 160 cm3 100 bar; more than 150 bar."""
    (f,) = findings(series().case(), "path-series-sum")
    needs = 2 * math.pi / 0.85 * (65 / 80e-6 + 216 / 160e-6)
    assert f.outcome == "finding" and f.figures["pressure"] == pytest.approx(needs) and "they stall" in f.headline
    machine = series()
    machine.states["both"][("second", "load")] = ShaftLoad(100.0)
    assert [f.outcome for f in findings(machine.case(), "path-series-sum")] == ["ok"]
    machine.states = {"idling": {}}
    assert [f.outcome for f in findings(machine.case(), "path-series-sum")] == ["not checked"]
    assert [f.outcome for f in findings(mill().case(), "path-series-sum")] == ["does not apply"]


def test_first_motor_of_a_series_needs_a_drain() -> None:
    machine = series()
    (f,) = findings(machine.case(), "motor-series-drain")
    assert (f.outcome, f.signal, f.subject) == ("finding", "CAUTION", "first")
    machine.parts["first"] |= {"case drain": True, "drain rating": "5 bar"}
    machine.lines["drain"] = {"route": "first.drain > tank.oil", "conduit": hose(9.5e-3)}
    assert [f.outcome for f in findings(machine.case(), "motor-series-drain")] == ["ok"]
    by_motor = {f.subject: f.outcome for f in findings(machine.case(), "motor-case-pressure")}
    assert by_motor["first"] == "ok"
    assert [f.outcome for f in findings(mill().case(), "motor-series-drain")] == ["does not apply"]


def test_motors_joined_outlet_to_inlet_are_a_series_too() -> None:
    machine = series()
    machine.parts["bank"] |= {"spools": ["feed"], "feed": "parallel"}
    for name in ("first back", "second out", "second back"):
        del machine.lines[name]
    machine.lines["between"] = {"route": "first.B > second.A", "conduit": hose()}
    machine.lines["back"] = {"route": "second.B > bank.feed.B", "conduit": hose()}
    loads = {("first", "load"): ShaftLoad(20.0), ("second", "load"): ShaftLoad(50.0)}
    machine.states = {"both": {("bank", "feed"): SpoolOrder("A"), **loads}}
    case = machine.case()
    assert [f.subject for f in findings(case, "motor-series-drain", "finding")] == ["first"]
    assert [f.outcome for f in findings(case, "path-series-sum")] == ["ok"]


def test_pressure_at_a_shaft_seal_against_the_rating_of_the_case() -> None:
    machine = series()
    machine.states["both"][("second", "load")] = ShaftLoad(100.0)
    by_motor = {f.subject: f for f in findings(machine.case(), "motor-case-pressure")}
    assert by_motor["first"].outcome == "not checked" and "drain rating" in by_motor["first"].missing
    machine.parts["first"]["drain rating"] = "10 bar"
    by_motor = {f.subject: f for f in findings(machine.case(), "motor-case-pressure")}
    assert (by_motor["first"].outcome, by_motor["first"].signal) == ("finding", "CAUTION")
    assert [f.outcome for f in findings(mill().case(), "motor-case-pressure")] == ["does not apply"]


# ---------------------------------------------------------------- cylinders
def test_rod_side_that_a_coupler_can_shut() -> None:
    """151 bar times the ratio of areas, 1.457: 220 bar on a hose of 180."""
    (f,) = findings(coupled().case(), "cyl-rod-intensify")
    assert (f.outcome, f.signal, f.subject) == ("finding", "WARNING", "ram")
    assert f.figures["pressure"] == pytest.approx(151.3 * BAR * CAP / RING, rel=0.005)
    assert "No declared state shows it" in f.text
    machine = coupled()
    machine.lines["rod hose"]["conduit"] = hose(9.5e-3, 140.0)
    assert [f.signal for f in findings(machine.case(), "cyl-rod-intensify")] == ["DANGER"]
    machine.states["apart"] = {("coupler", "position"): False, ("bank", "clamp"): SpoolOrder("A")}
    (f,) = findings(machine.case(), "cyl-rod-intensify")
    assert f.signal == "WARNING" and "A declared state shows it" in f.text
    assert [f.outcome for f in findings(coupled(rod_relief=True).case(), "cyl-rod-intensify")] == ["ok"]
    (f,) = findings(mill().case(), "cyl-rod-intensify")
    assert f.outcome == "ok" and "nothing but a spool" in f.headline


def test_buckling_of_a_slender_rod() -> None:
    """Euler at twice the stroke: pi^2 210e9 pi/64 0.028^4 / 0.8^2 = 97.7 kN, over 3.5: 27.9 kN; the push is 29.7 kN."""
    (f,) = findings(mill().case(), "cyl-buckling")
    assert f.outcome == "finding" and f.signal == "NOTICE"
    assert f.figures["allowed"] == pytest.approx(math.pi**3 * 210e9 / 64 * 0.028**4 / 0.8**2 / 3.5, rel=1e-6)
    machine = mill()
    machine.parts["ram"]["stroke"] = "300 mm"
    assert [f.outcome for f in findings(machine.case(), "cyl-buckling")] == ["ok"]
    machine.parts["ram"]["stroke"] = "1200 mm"
    assert [f.signal for f in findings(machine.case(), "cyl-buckling")] == ["WARNING"]
    del machine.parts["ram"]["stroke"]
    assert [f.outcome for f in findings(machine.case(), "cyl-buckling")] == ["not checked"]


# ---------------------------------------------------------------- pairs
def test_one_side_of_a_pair_may_carry_it_all() -> None:
    (f,) = findings(pair().case(), "pair-rigid-force")
    assert f.outcome == "finding" and f.figures["pressure alone"] == pytest.approx(20e3 / CAP)
    machine = pair()
    machine.states["lifting"][("beam", "load")] = 40e3  # 204 bar alone
    assert [f.outcome for f in findings(machine.case(), "pair-rigid-force")] == ["ok"]
    machine.states = {"idle": {}}
    assert [f.outcome for f in findings(machine.case(), "pair-rigid-force")] == ["not checked"]
    assert [f.outcome for f in findings(mill().case(), "pair-rigid-force")] == ["does not apply"]


def test_unequal_legs_press_unequally_when_cold() -> None:
    assert [f.outcome for f in findings(pair().case(), "pair-tee-unbalance")] == ["ok"]
    (f,) = findings(pair(right_length=6.0).case(), "pair-tee-unbalance")
    assert (f.outcome, f.signal, f.state) == ("finding", "CAUTION", "lifting") and f.figures["difference"] > 5 * BAR
    machine = pair()
    machine.states = {"idle": {}}
    assert [f.outcome for f in findings(machine.case(), "pair-tee-unbalance")] == ["not checked"]
    assert [f.outcome for f in findings(mill().case(), "pair-tee-unbalance")] == ["does not apply"]
