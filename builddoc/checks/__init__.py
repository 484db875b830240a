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


_RATED = ("rating-each-part", "rating-line-weakest", "rating-low-pressure-fitting")
_ALONE = ("fault-load-falls",)
"""Rules of their own that only faults may break."""


def with_faults(findings: list[Finding], whole: Case, faults: tuple[str, ...]) -> list[Finding]:
    """Outcomes of the declared states, and what only a tried fault brings: ratings that it exceeds, or exceeds by more,
    loads that fall, oil that is lost, states without an answer. whole: the case with declared and fault states. A pass
    that a fault overturns is taken out."""
    wanted = ("state-unsolved", *_RATED, *_ALONE)
    found = merging.merged(whole, (f for id in wanted for f in rules()[id].check(whole)))
    in_faults = [f for f in found if f.outcome == "finding" and f.state in faults]
    findings = list(findings)
    at = {(f.rule, f.subject): n for n, f in enumerate(findings) if f.outcome == "finding"}
    bare = {f.subject for f in findings if f.rule == "relief-none" and f.outcome == "finding"}
    without = [f for f in in_faults if f.rule == "state-unsolved" and f.subject not in bare]
    added = merging.unsolved_faults(whole, without)
    for f in in_faults:
        n = at.get((f.rule, f.subject))
        if f.rule == "state-unsolved":
            continue
        if n is None:
            added.append(replace(f, text=f"In the fault '{f.state}', tried without being asked. {f.text}".strip()))
        elif f.figures.get("ratio", 0.0) > 1.01 * findings[n].figures.get("ratio", 0.0):
            worse = f"It is worse in the fault '{f.state}', tried without being asked: {f.headline}."
            findings[n] = replace(findings[n], text=f"{findings[n].text} {worse}".strip())
    judged = [f for f in found if f.rule in _ALONE and f.outcome == "ok"]
    again = {f.rule for f in (*added, *judged) if f.rule in _ALONE}
    overturned = {(f.rule, f.subject) for f in added}
    kept = [
        f for f in findings
        if f.outcome in ("finding", "not checked")
        or not (f.rule in again or (f.outcome == "ok" and (f.rule, f.subject) in overturned))
    ]  # fmt: skip
    return _ranked([*kept, *judged, *added])
