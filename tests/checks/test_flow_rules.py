"""What limits a pump, where its flow goes, suction, velocity, heat, power, states without an answer."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from builddoc import checks, report
from builddoc.checks import heat, walk
from builddoc.checks.base import Case
from builddoc.checks.duty import duties
from builddoc.checks.unsolved import explain
from builddoc.network import RESERVOIR
from builddoc.results import Results
from builddoc.solution import StateSolution, Verdict

from .machines import BAR, LPM, OIL, Machine, findings, hose, mill


def with_coupler(position: bool | None = None, relief_before: bool = False) -> Machine:
    """The mill with a quick coupler in its feed; a state with it apart; a relief on the pump's side on request."""
    machine = mill()
    machine.parts["coupler"] = {"kind": "quick coupler", "rating": "250 bar"}
    if position is not None:
        machine.states["apart"] = {("coupler", "position"): position}
    machine.lines["feed"]["route"] = "pump.outlet > coupler.A"
    machine.lines["feed 2"] = {"route": "coupler.B > bank.P", "conduit": hose()}
    if relief_before:
        machine.parts["tee"] = {"kind": "tee", "rating": "210 bar"}
        machine.parts["relief"] = {"kind": "relief valve", "setting": "160 bar", "rating": "210 bar"}
        machine.lines["feed"]["route"] = "pump.outlet > tee.run a"
        machine.lines["to coupler"] = {"route": "tee.run b > coupler.A", "conduit": hose()}
        machine.lines["to relief"] = {"route": "tee.branch > relief.inlet", "conduit": hose()}
        machine.lines["relief return"] = {"route": "relief.outlet > tank.oil", "conduit": hose(19e-3)}
    return machine


def kidney_loop() -> Machine:
    """Pump and cooler and nothing that can shut."""
    machine = mill()
    for name in ("bank", "ram"):
        del machine.parts[name]
    machine.parts["cooler"] = {"kind": "cooler", "drop": "1 bar at 20 L/min", "rating": "20 bar"}
    machine.lines = {
        "suction": {"route": "tank.oil > pump.inlet", "conduit": hose(25.4e-3, None), "length": 0.5},
        "to cooler": {"route": "pump.outlet > cooler.inlet", "conduit": hose(19e-3)},
        "back": {"route": "cooler.outlet > tank.oil", "conduit": hose(19e-3)},
    }
    machine.states = {"running": {}}
    return machine


def no_pump() -> Machine:
    return Machine(
        parts={"tank": {"kind": "reservoir"}, "ram": {"kind": "single-acting cylinder", "bore": "50 mm"}},
        lines={"line": {"route": "ram.cap > tank.oil", "conduit": hose()}},
    )


# ---------------------------------------------------------------- relief-none, relief-isolated
def test_without_its_relief_nothing_limits_the_pump() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    case = machine.case()
    (f,) = findings(case, "relief-none")
    assert (f.outcome, f.signal, f.state) == ("finding", "DANGER", "clamp at its stop")
    assert "Nothing limits the pump" in f.headline
    assert "ram (at its stop)" in f.text
    assert [f.outcome for f in findings(case, "relief-isolated")] == ["does not apply"]


def test_missing_relief_is_found_even_if_no_declared_state_is_blocked() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    machine.states = {"idling": {}}
    (f,) = findings(machine.case(), "relief-none")
    assert f.outcome == "finding" and "no relief can be reached" in f.headline


def test_built_in_relief_limits_the_pump() -> None:
    case = mill().case()
    assert [f.outcome for f in findings(case, "relief-none")] == ["ok"]
    assert [f.outcome for f in findings(case, "relief-isolated")] == ["ok"]


def test_relief_whose_return_can_be_shut_is_isolated() -> None:
    machine = mill()
    machine.parts["tank valve"] = {"kind": "shut-off valve", "rating": "50 bar"}
    machine.lines["return"]["route"] = "bank.T > tank valve.A"
    machine.lines["return 2"] = {"route": "tank valve.B > tank.oil", "conduit": hose(19e-3)}
    (f,) = findings(machine.case(), "relief-isolated")
    assert f.outcome == "finding" and f.headline.startswith("tank valve can shut")


def test_coupler_between_pump_and_relief() -> None:
    (f,) = findings(with_coupler().case(), "relief-isolated")
    assert (f.outcome, f.signal) == ("finding", "DANGER")
    assert f.headline.startswith("coupler can shut pump off")
    assert [f.outcome for f in findings(with_coupler().case(), "relief-none")] == ["ok"]
    (f,) = findings(with_coupler(False).case(), "relief-none")
    assert f.outcome == "finding" and f.state == "apart" and "coupler (apart)" in f.text


def test_check_valve_the_wrong_way_round_cuts_the_relief_off() -> None:
    machine = with_coupler(relief_before=True)
    machine.parts["check"] = {"kind": "check valve", "rating": "250 bar"}
    machine.lines["to relief"]["route"] = "tee.branch > check.outlet"
    machine.lines["to relief 2"] = {"route": "check.inlet > relief.inlet", "conduit": hose()}
    (f,) = findings(machine.case(), "relief-isolated")
    assert f.outcome == "finding"  # only the relief behind the coupler is left


def test_loop_that_cannot_be_shut_needs_no_relief() -> None:
    case = kidney_loop().case()
    assert [f.outcome for f in findings(case, "relief-none")] == ["does not apply"]
    assert [f.outcome for f in findings(case, "relief-isolated")] == ["does not apply"]


@pytest.mark.parametrize(
    "rule", ["relief-none", "relief-isolated", "suct-vacuum", "power-engine", "path-dead-end", "relief-heat"]
)
def test_without_a_pump_the_pump_rules_do_not_apply(rule: str) -> None:
    assert [f.outcome for f in findings(no_pump().case(), rule)] == ["does not apply"]


# ---------------------------------------------------------------- couplers and dead ends
def test_open_coupler_says_over_which_relief_the_flow_goes() -> None:
    (f,) = findings(with_coupler(False, relief_before=True).case(), "path-deadhead-coupler")
    assert (f.outcome, f.signal, f.state) == ("finding", "WARNING", "apart")
    assert "100 %" in f.headline and "relief" in f.headline
    assert "22.3 L/min over relief at 17" in f.text and "kW of heat" in f.text
    flow = 10e-6 * 40 * 0.93  # m3/s: 10 cm3 per turn, 40 turns per second, 93 %
    assert f.figures["heat"] == pytest.approx(flow * 160e5 * (1 + 0.15 * flow / (40 * LPM)), rel=0.01)


def test_open_coupler_before_the_relief_leaves_nothing() -> None:
    (f,) = findings(with_coupler(False).case(), "path-deadhead-coupler")
    assert f.signal == "DANGER" and "nowhere to go" in f.headline


def test_coupler_without_a_state_apart_is_not_checked() -> None:
    (f,) = findings(with_coupler().case(), "path-deadhead-coupler")
    assert f.outcome == "not checked" and "coupler: open" in f.missing


def test_coupler_that_parks_a_side_branch_is_ok() -> None:
    machine = mill()
    machine.parts["coupler"] = {"kind": "quick coupler", "rating": "250 bar"}
    machine.lines["close"]["route"] = "bank.clamp.A > coupler.A"
    machine.lines["close 2"] = {"route": "coupler.B > ram.cap", "conduit": hose(9.5e-3, 330.0)}
    machine.states["apart"] = {("coupler", "position"): False}
    (f,) = findings(machine.case(), "path-deadhead-coupler")
    assert f.outcome == "ok" and "on through the circuit" in f.text
    assert [f.outcome for f in findings(mill().case(), "path-deadhead-coupler")] == ["does not apply"]


def test_dead_end_is_told_state_by_state() -> None:
    by_state = {f.state: f for f in findings(mill().case(), "path-dead-end")}
    assert by_state["idling"].outcome == "ok" and by_state["closing"].outcome == "ok"
    f = by_state["clamp at its stop"]
    assert f.outcome == "finding" and "the relief in bank: 22.3 L/min at 151 bar, 5.62 kW" in f.headline
    machine = mill()
    del machine.parts["bank"]["relief"]
    (f,) = findings(machine.case(), "path-dead-end", "not checked")
    assert "clamp at its stop" in f.missing and f.place is not None and f.place.line == 92


# ---------------------------------------------------------------- suction and velocity
def test_narrow_suction_line_fails_the_inlet_pressure_cold() -> None:
    machine = mill(cold={})
    machine.temperatures = {"cold": 263.15}
    machine.lines["suction"] |= {"conduit": hose(25.4e-3, None), "length": 1.0}
    (f,) = findings(machine.case(), "suct-vacuum")
    assert (f.outcome, f.state) == ("finding", "cold")
    # worked figure of the design brief: VG 46 at -10 degC, 24 L/min, 1 m of 25.4 mm bore: 0.50 bar (laminar: dp ~ Q)
    assert -f.figures["pressure"] == pytest.approx(0.50 * BAR * 22.3 / 24, rel=0.04)


def test_inlet_within_its_limit_is_ok_and_the_cold_start_is_asked_for() -> None:
    outcomes = {f.outcome: f for f in findings(mill().case(), "suct-vacuum")}
    assert set(outcomes) == {"ok", "not checked"}
    assert "−10 °C" in outcomes["not checked"].missing
    machine = mill()
    machine.oil = dataclasses.replace(OIL, coldest=None)
    (f,) = findings(machine.case(), "suct-vacuum", "not checked")
    assert "coldest start" in f.missing


def test_starved_pump_is_a_void_and_delivers_less() -> None:
    machine = mill(cold={})
    machine.temperatures = {"cold": 263.15}
    machine.lines["suction"] |= {"conduit": hose(19e-3, None), "length": 1.0}
    case = machine.case()
    (f,) = findings(case, "suct-void")
    assert (f.outcome, f.subject, f.state) == ("finding", "pump", "cold")
    cold = case.results.states.index("cold")
    delivered = case.results.source_flow("pump")
    assert delivered[cold] + f.figures["missing flow"] == pytest.approx(delivered[0], rel=1e-3)
    assert [f.outcome for f in findings(mill().case(), "suct-void")] == ["ok"]


def test_suction_velocity_against_the_guide() -> None:
    """Guide of the trade pages: 2 to 4 ft/s in suction lines."""
    machine = mill()
    assert [f.outcome for f in findings(machine.case(), "suct-velocity")] == ["ok"]
    machine.lines["suction"]["conduit"] = hose(19e-3, None)
    (f,) = findings(machine.case(), "suct-velocity")
    assert f.outcome == "finding" and f.signal == "NOTICE"
    assert f.figures["velocity"] == pytest.approx(10e-6 * 40 * 0.93 / (np.pi / 4 * 0.019**2), rel=1e-6)
    assert f.figures["guide"] == pytest.approx(4 * 0.3048)
    assert "bore of" in f.remedy


def test_velocity_of_pressure_and_return_lines() -> None:
    machine = mill()
    assert not findings(machine.case(), "ret-velocity", "finding")
    machine.lines["return"]["conduit"] = hose(8e-3)
    (f,) = findings(machine.case(), "ret-velocity", "finding")
    assert f.subject == "return" and "7.4 m/s" in f.headline


def test_direct_joint_has_no_velocity_and_an_unsolved_circuit_none_known() -> None:
    machine = mill()
    machine.lines["feed"]["conduit"] = None
    (f,) = (f for f in findings(machine.case(), "ret-velocity") if f.subject == "feed")
    assert f.outcome == "does not apply"
    machine = mill()
    del machine.parts["bank"]["relief"]
    machine.states = {"clamp at its stop": machine.states["clamp at its stop"]}
    assert {f.outcome for f in findings(machine.case(), "ret-velocity")} == {"not checked"}
    assert {f.outcome for f in findings(machine.case(), "suct-velocity")} == {"not checked"}


# ---------------------------------------------------------------- heat and power
def test_relief_heat_and_minutes_to_the_limit() -> None:
    """Worked: 22.3 L/min over 150 bar = 5.6 kW. With the pump's own losses 5.63 kW / (0.93 x 0.9) = 6.7 kW go into the
    oil; 30 L at 870 kg/m3 and 1900 J/(kg K) warm by 8.1 K/min, 62 K in 7.6 min."""
    (f,) = findings(mill().case(), "relief-heat")
    assert f.outcome == "finding" and f.state == "clamp at its stop"
    assert f.figures["heat"] == pytest.approx(5.6e3, rel=0.01)
    assert f.figures["all heat"] == pytest.approx(6.72e3, rel=0.01)
    assert f.figures["rate"] * 60 == pytest.approx(6720 / (0.030 * 870 * 1900) * 60, rel=0.01)
    assert f.figures["time"] / 60 == pytest.approx(7.6, rel=0.01)
    assert "84 % of it over the relief in bank" in f.text and "after 7.6 min" in f.headline
    assert f.signal == "NOTICE"


def test_little_oil_makes_it_a_caution_and_no_volume_leaves_it_not_checked() -> None:
    machine = mill()
    machine.parts["tank"]["volume"] = 10e-3
    (f,) = findings(machine.case(), "relief-heat")
    assert f.signal == "CAUTION" and f.figures["time"] < 300
    del machine.parts["tank"]["volume"]
    (f,) = findings(machine.case(), "relief-heat")
    assert f.outcome == "not checked" and "volume" in f.missing and "5.62 kW" in f.headline


def test_no_flow_over_the_relief_is_ok() -> None:
    machine = mill()
    machine.states = {"idling": {}}
    assert [f.outcome for f in findings(machine.case(), "relief-heat")] == ["ok"]
    assert [f.outcome for f in findings(kidney_loop().case(), "relief-heat")] == ["does not apply"]


def test_engine_power() -> None:
    """P = dp Q / (volumetric x mechanical efficiency); 151 bar, 22.3 L/min, 0.93 x 0.9: 6.7 kW."""
    (f,) = findings(mill().case(), "power-engine")
    assert f.outcome == "ok" and f.figures["power"] == pytest.approx(6.72e3, rel=0.005)
    machine = mill()
    machine.parts["engine"]["power"] = "7 hp at 2400 rpm"
    (f,) = findings(machine.case(), "power-engine")
    assert f.outcome == "finding" and f.state == "clamp at its stop"
    assert f.figures["ratio"] == pytest.approx(6720 / (0.85 * 7 * 745.7), rel=0.01)


def test_pump_without_a_driver_is_not_checked() -> None:
    machine = mill()
    del machine.parts["pump"]["driven by"]
    (f,) = findings(machine.case(), "power-engine")
    assert f.outcome == "not checked" and "driven by" in f.missing and "6.72 kW" in f.headline


def test_heat_into_the_oil_is_shaft_power_less_work() -> None:
    case = mill().case()
    work = heat.work(case)
    closing = case.results.states.index("closing")
    assert work[closing] == pytest.approx(4000.0 * 10e-6 * 40 * 0.93 / (np.pi / 4 * 0.05**2), rel=1e-6)
    (demand,) = heat.demands(case)
    assert heat.into_oil(case) == pytest.approx(demand.power - work)


# ---------------------------------------------------------------- states and pressures left open
def test_unsolved_state_is_a_finding_of_its_own() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    by_outcome = {f.outcome: f for f in findings(machine.case(), "state-unsolved")}
    f = by_outcome["finding"]
    assert f.signal == "DANGER" and f.state == "clamp at its stop" and "feed" in f.text
    assert f.place is not None and f.place.line == 92
    assert "ok" in by_outcome


@pytest.mark.parametrize(
    ("verdict", "signal", "words"),
    [
        (Verdict.RUNAWAY, "WARNING", "ram"),
        (Verdict.SPLIT_OPEN, "NOTICE", "suction"),
        (Verdict.NOT_CONVERGED, "CAUTION", "do not close"),
        (Verdict.OVER_LIMIT, "DANGER", "1000 bar"),
    ],
)
def test_every_verdict_has_its_words(verdict: Verdict, signal: str, words: str) -> None:
    case = mill().case()
    none = np.zeros(0)
    failed = StateSolution(verdict, None, none, none, none, none, none, runaway=[0], open_split=[0], blocked=[1])
    case.solution.states[1] = failed
    case = Case(case.circuit, case.network, case.solution, Results(case.circuit, case.network, case.solution))
    reason = explain(case, 1)
    assert reason.signal == signal and words in reason.text
    assert any(f.state == "closing" for f in findings(case, "state-unsolved", "finding"))
    with pytest.raises(ValueError, match="idling"):
        explain(case, 0)


def test_shut_in_oil_is_told_and_every_fixed_pressure_is_ok() -> None:
    found = findings(mill().case(), "pressure-undetermined")
    (one,) = found  # however many places there are
    assert one.outcome == "finding" and one.signal == "NOTICE"
    assert f"{len(one.points)} places" in one.headline and len(one.points) > 1
    assert any("ram.rod" in point and "'idling'" in point for point in one.points)
    assert [f.outcome for f in findings(kidney_loop().case(), "pressure-undetermined")] == ["ok"]


# ---------------------------------------------------------------- duties, and all rules together
def test_duties_are_worked_out() -> None:
    machine = with_coupler(False, relief_before=True)
    machine.parts["return coupler"] = {"kind": "quick coupler", "rating": "250 bar"}
    machine.lines["return"]["route"] = "bank.T > return coupler.A"
    machine.lines["return 2"] = {"route": "return coupler.B > tank.oil", "conduit": hose(19e-3)}
    case = machine.case()
    assert duties(case.circuit, case.network) == {
        "suction": "suction", "feed": "pressure", "close": "pressure", "open": "pressure", "return": "return",
        "feed 2": "pressure", "to coupler": "pressure", "to relief": "pressure", "relief return": "return",
        "return 2": "return",
    }  # fmt: skip
    machine.lines["return"]["duty"] = "drain"
    circuit = machine.circuit()
    assert duties(circuit, case.network)["return"] == "drain"
    loop = kidney_loop().case()
    assert duties(loop.circuit, loop.network)["to cooler"] == "pressure"


def test_pump_joined_to_the_reservoir_has_a_suction_line() -> None:
    machine = mill()
    machine.lines["suction"] = {"route": "tank.oil > pump.inlet"}
    case = machine.case()
    assert case.network.line_nodes["suction"] == (RESERVOIR, RESERVOIR)
    assert duties(case.circuit, case.network)["suction"] == "suction"


def test_run_sorts_findings_first_and_worst_first() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = "100 bar"
    machine.parts["tank"].pop("volume")
    found = checks.run(machine.case())
    outcomes = [f.outcome for f in found]
    order = ["finding", "not checked", "ok", "does not apply"]
    assert outcomes == sorted(outcomes, key=order.index) and set(outcomes) == set(order)
    signals = [f.signal for f in found if f.outcome == "finding"]
    assert signals == sorted(signals, key=["DANGER", "WARNING", "CAUTION", "NOTICE"].index)
    told = {word.strip(",.") for f in found if "need declarations" in f.headline for word in f.text.split()}
    assert {f.rule for f in found} | (told & set(checks.rules())) == set(checks.rules())


def test_every_rule_says_what_it_rests_on() -> None:
    for rule in checks.rules().values():
        assert rule.title and rule.reason and rule.criterion and rule.remedy and rule.source, rule.id


# ---------------------------------------------------------------- one fault, one finding
def test_a_pump_that_nothing_limits_is_one_danger_and_comes_first() -> None:
    machine = with_coupler(False)
    machine.parts["pump"]["rating"] = "20 bar"
    del machine.parts["bank"]["relief"]
    machine.states["closing"][("ram", "load")] = 25e3
    case = machine.case()
    (f, *rest) = checks.run(case)
    assert f.rule == "relief-none" and f.headline.startswith("Nothing limits the pump")
    assert "With coupler apart" in f.text and "state-unsolved" in f.text and "clamp at its stop" in f.text
    assert any(g.signal == "DANGER" and g.rule == "rating-each-part" for g in rest)  # graver by ratio, but second
    blocked = [g for g in rest if g.outcome == "finding" and g.rule in ("state-unsolved", "path-deadhead-coupler")]
    assert blocked == []
    assert {x.state for x in report.build(case, [f]).failures} == {"clamp at its stop", "apart"}


def test_starved_pump_is_told_once_and_never_as_a_pressure() -> None:
    machine = mill(cold={})
    machine.temperatures = {"cold": 263.15}
    machine.lines["suction"] |= {"conduit": hose(19e-3, None), "length": 1.0}
    found = [f for f in checks.run(machine.case()) if f.outcome == "finding" and f.rule.startswith("suct-v")]
    (f,) = [f for f in found if f.rule != "suct-velocity"]
    assert (f.rule, f.signal, f.state) == ("suct-vacuum", "CAUTION", "cold")
    assert "starved" in f.headline and "0.9" not in f.headline


def test_figures_are_printed_in_the_units_of_the_circuit() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = "100 bar"
    machine.units = ("US", "metric")
    (f,) = (f for f in findings(machine.case(), "rating-each-part", "finding") if f.subject == "pump")
    assert "psi (151 bar), rated 1450 psi (100 bar)" in f.headline
    assert f.figures["rating"] == 100 * BAR


def test_what_is_left_of_nothing_passes_no_relief() -> None:
    """A shut relief whose flow the solver leaves at its last digits passes no oil."""
    machine = mill()
    machine.states = {"idling": {}}
    case = machine.case()
    (item,) = walk.limiters(case.circuit, case.network)
    case.results.q[:, list(item.branches)] = 1e-13
    assert item.flow(case.results) == pytest.approx([0.0], abs=0.0)
