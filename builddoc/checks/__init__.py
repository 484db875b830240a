"""Checks: every rule of every module here, run over a solved circuit."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from . import faulted, merging
from .base import ORDER, RULES, Case, Finding, Rule
from .declared import DECLARED

FIRST = ("relief-none",)
"""A pump that nothing limits comes before every other finding of its signal word."""
_OUTCOMES = {"finding": 0, "not checked": 1, "ok": 2, "does not apply": 3}


@cache
def _load() -> None:
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda info: info.name):
        importlib.import_module(f"{__name__}.{info.name}")
    # Whoever imported a module before changes the order of entry; findings must not depend on that.
    in_order = sorted(RULES.items(), key=lambda item: _place(item[1].check))
    RULES.clear()
    RULES.update(in_order)


def _place(check: Any) -> tuple[str, int]:
    """Module and line of a rule's function."""
    return check.__module__, check.__code__.co_firstlineno


def rules() -> Mapping[str, Rule]:
    """Every rule by id."""
    _load()
    return RULES


def run(case: Case) -> list[Finding]:
    """All outcomes of all rules: findings first, worst signal word first (a pump that nothing limits before all), then
    by how far over, then in the order of the rules; after them what was not checked (for want of a declaration
    last), what passed and what does not apply. What several rules tell of one fault is one finding (see `merging`)."""
    return _ranked(merging.merged(case, (finding for rule in rules().values() for finding in rule.check(case))))


def _ranked(found: Iterable[Finding]) -> list[Finding]:
    order = {id: n for n, id in enumerate(RULES)}
    return sorted(
        found,
        key=lambda f: (
            _OUTCOMES[f.outcome], f.outcome == "not checked" and f.rule in DECLARED, ORDER[f.signal],
            f.rule not in FIRST, -f.figures.get("ratio", 0.0), order[f.rule], f.subject,
        ),
    )


def with_faults(findings: list[Finding], whole: Case, faults: tuple[str, ...]) -> list[Finding]:
    """Outcomes of the declared states, and what only a tried fault brings (see `faulted`). whole: the case with
    declared and fault states."""
    _load()
    return _ranked(faulted.added(findings, whole, faults))
