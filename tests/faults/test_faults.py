"""Faults tried without being asked: what is tried, what it finds, and that nothing changes where they are off."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from builddoc import checks, faults, report
from builddoc.circuit import FAULTS
from builddoc.kinds.base import SpoolOrder
from builddoc.pipeline import solve_text

from tests.checks.machines import BAR, Machine, hose, mill

TEXT = """
machine: press rig
oil: {grade: ISO VG 46, coldest start: -10 °C}
FAULTS
parts:
  tank: {kind: reservoir, volume: 30 L}
  pump: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, rating: 210 bar}
  bank: {kind: directional valve, centre: open, spools: [clamp], relief: 150 bar, rating: 210 bar,
         tank port rating: 20 bar}
  coupler: {kind: quick coupler, rating: 180 bar}
  filter: {kind: filter, bypass: 1.7 bar, rating: 10 bar}
  ram: {kind: cylinder, bore: 50 mm, rod: 36 mm, stroke: 400 mm, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, bore: 25 mm, length: 0.5 m}
  feed: {route: pump.outlet > bank.P, bore: 12 mm, length: 1 m, rating: 225 bar}
  close: {route: bank.clamp.A > ram.cap, bore: 10 mm, length: 1 m, rating: 225 bar}
  open: {route: ram.rod > coupler.A, bore: 10 mm, length: 1 m, rating: 225 bar}
  back: {route: coupler.B > bank.clamp.B, bore: 10 mm, length: 1 m, rating: 225 bar}
  return: {route: bank.T > filter.inlet, bore: 19 mm, length: 1 m, rating: 50 bar}
  last: {route: filter.outlet > tank, bore: 19 mm, length: 1 m, rating: 50 bar}
states:
  idling: {}
  closing: {clamp: A, loads: {ram: 4 kN compression}}
"""


def text(written: str) -> str:
    return TEXT.replace("FAULTS", written)


@pytest.fixture(scope="module")
def off():
    return solve_text(text("faults: no"))


@pytest.fixture(scope="module")
def on():
    solved = solve_text(text("faults: yes"))
    assert solved.ok, solved.messages
    return solved


def test_what_is_tried(off):
    extra = faults.states(off.case)
    assert {state.name for state in extra.states} == {
        "idling, filter blocked", "closing, filter blocked", "closing, coupler open (apart)",
        "closing, ram against its extended stop", "idling, cold start", "closing, cold start", "idling, bank.T capped",
        "closing, bank.T capped",
    }  # fmt: skip
    assert all(state.fault and state.tried.sort in FAULTS for state in extra.states) and not extra.no_room


def test_limit_is_kept_and_the_rest_is_named(off):
    extra = faults.states(off.case, limit=5)
    assert len(extra.states) == 5 and len(extra.no_room) == 3
    assert {"idling, cold start"} <= {state.name for state in extra.states}  # each sort takes its turn


def test_open_coupler_intensifies(on):
    """Hand-worked: with the rod side shut, p_rod = (p_cap A_cap - F) / A_ring; the relief holds the cap side."""
    tried = faults.solve_with(on.case)
    r = tried.case.results
    s = r.states.index("closing, coupler open (apart)")
    cap, ring = math.pi / 4 * 0.05**2, math.pi / 4 * (0.05**2 - 0.036**2)
    (p_cap, _), (p_rod, _) = (r.pressure_range("ram", port, s) for port in ("cap", "rod"))  # the load check shuts
    assert p_cap > 149 * BAR
    assert p_rod == pytest.approx((p_cap * cap - 4000) / ring, rel=1e-6)
    found = [f for f in on.findings if f.state == "closing, coupler open (apart)" and f.rule.startswith("rating-")]
    (one,) = [f for f in found if f.outcome == "finding" and f.signal != "NOTICE"]  # one fault, one finding
    assert all(any(point.startswith(name) for point in one.points) for name in ("coupler.", "ram.", "open "))
    assert one.figures["ratio"] == max(v for name, v in one.figures.items() if name.endswith("ratio"))
    assert not [f for f in on.findings if f.outcome == "ok" and f.subject == "ram" and f.rule == "rating-each-part"]


def test_envelope_names_state_and_effect(on):
    table = next(t for t in on.report.tables if t.key == "envelope")
    rows = {row[0].text: row for row in table.rows}
    assert "closing, coupler open (apart)" in rows["ram.rod"][1].note
    assert rows["ram.rod"][2].text == rows["coupler.A"][2].text
    assert rows["ram.rod"][2].text == "relief of bank, open, times 2.08 by intensification in ram"  # 50^2/(50^2 - 36^2)
    assert "relief of bank" in rows["feed"][2].text
    assert len(rows) == 7 + 2 + 4 + 2 + 2 + 2 + 1


def test_off_changes_nothing(off, on):
    """Declared states, their figures and tables are the same with and without faults; only the envelope is added."""
    assert off.report.states == on.report.states == ("idling", "closing")
    assert [t for t in on.report.tables if t.key not in ("envelope", "faults")] == list(off.report.tables)
    assert off.report.key_figures == on.report.key_figures and off.report.proofs == on.report.proofs
    assert not [f for f in off.findings if "," in f.state]


def test_declared_figures_do_not_depend_on_the_batch(off):
    tried = faults.solve_with(off.case)
    n = off.case.results.size
    assert tried.case.results.p[:n] == pytest.approx(off.case.results.p, rel=1e-6, abs=1.0, nan_ok=True)


def test_two_levers_at_once():
    machine = mill(lifting={("bank", "lifter"): SpoolOrder("A"), ("lift", "load"): 9000.0})
    machine.parts["bank"]["spools"] = ["clamp", "lifter"]
    machine.parts["lift"] = {"kind": "cylinder", "bore": "50 mm", "rod": "28 mm", "stroke": "400 mm"}
    machine.lines["up"] = {"route": "bank.lifter.A > lift.cap", "conduit": hose()}
    machine.lines["down"] = {"route": "bank.lifter.B > lift.rod", "conduit": hose()}
    both = {s.name: s for s in faults.states(machine.case()).states}["closing and lifting at once"]
    assert both.orders["bank", "clamp"] == both.orders["bank", "lifter"] == SpoolOrder("A")
    assert both.orders["ram", "load"] == 4000.0 and both.orders["lift", "load"] == 9000.0


def test_fault_without_an_answer_is_said_and_breaks_nothing():
    """No relief: against its stop the pump has no way out."""
    machine: Machine = mill()
    del machine.parts["bank"]["relief"]
    del machine.states["clamp at its stop"]
    case = machine.case()
    tried = faults.solve_with(case)
    table = next(t for t in report.build(case, checks.run(case), tried).tables if t.key == "envelope")
    assert "without figures: closing, ram against its extended stop" in table.caption


def test_declared_faults_are_not_made_worse(off):
    states = {n: replace(s, fault=True) for n, s in off.case.circuit.states.items()}
    case = replace(off.case, circuit=replace(off.case.circuit, states=states))
    assert faults.states(case).states == ()


def test_quick_enough(off):
    started = time.perf_counter()
    faults.solve_with(off.case)
    assert time.perf_counter() - started < 2.0


def test_every_part_is_tried_before_one_is_tried_again(off):
    """Two more couplers in the line back: with room for one fault of each sort and a few more, each has its turn."""
    lines = "back: {route: coupler.B > bank.clamp.B,"
    more = text("faults: no").replace(
        "  " + lines, "  mid: {route: coupler.B > second.A, bore: 10 mm, length: 1 m, rating: 225 bar}\n"
        "  back: {route: second.B > bank.clamp.B,",
    ).replace("  filter: {", "  second: {kind: quick coupler, rating: 180 bar}\n  filter: {", 1)  # fmt: skip
    more += "  opening: {clamp: B}\n"
    solved = solve_text(more)
    assert solved.ok, solved.messages
    names = [state.name for state in faults.states(solved.case).states]
    open_ones = [name for name in names if "open (apart)" in name]
    both = ("coupler", "second")
    assert open_ones == [f"{state}, {c} open (apart)" for state in ("closing", "opening") for c in both]
    few = [state.name for state in faults.states(solved.case, limit=8).states]
    assert {"closing, coupler open (apart)", "closing, second open (apart)"} <= set(few)
    # A second state for one fault comes after the first for every other, whatever its sort.
    seen = [state.tried.fault for state in faults.states(solved.case).states]
    repeats = [n for n, fault in enumerate(seen) if fault in seen[:n]]
    assert repeats and min(repeats) == len(set(seen))


def test_of_each_fault_the_gravest_state_is_kept(off):
    """The rig idles at a few bar and closes against 4 kN on 19.6 cm2, 20 bar. A tank port capped leaves the pump no way
    out in both states, which is equally bad: the first one declared."""
    whole = faults.solve_with(off.case)
    assert len(whole.names) == 8 and not whole.extra.left_out
    few = faults.solve_with(off.case, limit=5)
    assert set(few.names) == {
        "closing, ram against its extended stop", "closing, coupler open (apart)", "closing, filter blocked",
        "closing, cold start", "idling, bank.T capped",
    }  # fmt: skip
    assert {state.name for state in few.extra.left_out} == {*whole.names} - {*few.names}
    assert not few.extra.unsettled and not few.extra.no_room
    assert few.case.network.size == len(few.case.solution.states) == 2 + 5
    for name in few.names:  # the figures are those of the larger batch
        here, there = few.case.results.states.index(name), whole.case.results.states.index(name)
        np.testing.assert_array_equal(few.case.results.p[here], whole.case.results.p[there])


def test_what_is_not_shown_is_told_with_the_reason(off, monkeypatch):
    """Six of eight are solved, three are shown: of two the fault is not shown at all."""
    from builddoc.faults import trying
    from builddoc.report.faults import faults_table

    monkeypatch.setattr(trying, "SOLVED", 6)
    few = faults.solve_with(off.case, limit=3)
    extra = few.extra
    assert len(extra.states) == 3
    seen = [*extra.states, *extra.left_out, *extra.unsettled, *extra.no_room]
    assert len(seen) == len({state.name for state in seen}) == 8
    shown = {state.tried.fault for state in extra.states}
    assert {state.tried.fault for state in extra.left_out} <= shown and len(extra.no_room) >= 2
    assert not {state.tried.fault for state in extra.no_room[:-2]} & shown  # but for the two that were not solved
    caption = faults_table(few).caption
    assert "Not looked at, for want of room (3 are shown): " in caption and "not settled" not in caption


def test_a_fault_that_could_not_be_settled_is_never_said_to_make_less(off, monkeypatch):
    """Where time is out the gravest may be among those without an answer."""
    from builddoc import solver
    from builddoc.report.faults import faults_table
    from builddoc.solution import StateSolution, Verdict

    true_solve = solver.solve

    def with_one_open(network, **named):
        found = true_solve(network, **named)
        states = [*found.states]
        states[at] = StateSolution(Verdict.NOT_CONVERGED, None, *[np.zeros(0)] * 5)
        return replace(found, states=states)

    at = [state.name for state in faults.states(off.case).states].index("closing, filter blocked")
    monkeypatch.setattr(solver, "solve", with_one_open)
    few = faults.solve_with(off.case, limit=5)
    assert [state.name for state in few.extra.unsettled] == ["closing, filter blocked"]
    assert "Tried, and not settled: filter blocked in 1 state" in faults_table(few).caption
