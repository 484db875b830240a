"""Collecting messages; nearest matches; places inside a text."""

from __future__ import annotations

from ..messages import Level, Message, Place
from ..near import name_list, nearest, suggestion
from .yamltext import Node, Text

__all__ = ["Talk", "inside", "name_list", "nearest", "suggestion"]


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
