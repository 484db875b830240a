"""Checks: every rule of every module here, run over a solved circuit."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache

from . import merging
from .base import ORDER, RULES, Case, Finding, Rule

FIRST = ("relief-none",)
"""A pump that nothing limits comes before every other finding of its signal word."""
_OUTCOMES = {"finding": 0, "not checked": 1, "ok": 2, "does not apply": 3}


@cache
def _load() -> None:
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda info: info.name):
        importlib.import_module(f"{__name__}.{info.name}")


def rules() -> Mapping[str, Rule]:
    """Every rule by id."""
    _load()
    return RULES


def run(case: Case) -> list[Finding]:
    """All outcomes of all rules: findings first, worst signal word first (a pump that nothing limits before all), then
    by how far over, then in the order of the rules; after them what was not checked, what passed and what does not
    apply. What several rules tell of one fault is one finding (see `merging`)."""
    return _ranked(merging.merged(case, (finding for rule in rules().values() for finding in rule.check(case))))


def _ranked(found: Iterable[Finding]) -> list[Finding]:
    order = {id: n for n, id in enumerate(RULES)}
    return sorted(
        found,
        key=lambda f: (
            _OUTCOMES[f.outcome], ORDER[f.signal], f.rule not in FIRST, -f.figures.get("ratio", 0.0), order[f.rule],
            f.subject,
        ),
    )


def with_faults(findings: list[Finding], whole: Case, faults: tuple[str, ...]) -> list[Finding]:
    """Outcomes of the declared states, and the ratings that only a tried fault exceeds, or exceeds by more. whole: the
    case with declared and fault states. A pass that a fault overturns is taken out."""
    known = {(f.rule, f.subject): f.figures.get("ratio", 0.0) for f in findings if f.outcome == "finding"}
    ids = ("rating-each-part", "rating-line-weakest", "rating-low-pressure-fitting")
    added = [
        replace(f, text=f"In the fault '{f.state}', tried without being asked. {f.text}".strip())
        for f in merging.merged(whole, (f for id in ids for f in rules()[id].check(whole)))
        if f.outcome == "finding" and f.state in faults
        and f.figures.get("ratio", 0.0) > known.get((f.rule, f.subject), 0.0) * 1.01
    ]  # fmt: skip
    overturned = {(f.rule, f.subject) for f in added}
    kept = [f for f in findings if f.outcome != "ok" or (f.rule, f.subject) not in overturned]
    return _ranked([*kept, *added])
