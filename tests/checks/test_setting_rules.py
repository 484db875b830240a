"""Settings of reliefs, the oil and its reservoir, gauges, couplers, filters."""

from __future__ import annotations

import dataclasses

import pytest
from builddoc.kinds.base import SpoolOrder

from .machines import BAR, LPM, OIL, Machine, findings, hose, mill

FLOW = 10e-6 * 40 * 0.93  # m3/s of the mill's pump


def with_relief(setting: str, **keys: object) -> Machine:
    """The mill with a second relief at the pump."""
    machine = mill()
    machine.parts["tee"] = {"kind": "tee", "rating": "210 bar"}
    machine.parts["second"] = {"kind": "relief valve", "setting": setting, "rating": "250 bar", **keys}
    machine.lines["feed"]["route"] = "pump.outlet > tee.run a"
    machine.lines["feed 2"] = {"route": "tee.run b > bank.P", "conduit": hose()}
    machine.lines["to second"] = {"route": "tee.branch > second.inlet", "conduit": hose()}
    machine.lines["second back"] = {"route": "second.outlet > tank.oil", "conduit": hose(19e-3)}
    return machine


def filtered(**keys: object) -> Machine:
    machine = mill()
    machine.parts["filter"] = {"kind": "filter", "rating": "10 bar", **keys}
    machine.lines["return"]["route"] = "bank.T > filter.inlet"
    machine.lines["from filter"] = {"route": "filter.outlet > tank.oil", "conduit": hose(19e-3, 50.0)}
    return machine


# ---------------------------------------------------------------- reliefs
def test_override_beyond_a_tenth_of_the_setting() -> None:
    assert [f.outcome for f in findings(mill().case(), "relief-override")] == ["ok"]
    machine = mill()
    machine.parts["bank"]["relief"] = {"setting": "150 bar", "override": "20 bar at 22.3 L/min"}
    (f,) = findings(machine.case(), "relief-override")
    assert f.outcome == "finding" and f.figures["pressure"] == pytest.approx(150e5 + 20e5 * FLOW / (22.3 * LPM))
    machine.states = {"idling": {}}
    assert [f.outcome for f in findings(machine.case(), "relief-override")] == ["does not apply"]


@pytest.mark.parametrize(("load", "outcome"), [(20e3, "ok"), (27e3, "finding")])
def test_working_pressure_against_the_setting(load: float, outcome: str) -> None:
    """27 kN on 19.6 cm2 need 137.5 bar, 92 % of 150; 20 kN 102 bar."""
    machine = mill()
    machine.states["closing"][("ram", "load")] = load
    (f,) = findings(machine.case(), "relief-working-margin")
    assert f.outcome == outcome and f.state == "closing" and f.signal == "NOTICE"


def test_working_margin_needs_a_state_at_work() -> None:
    machine = mill()
    machine.states = {"clamp at its stop": machine.states["clamp at its stop"]}
    assert [f.outcome for f in findings(machine.case(), "relief-working-margin")] == ["not checked"]
    del machine.parts["bank"]["relief"]
    assert [f.outcome for f in findings(machine.case(), "relief-working-margin")] == ["does not apply"]


@pytest.mark.parametrize(("setting", "outcome"), [("165 bar", "finding"), ("172 bar", "finding"), ("173 bar", "ok")])
def test_two_reliefs_are_set_apart(setting: str, outcome: str) -> None:
    """15 % of 150 bar: 22.5 bar."""
    assert [f.outcome for f in findings(with_relief(setting).case(), "relief-order")] == [outcome]
    assert [f.outcome for f in findings(mill().case(), "relief-order")] == ["does not apply"]


def test_relief_that_is_too_small_for_the_pump() -> None:
    assert [f.outcome for f in findings(mill().case(), "relief-capacity")] == ["ok"]  # override stated at 22.3 L/min
    machine = mill()
    machine.parts["bank"]["relief"] = {"setting": "150 bar", "override": "1 bar at 15 L/min"}
    (f,) = findings(machine.case(), "relief-capacity")
    assert (f.outcome, f.signal) == ("finding", "WARNING") and f.figures["flow"] == pytest.approx(FLOW, rel=1e-3)
    machine.states = {"idling": {}}  # it need not open in any declared state
    assert [f.outcome for f in findings(machine.case(), "relief-capacity")] == ["finding"]
    machine.parts["bank"]["relief"] = "150 bar"
    (f,) = findings(machine.case(), "relief-capacity")
    assert f.outcome == "not checked" and "rated flow" in f.missing
    machine.parts["bank"]["relief"] = {"setting": "150 bar", "rated flow": "30 L/min"}
    assert [f.outcome for f in findings(machine.case(), "relief-capacity")] == ["ok"]


# ---------------------------------------------------------------- oil and reservoir
def test_viscosity_window() -> None:
    (f,) = findings(mill().case(), "visc-window")
    assert f.outcome == "ok" and f.figures["coldest"] == pytest.approx(1470e-6, rel=0.02)  # 46/6.8 at -10 degC
    machine = mill()
    machine.oil = dataclasses.replace(OIL, coldest=258.15)
    (f,) = findings(machine.case(), "visc-window")
    assert f.outcome == "finding" and "at the start" in f.headline
    machine = mill(hot={})
    machine.temperatures = {"hot": 273.15 + 85}
    (f,) = findings(machine.case(), "visc-window")
    assert f.outcome == "finding" and f.figures["hottest"] < 10e-6


def test_a_machine_that_overheats_at_rest() -> None:
    (f,) = findings(mill().case(), "temp-steady")
    assert f.outcome == "ok" and f.state == "idling"
    machine = mill()
    machine.parts["bank"]["centre drop"] = "20 bar at 22.3 L/min"
    (f,) = findings(machine.case(), "temp-steady")
    assert f.outcome == "finding" and f.signal == "CAUTION" and f.figures["temperature"] > 355.15
    machine.parts["tank"] = {"kind": "reservoir", "volume": "30 L"}
    assert [f.outcome for f in findings(machine.case(), "temp-steady")] == ["not checked"]


def test_a_rod_against_its_stop_is_no_machine_at_rest() -> None:
    """All the pump's flow over the relief is heat, but a lever is held: that is not idling."""
    machine = mill()
    machine.states = {"held": {("bank", "clamp"): SpoolOrder("A"), ("ram", "stop"): "extended"}}
    (f,) = findings(machine.case(), "temp-steady")
    assert f.outcome == "not checked" and "no lever shifted" in f.missing


@pytest.mark.parametrize(("volume", "outcome"), [(23e-3, "ok"), (22e-3, "finding"), (None, "not checked")])
def test_volume_of_the_reservoir(volume: float | None, outcome: str) -> None:
    """One minute of 22.3 L/min."""
    machine = mill()
    machine.parts["tank"] = {"kind": "reservoir", "cooling area": 0.75} | ({"volume": volume} if volume else {})
    (f,) = findings(machine.case(), "tank-volume")
    assert f.outcome == outcome and f.signal == "NOTICE"


def test_level_swing_of_rods() -> None:
    """A single-acting cylinder of 90 mm and 500 mm takes 3.18 L; 1.1 times that is more than half of 6 L."""
    (f,) = findings(mill().case(), "tank-differential")
    assert f.outcome == "ok" and f.figures["swing"] == pytest.approx(0.246e-3, rel=0.01)  # pi/4 28^2 x 400 mm
    machine = mill()
    machine.parts["tank"]["volume"] = 6e-3
    machine.parts["ram"] = {"kind": "single-acting cylinder", "bore": "90 mm", "stroke": "500 mm", "rating": "210 bar"}
    del machine.lines["open"]
    machine.plugged = ("bank.clamp.B",)
    (f,) = findings(machine.case(), "tank-differential")
    assert f.outcome == "finding" and f.figures["swing"] == pytest.approx(3.18e-3, rel=0.01)
    del machine.parts["ram"]["stroke"]
    (f,) = findings(machine.case(), "tank-differential")
    assert f.outcome == "not checked" and "stroke of ram" in f.missing


# ---------------------------------------------------------------- gauges, couplers, filters
def test_gauge_at_the_pump() -> None:
    assert [f.outcome for f in findings(mill().case(), "gauge-points")] == ["finding"]
    machine = with_relief("200 bar")
    machine.parts["tee"]["ports"] = "4"
    machine.parts["gauge"] = {"kind": "gauge point", "rating": "250 bar"}
    machine.lines["to gauge"] = {"route": "tee.branch b > gauge.port", "conduit": hose()}
    assert [f.outcome for f in findings(machine.case(), "gauge-points")] == ["ok"]
    machine.parts["check"] = {"kind": "check valve", "rating": "250 bar"}
    machine.lines["feed"]["route"] = "pump.outlet > check.inlet"
    machine.lines["feed 0"] = {"route": "check.outlet > tee.run a", "conduit": hose()}
    assert [f.outcome for f in findings(machine.case(), "gauge-points")] == ["ok"]


def test_coupler_that_is_too_small() -> None:
    machine = mill()
    machine.parts["coupler"] = {"kind": "quick coupler", "rating": "250 bar", "drop": "1 bar at 30 L/min"}
    machine.lines["feed"]["route"] = "pump.outlet > coupler.A"
    machine.lines["feed 2"] = {"route": "coupler.B > bank.P", "conduit": hose()}
    assert [f.outcome for f in findings(machine.case(), "coup-flow")] == ["ok"]
    machine.parts["coupler"]["drop"] = "1 bar at 15 L/min"
    (f,) = findings(machine.case(), "coup-flow")
    assert f.outcome == "finding" and f.figures["drop"] == pytest.approx(1 * BAR * (FLOW / (15 * LPM)) ** 2, rel=1e-3)
    assert [f.outcome for f in findings(mill().case(), "coup-flow")] == ["does not apply"]


def test_filter_on_a_cold_morning() -> None:
    """1470 mm2/s at -10 degC over 37 at 45 degC: 40 times the drop."""
    (f,) = findings(filtered(drop="0.05 bar at 40 L/min", bypass="1.7 bar").case(), "filt-bypass-cold")
    assert f.outcome == "ok" and f.figures["drop"] == pytest.approx(0.05 * BAR * 22.3 / 40 * 1470 / 36.9, rel=0.03)
    (f,) = findings(filtered(drop="0.3 bar at 40 L/min", bypass="1.7 bar").case(), "filt-bypass-cold")
    assert (f.outcome, f.signal) == ("finding", "NOTICE") and "bypass opens" in f.headline
    (f,) = findings(filtered(drop="0.6 bar at 40 L/min").case(), "filt-bypass-cold")
    assert (f.outcome, f.signal) == ("finding", "WARNING") and "without a bypass" in f.headline
    machine = filtered(drop="0.6 bar at 40 L/min")
    del machine.parts["filter"]["rating"]
    assert [f.outcome for f in findings(machine.case(), "filt-bypass-cold")] == ["not checked"]
    assert [f.outcome for f in findings(mill().case(), "filt-bypass-cold")] == ["does not apply"]


def test_rules_on_flow_are_not_checked_without_an_answer() -> None:
    machine = filtered(drop="0.6 bar at 40 L/min")
    del machine.parts["bank"]["relief"]
    machine.states = {"stop": {("bank", "clamp"): SpoolOrder("A"), ("ram", "stop"): "extended"}}
    for rule in ("filt-bypass-cold", "temp-steady", "ret-backpressure"):
        assert [f.outcome for f in findings(machine.case(), rule)] == ["not checked"], rule
