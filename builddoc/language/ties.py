"""`ties`: actuators that do one job together, linked by a beam or not."""

from __future__ import annotations

from collections.abc import Mapping

from ..circuit import Tie
from ..messages import Place
from .model import TieText
from .parts import PartDraft, bad_name
from .talk import Talk, suggestion
from .validate import check
from .yamltext import Group, Node, Sequence


def read_ties(
    node: Node | None, parts: Mapping[str, PartDraft], lines: Mapping[str, Place], talk: Talk
) -> tuple[dict[str, Tie], dict[str, Tie]]:
    """Rigid ties, and pairs that nothing links."""
    rigid: dict[str, Tie] = {}
    loose: dict[str, Tie] = {}
    if node is None:
        return rigid, loose
    if not isinstance(node, Group):
        talk.say(
            "value-form", "ties: expected names, each with its parts", node.place, "as {pair: {parts: [left, right]}}"
        )
        return rigid, loose
    member_of: dict[str, str] = {}
    for name, value in node.values.items():
        place = node.keys[name]
        bad_name(name, place, "tie", talk)
        if name in parts or name in lines:
            talk.say("name-twice", f"'{name}' is the name of a part or line too", place, "give the tie another name")
        if not isinstance(value, Group):
            talk.say(
                "value-form",
                f"tie '{name}': expected a group of keys",
                value.place,
                "as {parts: [left, right], rigid: yes}",
            )
            continue
        written = check(TieText, value, f"tie '{name}'", place, talk)
        if written is None:
            continue
        _members(name, written, value.values["parts"], parts, member_of, talk)
        if "compare" in value.values:
            _layouts(written, value.values["compare"], lines, talk)
        (rigid if written.rigid else loose)[name] = Tie(name, tuple(written.parts), place, written.compare)
    return rigid, loose


def _members(
    name: str, written: TieText, listed: Node, parts: Mapping[str, PartDraft], member_of: dict[str, str], talk: Talk
) -> None:
    items = listed.items if isinstance(listed, Sequence) else ()
    for member, item in zip(written.parts, items, strict=True):
        if member not in parts:
            movers = [p.name for p in parts.values() if p.kind is not None and p.kind.moves == "rod"]
            talk.say(
                "part-unknown", f"there is no part '{member}'", item.place, suggestion(member, movers, "cylinders")
            )
        elif (kind := parts[member].kind) is not None and kind.moves != "rod":
            talk.say("tie-part", f"'{member}' has no rod", item.place, "only cylinders can be tied")
        elif kind is not None and written.rigid and not kind.tieable:
            talk.say(
                "tie-part",
                f"'{member}' moves stage by stage: no beam can make it one with another",
                item.place,
                "write rigid: no, or use cylinders with one stage",
            )
        elif member in member_of:
            talk.say("tie-part", f"'{member}' is in '{member_of[member]}' already", item.place)
        member_of.setdefault(member, name)
    if len(set(written.parts)) < 2:
        talk.say("tie-part", f"tie '{name}' needs two parts or more", listed.place)


def _layouts(written: TieText, node: Node, lines: Mapping[str, Place], talk: Talk) -> None:
    for layout, lengths in written.compare.items():
        said = node.values[layout] if isinstance(node, Group) else node
        for line in lengths:
            if line not in lines:
                place = said.keys[line] if isinstance(said, Group) else said.place
                talk.say("line-unknown", f"there is no line '{line}'", place, suggestion(line, list(lines), "lines"))
