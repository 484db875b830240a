"""Collecting messages; nearest matches; places inside a text."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from ..messages import Level, Message, Place
from .yamltext import Node, Text


class Talk:
    """Gathers what is to be said to the writer about one text."""

    def __init__(self) -> None:
        self.messages: list[Message] = []

    def say(self, code: str, text: str, place: Place | None, hint: str = "", level: Level = "error") -> None:
        message = Message(code, text, place, hint, level)
        if message not in self.messages:
            self.messages.append(message)

    @property
    def failed(self) -> bool:
        return any(m.level == "error" for m in self.messages)

    def in_order(self) -> list[Message]:
        """By file and place, as the writer reads."""
        return sorted(
            self.messages, key=lambda m: (m.place.path, m.place.line, m.place.column) if m.place else ("", 0, 0)
        )


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """The choice most like `word` (letter case and underscores aside), None if none is alike."""
    plain: dict[str, str] = {}
    for choice in choices:
        plain.setdefault(_plain(choice), choice)
    tidy = _plain(word)
    found = difflib.get_close_matches(tidy, plain, 1, 0.7)
    if not found and len(tidy) > 2:  # cut short: `out` for `outlet`
        found = [choice for choice in plain if choice.startswith(tidy)]
        found = found if len(found) == 1 else []
    return plain[found[0]] if found else None


def _plain(word: str) -> str:
    return " ".join(word.lower().replace("_", " ").split())


def suggestion(word: str, choices: Iterable[str], lead: str = "", most: int = 24) -> str:
    """Hint for an unknown name: the nearest match; with `lead`, the list too where there is no match or it is short."""
    choices = list(choices)
    near = nearest(word, choices)
    parts = [f"did you mean '{near}'?"] if near else []
    if choices and lead and (not near or len(choices) <= 6):
        listed = ", ".join(choices[:most]) + (", …" if len(choices) > most else "")
        parts.append(f"{lead}: {listed}")
    return " ".join(parts)


def inside(node: Node, start: int, end: int) -> Place:
    """Place of characters start..end of a text's value; the whole text where it is not written on one line as it is."""
    place = node.place
    if not isinstance(node, Text) or place.end_column is None:
        return place
    extra = place.end_column - place.column - len(node.value)
    if extra not in (0, 2):  # 0: bare; 2: in quotes, without escapes
        return place
    first = place.column + extra // 2
    return Place(place.path, place.line, first + start, first + end)


def name_list(names: Iterable[str]) -> str:
    """`a, b and c`."""
    listed = list(names)
    if len(listed) < 2:
        return "".join(listed)
    return ", ".join(listed[:-1]) + " and " + listed[-1]
