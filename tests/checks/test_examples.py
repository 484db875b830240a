"""Every example under `builddoc/checks/examples` has the outcome it claims, and every rule has its examples."""

from __future__ import annotations

from functools import cache

import pytest
from builddoc import checks, language
from builddoc.assemble import assemble
from builddoc.checks.base import Case
from builddoc.checks.examples import CASES, Example, examples, laid_over
from builddoc.results import Results
from builddoc.solver import solve

ALL = [example for group in examples().values() for example in group.examples.values()]

ELSEWHERE = {
    "tests/checks/test_flow_rules.py": (
        "coup-flow", "filt-bypass-cold", "gauge-points", "path-dead-end", "path-deadhead-coupler", "power-engine",
        "relief-heat", "relief-isolated", "relief-none", "ret-velocity", "state-unsolved", "suct-vacuum",
        "suct-velocity", "suct-void", "temp-steady", "tank-volume", "tank-differential", "visc-window",
    ),
    "tests/checks/test_load_rules.py": (
        "cyl-buckling", "cyl-rod-intensify", "load-induced-pressure", "load-no-holding", "load-overrunning",
        "motor-case-pressure", "motor-series-drain", "pair-rigid-force", "pair-tee-unbalance", "path-series-sum",
    ),
    "tests/checks/test_ratings.py": (
        "pressure-undetermined", "rating-each-part", "rating-line-weakest", "rating-low-pressure-fitting",
    ),
    "tests/checks/test_setting_rules.py": (
        "path-tank-port-pressurised", "relief-capacity", "relief-order", "relief-override", "relief-working-margin",
        "ret-backpressure",
    ),
    "tests/checks/test_indicators.py": ("acc-gas", "coup-spill", "filter-indicator"),
    "tests/checks/test_trapped.py": ("trapped-thermal",),
    "tests/checks/test_hand_pump.py": ("hand-pump-force",),
    "tests/checks/test_fuses.py": ("fuse-would-trip",),
    "tests/checks/test_divider_rules.py": ("power-dc-duty", "split-accuracy", "split-intensify"),
    "tests/faults/test_hook_ups.py": ("coupler-open-end",),
    "tests/faults/test_lines.py": ("fault-engine-speed", "fault-load-falls"),
}  # fmt: skip
"""Rules whose cases are machines in test modules of their own, beside examples or instead of them."""
EXEMPT = {rule for rules in ELSEWHERE.values() for rule in rules}


@cache
def solved(text: str) -> Case:
    reading = language.read(text)
    assert reading.circuit is not None, [f"{m.text} ({m.hint})" for m in reading.messages]
    network = assemble(reading.circuit)
    solution = solve(network)
    return Case(reading.circuit, network, solution, Results(reading.circuit, network, solution))


@pytest.mark.parametrize("example", ALL, ids=lambda e: f"{e.rule}: {e.case}")
def test_an_example_has_the_outcome_it_claims(example: Example) -> None:
    found = list(checks.rules()[example.rule].check(solved(example.text)))
    meant = [f for f in found if not example.subject or f.subject == example.subject]
    outcomes = [f"{f.outcome} {f.signal} {f.subject}: {f.headline}" for f in found]
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
    lacking = {}
    for rule in sorted(checks.rules().keys() - EXEMPT):
        group = examples().get(rule)
        have = {*group.examples, *group.without} if group else set()
        wanted = {"triggers", "passes", "not checked", "boundary"} - have
        if wanted:
            lacking[rule] = sorted(wanted)
    assert not lacking


def test_examples_and_exemptions_are_of_rules_that_exist() -> None:
    assert examples().keys() <= checks.rules().keys()
    assert checks.rules().keys() >= EXEMPT
    for group in examples().values():
        assert not group.examples.keys() & group.without.keys()
        assert group.without.keys() <= CASES.keys() and all(group.without.values())


def test_a_change_is_laid_over_its_base() -> None:
    base = {"a": {"b": "1", "c": ["2"]}, "d": "3"}
    assert laid_over(base, {"a": {"c": ["4"], "e": {"f": "5"}}, "d": "~"}) == {
        "a": {"b": "1", "c": ["4"], "e": {"f": "5"}}
    }
