"""Text of a `readings` block -> readings as typed, with places; what they mean is decided beside the circuit."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import Field

from ..fields import Temperature
from ..messages import Message, Place
from .model import Date, Written
from .talk import Talk
from .validate import check
from .yamltext import Group, Sequence, read_yaml


class TakenText(Written):
    """What may stand at one reading, or above all of them."""

    date: Date = Field("", description="When it was read.")
    state: str = Field("", description="State of the circuit that the machine was in.")
    oil_temperature: Temperature | None = Field(None, description="Oil temperature when it was read.")
    speed: dict[str, str] = Field(default_factory=dict, description="Engine or motor -> its speed then, `2350 rpm`.")
    instrument: str = Field("", description="What it was read with.")
    class_: str = Field("", alias="class", description="Accuracy class of a gauge: per cent of its scale, as `1.6`.")
    scale: str = Field("", description="End of the gauge's scale, as `250 bar`.")
    accuracy: str = Field("", description="Instead of class and scale: as `2 %` of the reading, or `0.2 s`.")


class ReadingText(TakenText):
    """One reading: a point of the machine and the value that was read."""

    point: str = Field(description="What was measured, named as in prose: `feed.pressure`, `ram.time`.")
    value: str = Field(description="What was read, with its unit.")
    remark: str = Field("", description="A remark.")


class ReadingsText(TakenText):
    """A readings block."""

    machine: str = Field(description="Name of the machine.")
    revision: str = Field(description="The revision that it was when it was measured.")
    title: str = Field("", description="Heading of the block.")
    seen: str = Field("", description="Print of the circuit that was measured, as `builddoc readings new` writes it.")
    readings: list[dict[str, object]] = Field(description="The readings, each a group of keys.")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading with the block's common keys filled in. places: by key; `whole` of the reading itself."""

    text: ReadingText
    whole: Place
    places: dict[str, Place]

    def place(self, key: str) -> Place:
        return self.places.get(key, self.whole)


@dataclass(frozen=True, slots=True)
class Readings:
    """A block. seen: print of the circuit that was measured, "" = not said; seen_place: of it."""

    machine: str
    revision: str
    title: str
    readings: tuple[Reading, ...]
    place: Place
    seen: str
    seen_place: Place


def read_readings(text: str, path: str = "") -> tuple[Readings | None, list[Message]]:
    """The block, or None and what is wrong with the text."""
    group, messages = read_yaml(text, path)
    talk = Talk()
    talk.messages.extend(messages)
    written = check(ReadingsText, group, "the readings", group.place, talk) if group is not None else None
    found = []
    if group is not None and written is not None:
        shared = group.without("machine", "revision", "title", "seen", "readings")
        node = group.values["readings"]
        for number, item in enumerate(node.items if isinstance(node, Sequence) else (), 1):
            assert isinstance(item, Group)  # the model has seen to it
            whole = item.over(shared)
            one = check(ReadingText, whole, f"reading {number}", item.place, talk)
            if one is not None:
                found.append(Reading(one, item.place, {k: v.place for k, v in whole.values.items()}))
    if group is None or written is None or talk.failed:
        return None, talk.in_order()
    place = group.values["revision"].place
    seen_place = group.values["seen"].place if "seen" in group.values else place
    block = Readings(
        written.machine, written.revision, written.title, tuple(found), place, written.seen, seen_place
    )  # fmt: skip
    return block, talk.in_order()
