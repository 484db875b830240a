"""What stands on the page in place of a circuit that has errors: every error, with place, context and hint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..messages import Message, Place
from .environment import fill

CONTEXT = 2  # lines shown above the one that is wrong


@dataclass(frozen=True, slots=True)
class Source:
    """Text whose first character stands at (line, column) of its file."""

    lines: list[str]
    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True)
class Context:
    """before: (number, text) of the lines above. start, mark, rest: the line itself, cut at what is wrong."""

    before: tuple[tuple[int, str], ...]
    number: int
    start: str
    mark: str
    rest: str


def error_box(
    messages: Sequence[Message], text: str, path: str, first_line: int, first_column: int, prefix: str
) -> str:
    """HTML of the box. text: the block as written, its first character at (first_line, first_column) of `path`."""
    sources: dict[str, Source | None] = {path: Source(text.split("\n"), first_line, first_column)}
    errors = [m for m in messages if m.level == "error"]
    remarks = [m for m in messages if m.level != "error"]
    items = [(m, _context(m.place, sources)) for m in (*errors, *remarks)]
    return fill("errors.html", prefix=prefix, count=len(errors), items=items)


def _context(place: Place | None, sources: dict[str, Source | None]) -> Context | None:
    """None if the text cannot be had."""
    if place is None:
        return None
    if place.path not in sources:
        sources[place.path] = _read(place.path)
    source = sources[place.path]
    index = place.line - source.line if source else -1
    if source is None or not 0 <= index < len(source.lines):
        return None
    line, column = source.lines[index], max(place.column - source.column, 0)
    end = column + 1 if place.end_column is None else max(place.end_column - source.column, column + 1)
    before = tuple((source.line + i, source.lines[i]) for i in range(max(index - CONTEXT, 0), index))
    return Context(before, place.line, line[:column], line[column:end], line[end:])


def _read(path: str) -> Source | None:
    try:
        return Source(Path(path).read_text("utf-8").split("\n"))
    except (OSError, ValueError):
        return None
