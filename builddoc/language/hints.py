"""`show: hints:` where parts are wished in the circuit drawing, in words that name other parts, never coordinates."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from ..circuit import Hint
from ..kinds.base import Kind
from .model import HintText
from .parts import PartDraft
from .talk import Talk, inside, suggestion
from .yamltext import Group, Node

_SIDE = re.compile(r"(left|right)(?:\s+of\s+(.+))?")
_ROW = re.compile(r"(above|below|level\s+with)\s+(.+)")
_SIDES = "write left, right, left of PART or right of PART"
_ROWS = "write above PART, below PART or level with PART"


def read_hints(
    node: Node | None, written: Mapping[str, HintText], parts: Mapping[str, PartDraft], talk: Talk
) -> dict[str, Hint]:
    """Part -> its wish. node: as written, for places."""
    found: dict[str, Hint] = {}
    for name, text in written.items():
        group = node.values[name] if isinstance(node, Group) else None
        if not isinstance(group, Group) or not isinstance(node, Group):
            continue
        place = node.keys[name]
        if name not in parts:
            talk.say("part-unknown", f"hints: there is no part '{name}'", place, suggestion(name, parts, "parts"))
            continue
        kind = parts[name].kind
        if kind is not None and (why := _no_block(kind)):
            talk.say("hint-idle", f"hints: '{name}' {why}", place, "leave the hint out")
            continue
        side, beside = _read(_SIDE, "side", text.side, name, group, parts, _SIDES, talk)
        row, of = _read(_ROW, "row", text.row, name, group, parts, _ROWS, talk)
        if not text.side and not text.row:
            talk.say("value-missing", f"hints: '{name}' has neither side nor row", place, "as {side: left}")
        found[name] = Hint(side, beside, "level" if row.startswith("level") else row, of, place)
    return found


def _read(
    form: re.Pattern[str], key: str, text: str, name: str, group: Group, parts: Mapping[str, PartDraft], wanted: str,
    talk: Talk,
) -> tuple[str, str]:  # fmt: skip
    if not text:
        return "", ""
    node = group.values[key]
    match = form.fullmatch(" ".join(text.split()))
    if match is None:
        talk.say("hint-form", f"{key} of '{name}': '{text}' is no such wish", node.place, wanted)
        return "", ""
    word, other = match[1], match[2] or ""
    if other and other == name:
        talk.say("hint-form", f"{key} of '{name}': it names the part itself", node.place, wanted)
        return "", ""
    if other and other not in parts:
        start = text.find(other)
        place = inside(node, start, start + len(other)) if start >= 0 else node.place
        hint = suggestion(other, parts, "parts")
        talk.say("part-unknown", f"{key} of '{name}': there is no part '{other}'", place, hint)
        return "", ""
    kind = parts[other].kind if other else None
    if kind is not None and (why := _no_block(kind)):
        talk.say("hint-idle", f"{key} of '{name}': '{other}' {why}", node.place, "name another part")
        return "", ""
    return word, other


def _no_block(kind: Kind[Any]) -> str:
    """Why a part of this kind stands nowhere of its own in the drawing; "" if it does."""
    if kind.symbol == "reservoir":
        return "is drawn at each of its lines"
    return "is a joint of its lines in the drawing" if kind.symbol in ("tee", "manifold block") else ""
