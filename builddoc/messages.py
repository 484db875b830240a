"""What the tool says to a builder about what he wrote: where, what is wrong, what was expected."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a text file; line and column count from 1, path is as the user would type it."""

    path: str
    line: int
    column: int
    end_column: int | None = None

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Message:
    """One thing to tell the builder.

    code: stable short name, e.g. ``unit-unknown``. text: one sentence, no trailing code. hint: what to write instead
    (nearest match, example), may be empty.
    """

    code: str
    text: str
    place: Place | None = None
    hint: str = ""
    level: Level = "error"

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{where}{self.text}{hint} [{self.code}]"


class BuilddocError(Exception):
    """Root of the errors of this package. Carries messages; ``str()`` is what a terminal should print."""

    def __init__(self, *messages: Message):
        self.messages = list(messages)
        super().__init__("\n".join(str(m) for m in messages))
