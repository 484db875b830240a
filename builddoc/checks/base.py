"""What a check rule is: one function that carries its id, severity, reason, remedy and source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, Literal, TypeVar

from ..circuit import Acceptance, Circuit
from ..messages import Place
from ..network import Network
from ..results import Results
from ..solution import Solution

T = TypeVar("T")
Outcome = Literal["finding", "ok", "not checked", "does not apply"]
# Signal words after ANSI Z535: DANGER will kill or maim if not avoided, WARNING could, CAUTION minor or moderate
# injury, NOTICE no injury.
Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
ORDER: Mapping[str, int] = {"DANGER": 0, "WARNING": 1, "CAUTION": 2, "NOTICE": 3}


@dataclass(frozen=True, slots=True)
class Case:
    """All that a rule may look at. memo: what `once` keeps."""

    circuit: Circuit
    network: Network
    solution: Solution
    results: Results
    memo: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)


def once(function: Callable[..., T]) -> Callable[..., T]:
    """For a function of a case (and hashable arguments) that several rules ask: worked out once per case. What it
    returns is shared, so callers must not change it."""

    @wraps(function)
    def remembered(case: Case, *args: Any, **named: Any) -> T:
        key = (function, args, tuple(sorted(named.items())))
        if key not in case.memo:
            case.memo[key] = function(case, *args, **named)
        value: T = case.memo[key]
        return value

    return remembered


@dataclass(frozen=True, slots=True)
class Finding:
    """One outcome of one rule for one subject.

    subject: name of the part, line or state. state: name of the governing state ("" = not tied to one). headline: one
    line with the figures. text: why, with figures. remedy: what to do. figures: name -> SI value (for JSON and tests).
    missing: what the rule needs and did not find (NOT CHECKED). place: where the subject was written. points: one line
    for each place that it speaks of, where it speaks of several.
    fingerprint, accepted: what an acceptance is bound to, and the one that holds; set by `accepting`.
    """

    rule: str
    outcome: Outcome
    signal: Signal
    subject: str
    headline: str
    text: str = ""
    remedy: str = ""
    state: str = ""
    figures: Mapping[str, float] = field(default_factory=dict)
    missing: str = ""
    place: Place | None = None
    points: tuple[str, ...] = ()
    fingerprint: str = ""
    accepted: Acceptance | None = None


@dataclass(frozen=True, slots=True)
class RuleText:
    """id: our own, neutral. title: the rule as a sentence. reason: what harm. criterion: formula in words. source: what
    it rests on, or "common practice, no source"."""

    id: str
    title: str
    signal: Signal
    reason: str
    criterion: str
    remedy: str
    source: str


@dataclass(frozen=True, slots=True)
class Rule(RuleText):
    """check: Case -> findings of all subjects (all four outcomes)."""

    check: Callable[[Case], Iterable[Finding]]


RULES: dict[str, Rule] = {}


def rule(
    *, id: str, title: str, signal: Signal, reason: str, criterion: str, remedy: str, source: str
) -> Callable[[Callable[[Case], Iterable[Finding]]], Callable[[Case], Iterable[Finding]]]:
    """Register a check. Every module of `builddoc.checks` is imported by `checks.run`, so a new file or function is all
    that a new rule takes."""

    def register(check: Callable[[Case], Iterable[Finding]]) -> Callable[[Case], Iterable[Finding]]:
        if id in RULES:
            raise RuntimeError(f"two rules are named '{id}'")
        RULES[id] = Rule(id, title, signal, reason, criterion, remedy, source, check)
        return check

    return register
