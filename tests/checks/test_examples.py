"""Every rule has its four cases: it triggers, it passes, it is NOT CHECKED, and the edge between two of these.

They are circuits under `builddoc/checks/examples`, solved here. Where a case means nothing for a rule, its file says
why (`without`), and nothing else is accepted.
"""

from __future__ import annotations

import pytest
from builddoc.checks.examples import CASES, FOUR, Example, examples, laid_over, tally
from builddoc.rulebook import every_rule
from builddoc.rulebook.cases import judged

ALL = [example for group in examples().values() for example in group.examples.values()]
NEVER = {"triggers": {"fault-engine-speed"}, "passes": set()}
"""Rules that may lack one of the two cases that every rule should have."""


@pytest.mark.parametrize("example", ALL, ids=lambda e: f"{e.rule}: {e.case}")
def test_an_example_has_the_outcome_it_claims(example: Example) -> None:
    every = judged(example)
    meant = [f for f in every if not example.subject or f.subject == example.subject]
    outcomes = [f"{f.outcome} {f.signal} {f.subject}: {f.headline}" for f in every]
    hits = [f for f in meant if f.outcome == example.outcome and example.signal in ("", f.signal)]
    assert hits, outcomes
    if example.outcome != "finding":
        assert not [f for f in meant if f.outcome == "finding"], outcomes
    for f in hits:
        assert f.headline
        assert bool(f.missing) == (f.outcome == "not checked"), "NOT CHECKED names what is missing, and only it"
        if f.outcome == "finding":
            assert f.remedy and f.text


def test_every_rule_has_its_four_cases() -> None:
    lacking = {line.rule: line.lacking for line in tally(every_rule()) if line.lacking}
    assert not lacking


def test_what_a_rule_cannot_have_is_said_with_the_reason() -> None:
    for rule, group in examples().items():
        assert not group.examples.keys() & group.without.keys(), rule
        assert group.without.keys() <= set(FOUR), rule
        assert all(len(reason.split()) > 3 for reason in group.without.values()), rule
        for case, rules in NEVER.items():
            assert case not in group.without or rule in rules, rule


def test_each_case_is_what_its_name_says() -> None:
    for example in ALL:
        if CASES[example.case]:
            assert example.outcome == CASES[example.case], f"{example.rule}: {example.case}"
        else:
            assert example.outcome in ("finding", "ok"), f"{example.rule}: an edge lies between a finding and a pass"


def test_a_boundary_lies_beside_the_other_side() -> None:
    """An edge is a circuit of its own, neither that which triggers nor that which passes."""
    for rule, group in examples().items():
        if "boundary" in group.examples:
            others = [group.examples[case].text for case in ("triggers", "passes") if case in group.examples]
            assert group.examples["boundary"].text not in others or group.examples["boundary"].beside, rule


def test_examples_are_of_rules_that_exist() -> None:
    assert examples().keys() == every_rule().keys()


def test_the_tally_names_what_is_missing() -> None:
    lines = {line.rule: line for line in tally(["relief-none", "no-such-rule"])}
    assert lines["no-such-rule"].lacking == FOUR
    assert not lines["relief-none"].lacking and lines["relief-none"].without.keys() == {"not checked", "boundary"}


def test_a_change_is_laid_over_its_base() -> None:
    base = {"a": {"b": "1", "c": ["2"]}, "d": "3"}
    assert laid_over(base, {"a": {"c": ["4"], "e": {"f": "5"}}, "d": "~"}) == {
        "a": {"b": "1", "c": ["4"], "e": {"f": "5"}}
    }
