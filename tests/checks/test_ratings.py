"""Ratings: parts, lines with their weakest member, plumbing-grade fittings."""

from __future__ import annotations

import pytest
from builddoc import checks
from builddoc.circuit import Rating

from .machines import BAR, SpoolOrder, elbow, findings, hose, mill, tee_150

FULL_FLOW = 151 * BAR  # relief 150 bar, override 1 bar at the pump's 22.3 L/min


# ---------------------------------------------------------------- rating-each-part
def test_part_over_its_rating_names_the_port_the_ratio_and_the_state() -> None:
    machine = mill()
    machine.parts["ram"]["rating"] = "120 bar"
    found = [f for f in findings(machine.case(), "rating-each-part", "finding") if f.subject == "ram"]
    assert len(found) == 1
    (f,) = found
    assert f.signal == "WARNING"
    assert f.state == "clamp at its stop"
    assert f.headline.startswith("ram.cap sees at least 151 bar, rated 120 bar: 1.3 times")
    assert f.figures["ratio"] == pytest.approx(151 / 120, rel=0.01)
    assert f.place is not None and f.place.line == 14


def test_part_at_one_and_a_half_times_its_rating_is_danger() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = "100 bar"
    (f,) = (f for f in findings(machine.case(), "rating-each-part", "finding") if f.subject == "pump")
    assert (f.signal, f.state) == ("DANGER", "clamp at its stop")
    assert f.figures["pressure"] == pytest.approx(FULL_FLOW, rel=0.005)


def test_rating_with_less_than_a_tenth_to_spare_is_a_remark() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = "160 bar"
    (f,) = (f for f in findings(machine.case(), "rating-each-part", "finding") if f.subject == "pump")
    assert f.signal == "NOTICE" and "no room" in f.headline


def test_parts_within_their_rating_are_ok() -> None:
    case = mill().case()
    assert not findings(case, "rating-each-part", "finding")
    assert {f.subject for f in findings(case, "rating-each-part", "ok")} == {"pump", "bank", "ram"}


@pytest.mark.parametrize("rating", [None, "unknown"])
def test_part_without_a_rating_is_not_checked(rating: str | None) -> None:
    machine = mill()
    machine.parts["pump"].pop("rating")
    if rating:
        machine.parts["pump"] |= {"rating": rating, "salvaged": True}
    (f,) = (f for f in findings(machine.case(), "rating-each-part", "not checked") if f.subject == "pump")
    assert "rated working pressure" in f.missing
    assert "151 bar" in f.headline and "clamp at its stop" in f.headline
    assert ("second-hand" in f.headline) == bool(rating)


def test_burst_figure_is_no_working_rating_unless_it_is_exceeded() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = {"value": "600 bar", "kind": "burst"}
    (f,) = (f for f in findings(machine.case(), "rating-each-part") if f.subject == "pump")
    assert f.outcome == "not checked" and "burst" in f.missing
    machine.parts["pump"]["rating"] = {"value": "140 bar", "kind": "peak"}
    assert [f.outcome for f in findings(machine.case(), "rating-each-part") if f.subject == "pump"] == ["finding"]


def test_part_without_pressure_is_not_judged() -> None:
    machine = mill()
    machine.parts["strainer"] = {"kind": "tee"}
    machine.plugged = ("strainer.branch",)
    machine.lines["suction"]["route"] = "tank.oil > strainer.run a"
    machine.lines["suction 2"] = {"route": "strainer.run b > pump.inlet", "conduit": hose(25.4e-3, None)}
    (f,) = (f for f in findings(machine.case(), "rating-each-part") if f.subject == "strainer")
    assert f.outcome == "does not apply"


def test_states_without_figures_leave_the_ratings_not_checked() -> None:
    machine = mill()
    del machine.parts["bank"]["relief"]
    found = findings(machine.case(), "rating-each-part", "not checked")
    assert any("'clamp at its stop'" in f.missing and f.subject == "" for f in found)


def test_pressure_behind_a_check_counts_with_its_lower_bound_only() -> None:
    """At its stop the clamp's port holds at least the pump's pressure; the solver's bound, 1000 bar, is no figure."""
    (f,) = (f for f in findings(mill().case(), "rating-each-part", "ok") if f.subject == "ram")
    assert "at least 151 bar" in f.headline
    assert f.figures["pressure"] < 152 * BAR


# ---------------------------------------------------------------- rating-line-weakest
def test_line_is_limited_by_its_weakest_member() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = (elbow(), tee_150())
    (f,) = findings(machine.case(), "rating-line-weakest", "finding")
    assert (f.subject, f.signal, f.state) == ("feed", "DANGER", "clamp at its stop")
    assert "malleable iron tee, class 150" in f.headline and "7.3 times" in f.headline
    assert "225 bar" in f.text  # what the hose holds does not help
    assert f.place is not None and f.place.line == 77
    assert f.figures["ratio"] == pytest.approx(151 / 20.7, rel=0.01)


def test_weak_hose_is_the_weakest_member_at_the_line_itself() -> None:
    machine = mill()
    machine.lines["feed"]["conduit"] = hose(rating=140.0)
    (f,) = findings(machine.case(), "rating-line-weakest", "finding")
    assert f.signal == "WARNING" and "hose" in f.headline
    assert f.place is not None and f.place.line == 51


def test_lines_within_their_rating_are_ok() -> None:
    case = mill().case()
    assert not findings(case, "rating-line-weakest", "finding")
    assert {f.subject for f in findings(case, "rating-line-weakest", "ok")} == {"feed", "close", "open", "return"}


def test_member_without_rating_leaves_the_line_not_checked() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = (elbow(None),)
    (f,) = findings(machine.case(), "rating-line-weakest", "not checked")
    assert f.subject == "feed" and f.missing == "rating of elbow"


def test_a_known_weak_member_is_found_beside_one_without_rating() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = (elbow(None), tee_150())
    outcomes = {f.outcome for f in findings(machine.case(), "rating-line-weakest") if f.subject == "feed"}
    assert outcomes == {"finding", "not checked"}


def test_lines_that_lack_only_the_rating_of_a_port_are_told_once() -> None:
    machine = mill()
    del machine.parts["bank"]["rating"]
    found = findings(machine.case(), "rating-line-weakest", "not checked")
    assert len(found) == 1 and "bank.P" in found[0].missing


def test_port_over_its_rating_is_said_at_the_part_not_at_every_line() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = "100 bar"
    case = machine.case()
    assert not findings(case, "rating-line-weakest", "finding")
    (f,) = (f for f in findings(case, "rating-line-weakest", "ok") if f.subject == "feed")
    assert "pump.outlet" in f.headline and "judged by itself" in f.headline


def test_suction_line_has_no_pressure_to_rate() -> None:
    (f,) = findings(mill().case(), "rating-line-weakest", "does not apply")
    assert f.subject == "suction"


# ---------------------------------------------------------------- rating-low-pressure-fitting
def test_plumbing_tee_in_a_pressure_line_is_danger_with_its_ratio() -> None:
    """The published class rating is 300 psi (ASME B16.3); 151 bar is 7.3 times that."""
    machine = mill()
    machine.lines["feed"]["fittings"] = (tee_150(300 * 6894.757 / BAR),)
    (f,) = findings(machine.case(), "rating-low-pressure-fitting", "finding")
    assert f.signal == "DANGER" and "7.3 times" in f.headline
    assert f.place is not None and f.place.line == 77


def test_plumbing_tee_that_limits_its_line_is_one_finding_with_the_graver_word() -> None:
    """Twice its class: below the 3 times of this rule, above the 1.5 times of the line."""
    machine = mill()
    machine.lines["feed"]["fittings"] = (tee_150(75.0),)
    found = [f for f in checks.run(machine.case()) if f.outcome == "finding" and f.subject == "feed"]
    assert [(f.rule, f.signal) for f in found] == [("rating-low-pressure-fitting", "DANGER")]
    assert "rating-line-weakest" in found[0].text and "225 bar" in found[0].text
    machine.lines["feed"] |= {"conduit": hose(rating=60.0)}  # now the hose governs
    found = [f for f in checks.run(machine.case()) if f.outcome == "finding" and f.subject == "feed"]
    assert {f.rule for f in found} == {"rating-low-pressure-fitting", "rating-line-weakest"}


def test_plumbing_fitting_without_class_is_a_finding_above_20_bar_all_the_same() -> None:
    machine = mill()
    machine.lines["feed"]["fittings"] = (tee_150(None),)
    (f,) = findings(machine.case(), "rating-low-pressure-fitting", "finding")
    assert f.signal == "WARNING"


def test_plumbing_fitting_in_the_return_is_ok_or_not_checked() -> None:
    machine = mill()
    machine.lines["return"]["fittings"] = (tee_150(),)
    assert [f.outcome for f in findings(machine.case(), "rating-low-pressure-fitting")] == ["ok"]
    machine.lines["return"]["fittings"] = (tee_150(None),)
    assert [f.outcome for f in findings(machine.case(), "rating-low-pressure-fitting")] == ["not checked"]


def test_no_plumbing_fitting_does_not_apply() -> None:
    assert [f.outcome for f in findings(mill().case(), "rating-low-pressure-fitting")] == ["does not apply"]


def test_guess_is_printed_with_the_rating() -> None:
    machine = mill()
    machine.parts["pump"]["rating"] = Rating(100 * BAR, basis="guess")
    (f,) = (f for f in findings(machine.case(), "rating-each-part", "finding") if f.subject == "pump")
    assert "guess" in f.text


def test_line_over_only_in_a_fault_state_names_that_state() -> None:
    machine = mill(blocked={("bank", "clamp"): SpoolOrder("B"), ("ram", "stop"): "retracted"})
    machine.lines["open"]["conduit"] = hose(9.5e-3, 120.0)
    (f,) = findings(machine.case(), "rating-line-weakest", "finding")
    assert (f.subject, f.state) == ("open", "blocked")
