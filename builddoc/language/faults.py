"""`faults`: whether faults are tried that no state names, and which are not, and why."""

from __future__ import annotations

from collections.abc import Iterable

from ..circuit import FAULTS
from .model import FaultsText
from .talk import Talk, suggestion
from .validate import check
from .yamltext import Group, Node, Text

_YES, _NO = ("yes", "true", "on"), ("no", "false", "off")


def read_faults(node: Node | None, names: Iterable[str], talk: Talk) -> tuple[bool, dict[str, str]]:
    """Whether they are tried, and what is excluded -> the reason. names: of parts, lines, ties and states."""
    if node is None:
        return True, {}
    if isinstance(node, Text):
        word = node.value.strip().lower()
        if word not in (*_YES, *_NO):
            hint = "or a group: {exclude: {cold start: the machine stands indoors}}"
            talk.say("choice", f"faults: expected yes or no, not '{node.value}'", node.place, hint)
        return word not in _NO, {}
    if not isinstance(node, Group):
        talk.say(
            "value-form", "faults: expected yes, no or a group of keys", node.place,
            "as {exclude: {cold start: the machine stands indoors}}",
        )  # fmt: skip
        return True, {}
    written = check(FaultsText, node, "faults", node.place, talk)
    excluded = node.values.get("exclude")
    if written is None or not isinstance(excluded, Group):
        return True, {}
    known = [*FAULTS, *names]
    for key, reason in excluded.values.items():
        place = excluded.keys[key]
        if key not in known:
            text = f"faults, exclude: '{key}' is no sort of fault and no part, line, tie or state"
            talk.say("fault-unknown", text, place, suggestion(key, known) or "sorts: " + ", ".join(FAULTS))
        elif isinstance(reason, Text) and reason.nothing:
            talk.say("value-missing", f"faults, exclude: '{key}' has no reason", place, "it is printed on the page")
    return True, {key: " ".join(reason.split()) for key, reason in written.exclude.items()}
