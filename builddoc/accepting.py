"""Findings that the writer lives with: what an acceptance is bound to, and which ones still hold.

A fingerprint has two halves: what is written about everything that a finding names, and its figures. An acceptance
names the fingerprint that it was made for; when either half differs it is withdrawn, and the page says which.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any

from .messages import Message
from .near import name_list, suggestion

if TYPE_CHECKING:
    from .checks.base import Case, Finding
    from .circuit import Acceptance, Circuit

Key = tuple[str, str]
_ASIDE = frozenset({"place", "places", "notes", "note", "details", "text", "document"})
"""Fields that say where or how something is written, not what."""
_NO_FIGURE = _ASIDE | {"rating", "tank port rating", "tank_port_rating", "salvaged", "assumed", "declare"}
"""Of a machine that is measured: fields that move no gauge."""


def applied(case: Case, findings: Sequence[Finding]) -> tuple[list[Finding], list[Message]]:
    """The findings with their fingerprints, the accepted ones marked and set behind the others; and what is to be said
    about acceptances that do not hold.

    case: with the declared states and those of the faults that were tried. findings: all four outcomes, worst first.
    An accepted DANGER keeps its place among the first: that somebody lives with it makes it no less deadly.
    """
    groups: dict[Key, list[Finding]] = {}
    for f in findings:
        if f.outcome == "finding":
            groups.setdefault((f.rule, f.subject), []).append(f)
    prints = {key: fingerprint(case, group) for key, group in groups.items()}
    taken: dict[Key, Acceptance] = {}
    messages: list[Message] = []
    for a in case.circuit.accepted:
        key = (a.rule, a.subject)
        if prints.get(key) == a.seen:
            taken[key] = a
        else:
            messages.append(_withdrawn(case, a, groups[key], prints[key]) if key in prints else _idle(a, findings))
    marked = [
        replace(f, fingerprint=prints[f.rule, f.subject], accepted=taken.get((f.rule, f.subject)))
        if f.outcome == "finding"
        else f
        for f in findings
    ]
    open_ = [f for f in marked if f.outcome == "finding" and not settled(f)]
    lived_with = [f for f in marked if settled(f)]
    return [*open_, *lived_with, *(f for f in marked if f.outcome != "finding")], messages


def settled(f: Finding) -> bool:
    """Accepted, and not a DANGER: it is shown after the others."""
    return f.accepted is not None and f.signal != "DANGER"


def fingerprint(case: Case, group: Sequence[Finding]) -> str:
    """`3fa90c-1b77d2` of the findings of one rule on one subject: the first half for what is written about the parts,
    lines, ties and states that they name, the second for signal word, state and figures (three digits)."""
    first = group[0]
    about = [first.rule, first.subject, {name: _written(case, name) for name in _bound(case, group)}]
    figures = sorted(
        (f.signal, f.state, sorted((name, f"{value:.3g}") for name, value in f.figures.items())) for f in group
    )
    return f"{_short(about)}-{_short(figures)}"


def machine_print(circuit: Circuit) -> str:
    """`3fa90c`: what readings of a machine are bound to. Its parts, lines, ties and oil, without ratings, notes, places
    and states: what changes it may also change what a gauge shows."""
    written = (circuit.parts, circuit.lines, circuit.ties, circuit.plugged, circuit.oil)
    return _short([_plain(section, _NO_FIGURE) for section in written])


def _short(data: Any) -> str:
    text = json.dumps(data, ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:6]


def _bound(case: Case, group: Sequence[Finding]) -> list[str]:
    """Names that the findings are about. A finding without figures may turn on anything that is written: then all."""
    circuit = case.circuit
    every = [*circuit.parts, *circuit.lines, *circuit.ties]
    if not all(f.figures for f in group):
        return sorted({*every, *(f.state for f in group if f.state)})
    text = " ".join(" ".join((f.headline, f.text, *f.points)) for f in group)
    named = {n for n in every if re.search(rf"(?<!\w){re.escape(n)}(?!\w)", text)}
    return sorted(named | {f.subject for f in group} | {f.state for f in group if f.state})


def _written(case: Case, name: str) -> Any:
    """What is written about everything of this name."""
    key = (_written, name)
    if key not in case.memo:
        case.memo[key] = _data(case.circuit, name)
    return case.memo[key]


def _data(circuit: Circuit, name: str) -> Any:
    sections: tuple[Mapping[str, Any], ...] = (circuit.parts, circuit.lines, circuit.ties, circuit.states)
    return [_plain(section[name]) for section in sections if name in section]


def _plain(value: Any, aside: frozenset[str] = _ASIDE) -> Any:
    """Any part of a circuit as JSON data, numbers to six digits, without places and remarks. Parameters that the writer
    left out do not count: a new one in a later version of the program changes nothing."""
    from pydantic import BaseModel

    if isinstance(value, BaseModel):
        return {name: _plain(getattr(value, name), aside) for name in sorted(value.model_fields_set - aside)}
    if is_dataclass(value) and not isinstance(value, type):
        kept = (f.name for f in fields(value) if f.name not in aside)
        return {name: _plain(getattr(value, name), aside) for name in kept}
    if isinstance(value, Mapping):
        return sorted([_plain(k, aside), _plain(v, aside)] for k, v in value.items())
    if isinstance(value, (list, tuple, set, frozenset)):
        return [_plain(item, aside) for item in value]
    return f"{value:.6g}" if isinstance(value, float) else str(value)


# ---------------------------------------------------------------- what is said
def _withdrawn(case: Case, a: Acceptance, group: Sequence[Finding], now: str) -> Message:
    before, after = a.seen.split("-"), now.split("-")
    names = [n for n in _bound(case, group) if n]
    about = name_list([*names[:5], f"{len(names) - 5} more"] if len(names) > 6 else names)
    changed = []
    if before[0] != after[0]:
        changed.append(f"what is written about {about}")
    if before[-1] != after[-1]:
        changed.append("its figures")
    return Message(
        "accepted-withdrawn",
        f"accepted: '{a.name}' counts again, since {name_list(changed)} changed after it was accepted"
        f"{' on ' + a.on if a.on else ''}; now: {group[0].headline}",
        a.place,
        f"look at it again; if it is still to be lived with, write a new date and 'seen: {now}'",
        "warning",
    )


def _idle(a: Acceptance, findings: Iterable[Finding]) -> Message:
    """An acceptance without a finding."""
    own = [f for f in findings if f.rule == a.rule]
    same = [f for f in own if f.subject == a.subject]
    if not same:
        text = f"accepted: '{a.name}': the rule {a.rule} has nothing to say about '{a.subject}'"
        hint = suggestion(a.subject, dict.fromkeys(f.subject for f in own if f.subject), "it speaks of")
        return Message("accepted-subject", text, a.place, hint, "warning")
    if same[0].outcome == "not checked":
        text = f"accepted: '{a.name}' is no finding: it could not be checked ({same[0].headline})"
        return Message("accepted-unchecked", text, a.place, f"missing: {same[0].missing}", "warning")
    text = f"accepted: '{a.name}' is no finding any more ({same[0].headline})"
    return Message("accepted-idle", text, a.place, "take it out", "note")
