"""What faults that were tried without being asked add to the findings of the declared states."""

from __future__ import annotations

from dataclasses import replace

from . import merging, suction
from .base import RULES, Case, Finding

_RATED = ("rating-each-part", "rating-line-weakest", "rating-low-pressure-fitting")
_ALONE = ("fault-load-falls", "coupler-open-end")
"""Rules that look at faults themselves."""
_APART, _UNSOLVED = "path-deadhead-coupler", "state-unsolved"
_SUCTION = "suct-vacuum"


def added(findings: list[Finding], whole: Case, faults: tuple[str, ...]) -> list[Finding]:
    """Findings of the declared states, and ratings that only a fault exceeds, loads that fall, oil that is lost, faults
    without an answer, couplers that only a fault pulls apart, pumps that starve at the coldest start. A declared
    finding that a fault makes worse says so itself; a pass that a fault overturns is taken out."""
    wanted = (_UNSOLVED, *_RATED, *_ALONE)
    found = merging.merged(whole, (f for id in wanted for f in RULES[id].check(whole)))
    in_faults = [f for f in found if f.outcome == "finding" and f.state in faults]
    answers = _apart(findings, whole)
    findings, cold = _cold(findings, whole)
    in_faults += cold
    kept, new = _worse(findings, [f for f in in_faults if f.rule != _UNSOLVED])
    told = {f.subject for f in findings if f.rule == "relief-none" and f.outcome == "finding"}
    dead = {f.subject for f in answers if f.signal == "DANGER"}
    new += merging.unsolved_faults(
        whole, [f for f in in_faults if f.rule == _UNSOLVED and f.subject not in told and not _about(whole, f) & dead]
    )
    judged = [*answers, *(f for f in found if f.rule in _ALONE and f.outcome == "ok")]
    again = {f.rule for f in (*new, *judged) if f.rule in _ALONE}
    overturned = {(f.rule, f.subject) for f in new}
    answered = {f.subject for f in answers}
    kept = [
        f for f in kept
        if f.outcome == "finding"
        or not (f.rule in again or (f.rule, f.subject) in overturned or (f.rule == _APART and f.subject in answered))
        or (f.outcome == "not checked" and f.rule != _APART)
    ]  # fmt: skip
    return [*kept, *judged, *merging.one_fault(whole, new)]


def _about(whole: Case, f: Finding) -> set[str]:
    tried = whole.circuit.states[f.state].tried
    return set(tried.about) if tried else set()


def _apart(findings: list[Finding], whole: Case) -> list[Finding]:
    """Couplers that no declared state shows apart: what the fault shows."""
    asked = {f.subject for f in findings if f.rule == _APART and f.outcome == "not checked"}
    unlimited = any(f.rule == "relief-none" and f.outcome == "finding" for f in findings)
    answers = [f for f in RULES[_APART].check(whole) if f.subject in asked]
    return [f for f in answers if not (unlimited and f.signal == "DANGER")]


def _cold(findings: list[Finding], whole: Case) -> tuple[list[Finding], list[Finding]]:
    """Without the pumps whose inlet at the coldest start no declared state shows and a tried one does; and what that
    shows there beyond a pass."""
    asked = {f.subject for f in findings if (f.rule, f.outcome) == (_SUCTION, "not checked")}
    answers = {part: list(suction.tried_cold(whole, part)) for part in asked}
    left = [f for f in findings if (f.rule, f.outcome) != (_SUCTION, "not checked") or not answers[f.subject]]
    return left, [f for own in answers.values() for f in own if f.outcome == "finding"]


def _worse(findings: list[Finding], in_faults: list[Finding]) -> tuple[list[Finding], list[Finding]]:
    """The declared findings, some of which a fault makes worse; and those that are new."""
    kept, new = list(findings), []
    at = {(f.rule, f.subject): n for n, f in enumerate(kept) if f.outcome == "finding"}
    for f in in_faults:
        n = at.get((f.rule, f.subject))
        if n is None:
            text = f"In the fault '{f.state}', tried without being asked. {f.text}".strip()
            signal = "WARNING" if f.signal == "DANGER" else f.signal  # it takes a fault first: DANGER stays rare
            new.append(replace(f, signal=signal, text=text))
        elif _graver(f, kept[n]):
            worse = f"It is worse in the fault '{f.state}', tried without being asked: {f.headline}."
            kept[n] = replace(kept[n], text=f"{kept[n].text} {worse}".strip())
    return kept, new


def _graver(f: Finding, than: Finding) -> bool:
    if f.rule == _SUCTION:
        return f.figures["pressure"] < than.figures["pressure"] or "missing flow" in f.figures
    return f.figures.get("ratio", 0.0) > 1.01 * than.figures.get("ratio", 0.0)
