"""What two rules see of one fault is one finding that names the other."""

from __future__ import annotations

from builddoc import checks
from builddoc.checks.base import Finding
from builddoc.checks.examples import examples
from builddoc.rulebook.cases import solved


def told(rule: str, case: str = "triggers") -> list[Finding]:
    found = checks.run(solved(examples()[rule].examples[case].text))
    return [f for f in found if f.outcome == "finding"]


def named(found: list[Finding], rule: str) -> list[Finding]:
    return [f for f in found if f.rule == rule]


def test_a_filter_over_its_rating_is_told_by_its_own_rule() -> None:
    found = told("filt-rating")
    (f,) = named(found, "filt-rating")
    assert "rating-each-part" in f.text
    assert not [o for o in named(found, "rating-each-part") if o.subject == f.subject]


def test_a_load_check_has_a_finding_of_its_own() -> None:
    found = told("load-check-misread")
    assert {f.signal for f in found if f.rule in ("load-check-misread", "load-no-holding")} == {"WARNING"}
    assert len(named(found, "load-check-misread")) == len(named(found, "load-no-holding")) == 1


def test_a_weak_branch_that_a_state_shows_is_told_at_the_weak_part() -> None:
    found = told("relief-secondary-missing")
    assert not [f for f in named(found, "relief-secondary-missing") if f.subject == "bank.press.A"]
    assert "relief-secondary-missing" in named(found, "rating-each-part")[0].text


def test_a_thin_pipe_is_told_once() -> None:
    found = told("rating-steel-pipe")
    assert [f.rule for f in found if f.subject == "feed" and f.rule.startswith("rating-")] == ["rating-steel-pipe"]


def test_a_closed_centre_is_told_with_neutral() -> None:
    found = told("path-neutral-open")
    (f,) = named(found, "path-neutral-open")
    assert not [o for o in named(found, "path-dead-end") if o.state == f.state]


def test_different_faults_stay_apart() -> None:
    found = told("cyl-end-energy")
    assert named(found, "cyl-end-energy") and not named(found, "cyl-speed")
    assert named(told("cyl-speed"), "cyl-speed")


def test_a_part_of_unknown_strength_is_asked_for_once() -> None:
    found = checks.run(solved(examples()["rating-unknown-part"].examples["not checked"].text))
    asked = [f.rule for f in found if f.outcome == "not checked" and f.subject == "ram" and f.rule.startswith("rating")]
    assert asked.count("rating-each-part") == 1 and "rating-unknown-part" not in asked


def test_neutral_is_not_judged_with_a_coupler_apart() -> None:
    text = examples()["coup-pressure-connect"].examples["triggers"].text
    states = {f.state for f in checks.rules()["path-neutral-open"].check(solved(text))}
    assert states == {"idling"}
