"""Text of a `photos` block -> a picture with numbered call-outs; what they show is looked up beside the circuit."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from pydantic import Field

from ..fields import Share
from ..messages import Message, Place
from .model import Date, Written
from .talk import Talk
from .validate import check
from .yamltext import Group, Sequence, read_yaml

_FILE_NAME = re.compile(r"[\w./-]+\.\w{2,4}")


class CallOutText(Written):
    """One numbered call-out on the picture, tied to a part or a line."""

    at: list[Share] = Field(description="Where: `[35 %, 60 %]`, from the left edge and from the top edge.")
    shows: str = Field(description="Name of the line or part there; of one port of a part: `valve.T`.")
    note: str = Field("", description="How to know it: `the left one of the two, red band`.")


class PhotosText(Written):
    """A picture of a machine with call-outs."""

    machine: str = Field(description="Name of the machine.")
    revision: str = Field("", description="Its revision; left out: the newest that was built.")
    image: str = Field(description="File of the picture, relative to the page: `photos/back.jpg`.")
    alt: str = Field(description="What is to be seen, said for those who do not see it. Required.")
    title: str = Field("", description="Heading of the block.")
    date: Date = Field("", description="When the picture was taken.")
    credit: str = Field("", description="Who took or drew it.")
    state: str = Field("", description="State whose pressures are listed; left out: the one that the page shows.")
    call_outs: list[CallOutText] = Field(alias="call-outs", description="The call-outs, numbered as they are written.")


@dataclass(frozen=True, slots=True)
class CallOut:
    """x, y: shares of the picture's width and height, from its upper left corner. place: of `shows`."""

    x: float
    y: float
    shows: str
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class Photos:
    """What a block asks for. places: of its keys; `machine` is always among them."""

    machine: str
    revision: str
    image: str
    alt: str
    title: str
    date: str
    credit: str
    state: str
    call_outs: tuple[CallOut, ...]
    places: dict[str, Place] = field(default_factory=dict)


def read_photos(text: str, path: str = "") -> tuple[Photos | None, list[Message]]:
    """The block, or None and what is wrong with the text."""
    group, messages = read_yaml(text, path)
    talk = Talk()
    talk.messages.extend(messages)
    written = check(PhotosText, group, "the photos block", group.place, talk) if group is not None else None
    if group is None or written is None:
        return None, talk.in_order()
    places = {key: value.place for key, value in group.values.items()}
    node = group.values["call-outs"]
    items = [item for item in (node.items if isinstance(node, Sequence) else []) if isinstance(item, Group)]
    found = []
    for one, item in zip(written.call_outs, items, strict=True):
        if len(one.at) != 2:
            hint = "as at: [35 %, 60 %], from the left edge and from the top edge"
            talk.say("call-out-place", f"at: two shares are expected, not {len(one.at)}", item.values["at"].place, hint)
            continue
        found.append(CallOut(one.at[0], one.at[1], one.shows, one.note, item.values["shows"].place))
    if not written.call_outs:
        talk.say("call-out-none", "there is no call-out", places["call-outs"], "as {at: [35 %, 60 %], shows: feed}")
    if _FILE_NAME.fullmatch(written.alt) or len(written.alt.split()) < 3:
        what = f"'{written.alt}' does not tell what is to be seen"
        talk.say("alt-text", what, places["alt"], "say it in a sentence, for those who do not see the picture")
    if talk.failed:
        return None, talk.in_order()
    return (
        Photos(
            written.machine, written.revision, written.image, written.alt, written.title, written.date,
            written.credit, written.state, tuple(found), places,
        ),
        talk.in_order(),
    )  # fmt: skip
