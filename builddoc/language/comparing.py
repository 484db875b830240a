"""Text of a `compare` block -> which revisions of which machine are to be set side by side."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import Field

from ..messages import Message, Place
from .model import Written
from .talk import Talk
from .validate import check
from .yamltext import read_yaml


class CompareText(Written):
    """A before-and-after block: two revisions of a machine side by side."""

    machine: str = Field(description="Name of the machine.")
    revisions: list[str] = Field(description="The earlier and the later revision, as `[A, B]`.")
    state: str = Field("", description="The state that is drawn; left out: the first one that both have.")
    title: str = Field("", description="Heading of the block.")


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a block asks for. place: of the revisions in it. state_place: of the state."""

    machine: str
    before: str
    after: str
    state: str
    title: str
    place: Place
    state_place: Place


def read_comparison(text: str, path: str = "") -> tuple[Comparison | None, list[Message]]:
    """The comparison, or None and what is wrong with the text."""
    group, messages = read_yaml(text, path)
    talk = Talk()
    talk.messages.extend(messages)
    written = check(CompareText, group, "the comparison", group.place, talk) if group is not None else None
    if group is None or written is None or talk.failed:
        return None, talk.in_order()
    names, place = written.revisions, group.values["revisions"].place
    if len(names) != 2 or names[0] == names[1]:
        talk.say("compare-two", "revisions: two different ones are expected", place, "as revisions: [A, B]")
        return None, talk.in_order()
    state_place = group.values["state"].place if "state" in group.values else place
    found = Comparison(written.machine, names[0], names[1], written.state, written.title, place, state_place)
    return found, talk.in_order()
