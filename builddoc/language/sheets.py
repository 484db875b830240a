"""Text of a `sheet` block -> which sheets of which machine are wanted."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import Field

from ..messages import Message, Place
from ..sheets import SHEETS
from .model import Written
from .talk import Talk, suggestion
from .validate import check
from .yamltext import Sequence, Text, read_yaml


class SheetText(Written):
    """Sheets to be printed and taken to the machine."""

    machine: str = Field(description="Name of the machine.")
    revision: str = Field("", description="Its revision; left out: the newest that was built.")
    sheet: str | list[str] = Field(description="One or several of: " + ", ".join(f"`{name}`" for name in SHEETS) + ".")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a block asks for. place: of the machine's name."""

    machine: str
    revision: str
    sheets: tuple[str, ...]
    place: Place


def read_sheets(text: str, path: str = "") -> tuple[Wanted | None, list[Message]]:
    """The sheets, or None and what is wrong with the text."""
    group, messages = read_yaml(text, path)
    talk = Talk()
    talk.messages.extend(messages)
    written = check(SheetText, group, "the sheet", group.place, talk) if group is not None else None
    if group is None or written is None:
        return None, talk.in_order()
    node = group.values["sheet"]
    names = [item for item in (node.items if isinstance(node, Sequence) else [node]) if isinstance(item, Text)]
    for name in names:
        if name.value not in SHEETS:
            hint = suggestion(name.value, SHEETS, "sheets")
            talk.say("sheet-unknown", f"there is no sheet '{name.value}'", name.place, hint)
    if talk.failed:
        return None, talk.in_order()
    sheets = tuple(dict.fromkeys(name.value for name in names))
    return Wanted(written.machine, written.revision, sheets, group.values["machine"].place), talk.in_order()
