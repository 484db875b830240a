"""`tables`: which of the published tables that disagree counts for this machine."""

from __future__ import annotations

from ..standards import NotListed
from ..standards.choices import choose, disputed, options
from .talk import Talk
from .yamltext import Group, Node, Text


def read_tables(node: Node | None, talk: Talk) -> dict[str, str]:
    """What the tables are on -> the chosen one, both as `standards` names them; wrong ones said and left out."""
    if node is None:
        return {}
    if not isinstance(node, Group):
        talk.say("value-form", "tables: expected a group of 'what they are on: which one counts'", node.place,
                 "as {four-spiral hose: catalogue}")  # fmt: skip
        return {}
    found: dict[str, str] = {}
    for key, value in node.values.items():
        if not isinstance(value, Text) or value.nothing:
            held = disputed().get(key)
            hint = f"one of {', '.join(options(held))}" if held else "as {four-spiral hose: catalogue}"
            talk.say("value-form", f"tables, '{key}': expected the name of one table", value.place, hint)
            continue
        try:
            name, option = choose(key, value.value)
        except NotListed as error:
            known = error.choices[: 12]
            place = value.place if key in disputed() else node.keys[key]
            talk.say("not-listed", f"tables: {error.message}", place, f"listed: {', '.join(known)}")
            continue
        found[name] = option
    return found
