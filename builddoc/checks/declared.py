"""What rules that read declarations share: facts, lines they concern, and the outcome when a fact is missing.

`GROUPS` names those rules; what they cannot check is told as one line for each group (see `gathered`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ..circuit import Line, Part
from ..declarations import LineFacts, MachineFacts, PartFacts
from ..messages import Place
from .base import ORDER, Case, Finding
from .strength import line_nodes, seen
from .words import listed

GROUPS: Mapping[str, tuple[str, ...]] = {
    "how hoses lie": (
        "hose-bend-radius", "hose-length-change", "hose-twist-route", "hose-person-shield", "person-fire",
    ),
    "joints": ("thread-mismatch", "thread-taper-split", "thread-sealant", "coup-orientation"),
    "people and guards": (
        "person-injection", "person-stored", "person-hot", "person-crush", "person-under", "person-control",
    ),
    "what motors turn": ("motor-inertia-stop",),
    "steering": ("steer-supply",),
    "where it stands": ("stab-tip", "stab-hitch", "spill-environment"),
    "the oil and what it touches": ("fluid-compat", "clean-target"),
}  # fmt: skip
DECLARED = frozenset(rule for rules in GROUPS.values() for rule in rules)
LASTING = ("detent", "foot pedal", "toggle")
"""Levers that stay where they are put, or that something falls on."""
DRIVERS = ("DC motor",)
KEY = "declare"
KEYS = r"'[^']*'"
"""How the missing keys stand in a finding of such a rule."""


def of_machine(case: Case) -> MachineFacts:
    return case.circuit.declare or MachineFacts.model_validate({})


def of_part(part: Part) -> PartFacts:
    return part.declare or PartFacts.model_validate({})


def of_line(line: Line) -> LineFacts:
    return line.declare or LineFacts.model_validate({})


def staying(case: Case, state: str) -> list[str]:
    """Valves and drivers at work in a state whose lever, pedal or switch stays where it is put."""
    orders = case.circuit.states[state].orders
    ordered, still = {part for part, _ in orders}, {p for (p, what), v in orders.items() if what == "speed" and not v}
    return [
        p.name for p in case.circuit.parts.values()
        if of_part(p).lever in LASTING and p.name not in still and (p.kind in DRIVERS or p.name in ordered)
    ]  # fmt: skip


def hoses(case: Case) -> list[Line]:
    return [line for line in case.circuit.lines.values() if line.conduit is not None and line.conduit.kind == "hose"]


def place_of(thing: Line | Part) -> Place | None:
    return thing.places.get(KEY, thing.place)


def highest(case: Case, line: Line) -> float | None:
    """Pa, highest pressure of the line over the states, None if no state says."""
    found = seen(case, line_nodes(case.network, line.name))
    return found.value if found else None


def wanting(facts: object, *names: str) -> str:
    """Those keys of a group of facts that nobody declared, as written: `'slack' and 'twisted'`."""
    return listed([f"'{n.replace('_', ' ')}'" for n in names if getattr(facts, n) is None])


def gathered(found: Sequence[Finding]) -> list[Finding]:
    """One NOT CHECKED for each group of rules that miss declarations, in place of one for each rule and subject. The
    gravest rule of the group gives its id and signal word."""
    group_of = {rule: name for name, rules in GROUPS.items() for rule in rules}
    open_: dict[str, list[Finding]] = {}
    for f in found:
        if f.outcome == "not checked" and f.rule in group_of:
            open_.setdefault(group_of[f.rule], []).append(f)
    lines = []
    for name, group in open_.items():
        if len(group) == 1:
            lines += group
            continue
        first = min(group, key=lambda f: ORDER[f.signal])
        rules = listed(f.rule for f in group)
        checks = len({f.rule for f in group})
        subjects = listed([f.subject for f in group if f.subject], 4)
        headline = f"{checks} {'check' if checks == 1 else 'checks'} on {name} {'needs' if checks == 1 else 'need'} "
        lines.append(
            replace(
                first, subject="", state="", figures={}, place=None,
                headline=headline + "declarations",
                text=f"{rules}{f', for {subjects}' if subjects else ''}.",
                missing=f"under 'declare': {listed(key for f in group for key in re.findall(KEYS, f.missing))}",
            )
        )  # fmt: skip
    gone = {id(f) for group in open_.values() for f in group}
    return [*(f for f in found if id(f) not in gone), *lines]
