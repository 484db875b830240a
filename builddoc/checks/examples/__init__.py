"""Examples of the rules, executed: for each rule circuits that bring it about, pass it, leave it open, and its edge.

One file `RULE.yml` per rule:

    base: press              # a whole circuit in `bases/`, or left out
    subject: ram             # of the outcome that is meant; left out: any
    triggers: {parts: {ram: {needed push: 60 kN}}}     # laid over the base; `~` takes a key out
    passes: {...}
    not checked: {...}
    boundary: {change: {...}, outcome: ok}             # just on one side of the limit; outcome: finding or ok
    without: {boundary: there is no figure}            # cases that the rule cannot have, with the reason

A rule on what was measured has two more keys in its circuits: `readings`, the readings block of that machine, and
`later revision`, the head of a revision that was built after it.

A case is the change itself, or `{base: ..., subject: ..., change: ..., outcome: ..., signal: ...}` where it differs.
The tests run every case, the reference pages show `triggers` and `passes`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import yaml

CASES: Mapping[str, str] = {
    "triggers": "finding", "passes": "ok", "not checked": "not checked", "boundary": "", "does not apply":
    "does not apply",
}  # fmt: skip
"""Name of a case -> the outcome it must have; a boundary says its own."""
FOUR = ("triggers", "passes", "not checked", "boundary")
"""Cases that every rule has, or says why it cannot."""
REMOVED = "~"
BESIDE = ("readings", "later revision")
"""Keys of an example that stand in blocks of their own."""
_KEYS = {"base", "subject", "change", "outcome", "signal"}


@dataclass(frozen=True, slots=True)
class Example:
    """rule: id. case: a key of `CASES`. text: the whole circuit as YAML. outcome: that the rule must have for
    `subject` ("" = for any). signal: the signal word it must have, "" = any. beside: other blocks of its page, by what
    they are."""

    rule: str
    case: str
    text: str
    outcome: str
    subject: str = ""
    signal: str = ""
    beside: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Set:
    """examples: by case. without: case -> why the rule cannot have it."""

    examples: Mapping[str, Example]
    without: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Line:
    """Which of the four cases a rule has. without: case -> why the rule cannot have it."""

    rule: str
    has: tuple[str, ...]
    without: Mapping[str, str]

    @property
    def lacking(self) -> tuple[str, ...]:
        return tuple(case for case in FOUR if case not in self.has and case not in self.without)


def tally(rules: Iterable[str]) -> list[Line]:
    """The cases of every rule in `rules`, by id."""
    nothing = Set({}, {})
    own = {rule: examples().get(rule, nothing) for rule in sorted(rules)}
    return [Line(rule, tuple(case for case in FOUR if case in s.examples), s.without) for rule, s in own.items()]


@cache
def examples() -> Mapping[str, Set]:
    """All examples by rule. Raises ValueError where a file does not follow the form above."""
    files = [f for f in resources.files(__package__).iterdir() if f.name.endswith(".yml")]
    return {f.name.removesuffix(".yml"): _read(f.name.removesuffix(".yml"), _yaml(f.read_text("utf-8")))
            for f in sorted(files, key=lambda f: f.name)}  # fmt: skip


@cache
def _base(name: str) -> Mapping[str, Any]:
    return dict(_yaml((resources.files(__package__) / "bases" / f"{name}.yml").read_text("utf-8")))


def _yaml(text: str) -> Any:
    """Every scalar stays the text that was written, as in a circuit."""
    return yaml.load(text, Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader))


def _read(rule: str, raw: Mapping[str, Any]) -> Set:
    unknown = set(raw) - {"base", "subject", "without", *CASES}
    if unknown:
        raise ValueError(f"examples of {rule}: unknown key {sorted(unknown)}")
    found = {case: _example(rule, case, raw, raw[case]) for case in CASES if case in raw}
    return Set(found, raw.get("without", {}))


def _example(rule: str, case: str, raw: Mapping[str, Any], own: Any) -> Example:
    entry: dict[str, Any] = dict(own) if own and set(own) <= _KEYS else {"change": own or {}}
    base = entry.get("base", raw.get("base", ""))
    circuit = laid_over(_base(base) if base else {}, entry.get("change") or {})
    beside = {key: _written(circuit.pop(key)) for key in BESIDE if key in circuit}
    text = _written(circuit)
    outcome = entry.get("outcome", CASES[case])
    if not outcome:
        raise ValueError(f"examples of {rule}: the boundary does not say its outcome")
    subject = entry.get("subject", raw.get("subject", ""))
    return Example(rule, case, text, outcome, subject, entry.get("signal", ""), beside)


def _written(tree: Any) -> str:
    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    return str(yaml.dump(tree, Dumper=dumper, sort_keys=False, allow_unicode=True, width=110))


def laid_over(base: Any, change: Any) -> Any:
    """`base` with the keys of `change`, group by group; lists and texts are replaced, `~` takes a key out."""
    if not isinstance(base, Mapping) or not isinstance(change, Mapping):
        return change
    merged = dict(base)
    for key, value in change.items():
        if value == REMOVED:
            merged.pop(key, None)
        else:
            merged[key] = laid_over(merged[key], value) if key in merged else laid_over({}, value)
    return merged
