"""`accepted`: findings that the writer lives with, each with its reason, a role, a date and a fingerprint."""

from __future__ import annotations

import re

from ..circuit import Acceptance
from .model import AcceptedText
from .talk import Talk, suggestion
from .validate import check
from .yamltext import Group, Node

_FORM = "as {ret-velocity of return: {because: …, by: owner, on: 2025-05-18, seen: 3fa90c-1b77d2}}"


def read_accepted(node: Node | None, talk: Talk) -> tuple[Acceptance, ...]:
    """Every acceptance. Whether its finding is there is known only when the circuit is solved: see
    `builddoc.accepting`."""
    if node is None:
        return ()
    if not isinstance(node, Group):
        talk.say("value-form", "accepted: expected findings, each with its keys", node.place, _FORM)
        return ()
    from ..checks import rules  # not at the top: few circuits accept anything, and the rules take time to load

    found = []
    for name, value in node.values.items():
        place = node.keys[name]
        rule, _, subject = name.partition(" of ")
        if rule.strip() not in rules():
            text = f"accepted: there is no rule '{rule.strip()}'"
            hint = suggestion(rule.strip(), rules()) or f"write it {_FORM}; `builddoc check --accept` prints it"
            talk.say("rule-unknown", text, place, hint)
        if not isinstance(value, Group):
            talk.say("value-form", f"accepted, '{name}': expected a group of keys", value.place, _FORM)
            continue
        written = check(AcceptedText, value, f"accepted, '{name}'", place, talk)
        if written is None:
            continue
        if not re.fullmatch(r"[0-9a-f]{6}-[0-9a-f]{6}", written.seen):
            text = f"accepted, '{name}': '{written.seen}' is no fingerprint"
            talk.say(
                "fingerprint-form", text, value.values["seen"].place,
                "copy it from `builddoc check --accept`; it looks like 3fa90c-1b77d2",
            )  # fmt: skip
            continue
        because = " ".join(written.because.split())
        found.append(Acceptance(rule.strip(), subject.strip(), because, written.by, written.on, written.seen, place))
    return tuple(found)
