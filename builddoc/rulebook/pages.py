"""The pages of the rules as Markdown, generated from the rules themselves and their examples."""

from __future__ import annotations

from collections import Counter

from ..checks.base import ORDER, RuleText
from ..checks.examples import FOUR
from ..page.draft import rule_path
from .cases import SHOWN, Outcome, cases_of, every_rule, outcomes
from .text import MAY_DIFFER, SEVERITY, SEVERITY_SOURCE
from .yaml_lines import differing, entries, written


def rules_pages() -> dict[str, str]:
    """Pages by path: `rules/index.md` and one for each rule. The examples are solved here."""
    pages = {rule_path(rule.id): _page(rule, outcomes(rule.id)) for rule in every_rule().values()}
    return {"rules/index.md": _index(), **pages}


def _index() -> str:
    every = sorted(every_rule().values(), key=lambda rule: (ORDER[rule.signal], rule.id))
    tally = Counter(rule.signal for rule in every)
    lines = [
        "# Rules", "",
        f"What every circuit is checked for: {len(every)} rules. Each answers for every part, line or state that it is "
        "about: with a finding, with a pass, that it does not apply, or NOT CHECKED with what is missing. Not checked "
        "is not safe, and a pass is no approval. `builddoc explain RULE` prints the same in a terminal. A finding can "
        "be accepted, with a reason: see the language.", "",
    ]  # fmt: skip
    for signal, meaning in SEVERITY.items():
        if tally[signal]:
            lines += [f"## {signal}", "", f"{tally[signal]} rules: {meaning}.", ""]
            lines += ["| rule | what holds |", "|---|---|"]
            lines += [f"| [{r.id}]({r.id}.md) | {_cell(r.title)} |" for r in every if r.signal == signal]
            lines.append("")
    return "\n".join([*lines, *_limits()])


def _limits() -> list[str]:
    """Which rules cannot be computed, and which cannot have a finding, a pass, or NOT CHECKED."""
    bare = [rule for rule in every_rule() if not {"triggers", "not checked", "passes"} & cases_of(rule).examples.keys()]
    lines = ["## What cannot be computed", ""]
    lines.append(
        f"No circuit shows what these do: {', '.join(bare)}." if bare else "Every rule is computed; none is left as a "
        "promise. Where the circuit lacks what a rule needs it says NOT CHECKED and names it."
    )  # fmt: skip
    lines += [
        "", "Each rule is tested with a circuit that brings it about, one that passes, one that leaves it open, and "
        "one at its edge. These can have no such case:", "", "| rule | case | why |", "|---|---|---|",
    ]  # fmt: skip
    for rule in sorted(every_rule()):
        lines += [f"| [{rule}]({rule}.md) | {case} | {_cell(why)} |" for case, why in cases_of(rule).without.items()]
    return [*lines, ""]


def _page(rule: RuleText, tried: list[Outcome]) -> str:
    lines = [
        f"# {rule.title}", "", f"Rule `{rule.id}` of [the rules](index.md).", "",
        "## What harm", "", rule.reason, "",
        "## Criterion", "", _sentence(rule.criterion), "",
        "## Remedy", "", rule.remedy, "",
        "## Severity", "",
        f"**{rule.signal}**: {SEVERITY[rule.signal]} ({SEVERITY_SOURCE}). {MAY_DIFFER}", "",
        "## Source", "", _sentence(rule.source), "",
    ]  # fmt: skip
    for one in tried:
        lines += [
            f"## {SHOWN[one.case]}", "", "Invented; solved when this page was made. The rule says:", "",
            f"> {one.said}", "", *_circuit(one.text, tried[0].text if one is not tried[0] else ""), "",
        ]  # fmt: skip
        for what, text in one.beside.items():
            lines += [f"{what.capitalize()}:", "", "```yaml", written(entries(text)), "```", ""]
    return "\n".join([*lines, *_tested(rule.id)])


def _tested(rule: str) -> list[str]:
    """The cases that the tests run, and why it lacks one."""
    own = cases_of(rule)
    found = [f"- {case}: {'yes' if case in own.examples else own.without.get(case, 'no')}" for case in FOUR]
    return ["## Cases that are tested", "", *found, ""]


def _circuit(text: str, first: str) -> list[str]:
    """A circuit's text, or what differs from the first one. first: "" = this is the first."""
    change = differing(text, first) if first else None
    if change is None:
        return ["```yaml", written(entries(text)), "```"]
    other, gone = change
    lines = ["The circuit above, but for this:", "", "```yaml", written(other), "```"] if other else []
    if not other and not gone:
        return ["The circuit above."]
    return lines + (["", f"Taken out: {', '.join(gone)}."] if gone else [])


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else f"{text}."


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
