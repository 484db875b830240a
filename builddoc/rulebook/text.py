"""A rule in plain text, for the terminal."""

from __future__ import annotations

import textwrap

from ..checks.base import RuleText, Signal
from ..checks.examples import FOUR, tally
from .cases import SHOWN, Outcome, every_rule
from .yaml_lines import entries, written

SEVERITY: dict[Signal, str] = {
    "DANGER": "it will kill or maim if it is not avoided",
    "WARNING": "it could kill or maim",
    "CAUTION": "it could hurt somebody slightly or moderately",
    "NOTICE": "nobody is hurt; the machine works badly, wears or wastes",
}
"""What the signal words mean, after ANSI Z535."""
SEVERITY_SOURCE = "signal words after ANSI Z535.4, definitions seen as an excerpt"
MAY_DIFFER = "A finding may carry a graver or a milder word than its rule where its figures ask for it."


def tallied() -> str:
    """One line for each rule: its four cases, `yes`, `-` with the reason, or `LACKING`."""
    lines = []
    for one in tally(every_rule()):
        words = dict.fromkeys(one.has, "yes") | {case: f"- ({why})" for case, why in one.without.items()}
        each = "; ".join(f"{case} {words.get(case, 'LACKING')}" for case in FOUR)
        lines.append(f"{one.rule}: {each}")
    lacking = sum(len(one.lacking) for one in tally(every_rule()))
    return "\n".join([*lines, f"{len(lines)} rules, {lacking} cases lacking"])


def explained(rule: RuleText, tried: list[Outcome], circuits: bool = False) -> str:
    """Everything about a rule. circuits: print the example circuits as well."""
    lines = [f"{rule.id}: {rule.title}", ""]
    for head, text in (
        ("Harm", rule.reason),
        ("Criterion", rule.criterion),
        ("Remedy", rule.remedy),
        ("Severity", f"{rule.signal}, because {SEVERITY[rule.signal]} ({SEVERITY_SOURCE}). {MAY_DIFFER}"),
        ("Source", rule.source),
    ):
        lines += textwrap.wrap(f"{head}: {text}", 96, subsequent_indent="  ", break_on_hyphens=False)
    for one in tried:
        lines += ["", f"{SHOWN[one.case]}, solved now:"]
        lines += textwrap.wrap(one.said, 96, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
        if circuits:
            for text in (one.text, *one.beside.values()):
                lines += ["", textwrap.indent(written(entries(text)), "    ")]
    return "\n".join(lines)
