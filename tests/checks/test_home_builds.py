"""Whole circuits as home builders plumb them, kinds mixed, and mistakes. Each once gave a wrong figure, a traceback
or no warning, or could have; what is asserted was worked by hand. Data invented."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from builddoc import faults
from builddoc.faults import Trial
from builddoc.pipeline import Solved, solve_text
from builddoc.report.effect import effect

FOLDER = Path(__file__).parent / "home_builds"
BAR, LPM = 1e5, 1 / 6e4


@cache
def solved(number: int) -> Solved:
    (file,) = FOLDER.glob(f"{number:02}-*.yml")
    found = solve_text(file.read_text())
    assert found.ok, [m.text for m in found.messages]
    return found


@cache
def trial(number: int) -> Trial:
    case = solved(number).case
    assert case is not None
    return faults.solve_with(case)


def findings(number: int, rule: str):
    return [f for f in solved(number).findings if f.rule == rule and f.outcome == "finding"]


@pytest.mark.parametrize("number", range(1, 17))
def test_every_page_is_made_and_every_pressure_has_its_cause(number):
    found = solved(number)
    assert found.report is not None and found.case is not None and found.case.results.solved.all()
    texts = [cell.text for table in found.report.tables for row in table.rows for cell in row]
    assert texts and "not worked out" not in " ".join(texts)
    assert "loses 0 " not in " ".join(texts)


def test_the_surplus_is_of_the_pump_that_feeds_the_flow_control():
    # Section A, 10 cm3 x 2400 rpm x 0.92 = 22.08 L/min; 8 L/min pass the control, the rest goes over the relief beside
    # it. Section B, 13.2 L/min, feeds a valve of its own and has nothing to do with it.
    (found,) = findings(1, "flow-control-restrictive")
    assert found.figures["flow"] / LPM == pytest.approx(22.08 - 8.0, rel=1e-3)
    assert found.figures["share"] == pytest.approx((22.08 - 8.0) / 22.08, rel=1e-3)


def test_a_burst_before_a_divider_lets_both_loads_down():
    name = "holding, lift burst"
    r = trial(2).case.results
    assert name in trial(2).names
    s = r.states.index(name)
    assert r.speed("left", "rod")[s] < -0.5 and r.speed("right", "rod")[s] < -0.5


def test_a_wheel_that_is_turned_is_not_in_neutral():
    (found,) = findings(5, "path-neutral-open")
    assert found.state == "rolling"


def test_the_pressure_before_a_priority_divider_is_told_from_the_relief_of_its_controlled_side():
    case = solved(5).case
    assert case is not None
    s = case.results.states.index("wheel at its stop")
    node = case.network.port_nodes["pump", "outlet"]
    assert effect(case, node, s) == "relief of prio, open"


def test_the_load_of_a_wide_stage_is_not_put_on_the_last_one():
    # 50 kN on the first stage are 78.6 bar; on the last they would be 255 bar, which the relief of 180 bar never gives.
    assert [n for n in trial(7).names if "against its extended stop" in n] == ["third, ram against its extended stop"]
    assert np.nanmax(trial(7).case.results.pressure("ram", "cap")) < 185 * BAR


def test_a_slave_at_its_stop_is_not_driven_back_through_its_bypass():
    s = trial(8).case.results.states.index("down, slave against its extended stop")
    assert abs(trial(8).case.results.speed("slave", "rod")[s]) < 1e-6


@pytest.mark.parametrize("state", ["charged", "clamped"])
def test_nothing_fixes_the_pump_behind_an_unloader_whose_accumulator_is_full(state):
    # The unloader opens at 110 bar behind its check valve. Full, it may stand anywhere from just open (P presses on the
    # check valve, up to the relief of 140 bar) to fully open (3 bar (8.004/40)^2 = 0.12 bar).
    case = solved(9).case
    assert case is not None
    r, s = case.results, case.results.states.index(state)
    assert r.pressure_range("acc", "oil", s) == pytest.approx((110 * BAR, 1000 * BAR))
    assert r.pressure_range("un", "P", s) == pytest.approx((0.12012 * BAR, 140 * BAR), rel=1e-3)
    assert np.isnan(r.dissipation("un")[s])
    rows = next(t for t in solved(9).report.tables if t.key == "accumulators").rows
    assert [cell.text for cell in rows[0][4:6]] == ["≥ 110", "≥ 0.45"]


def test_two_reliefs_side_by_side_are_not_in_series():
    case = solved(11).case
    assert case is not None
    s = case.results.states.index("parked, lever moved")
    assert effect(case, case.network.port_nodes["pump", "outlet"], s).startswith("side by side: ")


def test_a_check_valve_the_wrong_way_round_behind_a_divider():
    (found,) = findings(14, "path-check-direction")
    assert found.subject == "c2"


def test_a_divider_combiner_lets_both_down_alike():
    r = solved(16).case.results
    s = r.states.index("lowering")
    left, right = r.speed("left", "rod")[s], r.speed("right", "rod")[s]
    assert left < -0.1 and left == pytest.approx(right, rel=1e-3)
