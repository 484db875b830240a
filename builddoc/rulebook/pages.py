"""The pages of the rules as Markdown, generated from the rules themselves and their examples."""

from __future__ import annotations

from collections import Counter

from ..checks import rules
from ..checks.base import ORDER, Rule
from ..page.draft import rule_path
from .cases import SHOWN, Outcome, outcomes
from .text import MAY_DIFFER, SEVERITY, SEVERITY_SOURCE
from .yaml_lines import differing, entries, written


def rules_pages() -> dict[str, str]:
    """Pages by path: `rules/index.md` and one for each rule. The examples are solved here."""
    tried = {rule.id: outcomes(rule.id) for rule in rules().values()}
    pages = {rule_path(rule.id): _page(rule, tried[rule.id]) for rule in rules().values()}
    return {"rules/index.md": _index(), **pages}


def _index() -> str:
    every = sorted(rules().values(), key=lambda rule: (ORDER[rule.signal], rule.id))
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
    return "\n".join(lines)


def _page(rule: Rule, tried: list[Outcome]) -> str:
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
    return "\n".join(lines)


def _circuit(text: str, first: str) -> list[str]:
    """A circuit's text, or what differs from the first one. first: "" = this is the first."""
    change = differing(text, first) if first else None
    if change is None:
        return ["```yaml", written(entries(text)), "```"]
    other, gone = change
    lines = ["The circuit above, but for this:", "", "```yaml", written(other), "```"] if other else []
    return lines + (["", f"Taken out: {', '.join(gone)}."] if gone else [])


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else f"{text}."


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
