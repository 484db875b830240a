"""What the builder can say and a circuit cannot know: where people stand, how a hose lies, what a joint is made of.

All of it is optional. A rule that needs a fact that nobody declared reports NOT CHECKED and names the fact. Values are
SI inside, as everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from .fields import Date, Force, Length, LengthOrZero, Mass, Quantity, RatingField

People = Literal["none", "operator", "others too"]
Fluid = Literal["mineral oil", "tractor fluid", "transmission fluid", "ester", "water glycol", "brake fluid"]
Material = Literal["NBR", "FKM", "EPDM", "PU", "PTFE", "zinc", "copper", "brass"]
Lever = Literal["hold-to-run", "spring centred", "detent", "detent with kick-out", "foot pedal", "toggle"]
Form = Literal[
    "37 flare", "45 flare", "O-ring boss", "face seal", "NPT", "NPTF", "BSPT", "BSPP", "metric O-ring", "24 cone",
    "flange 61", "flange 62",
]  # fmt: skip
Sealant = Literal["none", "tape", "paste", "anaerobic"]


def _cleanliness(value: object) -> tuple[int, int, int] | None:
    if value is None or isinstance(value, tuple):
        return value
    words = str(value).split("/")
    if len(words) != 3 or not all(w.strip().isascii() and w.strip().isdigit() for w in words):
        raise PydanticCustomError(
            "cleanliness-form", "{text}",
            {"text": f"'{value}' is not a cleanliness code", "hint": "three numbers after ISO 4406, as 19/17/14"},
        )  # fmt: skip
    first, second, third = (int(w) for w in words)
    return first, second, third


class _Code:
    """`19/17/14`, read from text."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: object) -> object:
        return core_schema.no_info_plain_validator_function(_cleanliness)

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: object, handler: object) -> dict[str, object]:
        return {"type": "string", "title": "cleanliness code", "examples": ["19/17/14"]}


Code = Annotated[tuple[int, int, int], _Code]
ForceEither = Annotated[float, Quantity("force")]
Angle = Annotated[float, Field(ge=0.0, lt=90.0)]


class Facts(BaseModel):
    """A group of declarations; keys are written with spaces."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, alias_generator=lambda name: name.replace("_", " ")
    )


class MachineFacts(Facts):
    """Of the whole machine: people, where it stands, its oil as it was sampled."""

    people: People | None = Field(None, description="Who is within about 1 m of oil under pressure while it runs.")
    guards: bool | None = Field(None, description="Lines, hot parts and joints in reach of people are behind guards.")
    release_sequence: bool | None = Field(
        None, description="The page tells how to let all pressure and every load down before a joint is opened."
    )
    mobile: bool | None = Field(None, description="It drives, is towed or stands on wheels; `no`: it cannot tip.")
    public_roads: bool | None = Field(None, description="It drives on public roads.")
    slope: Angle | None = Field(None, description="Steepest ground it works on, degrees, as `5`.")
    track_width: Length | None = Field(None, description="Distance between the lines it would tip about.")
    centre_of_gravity: Length | None = Field(None, description="Height of the centre of gravity, loaded and raised.")
    load_offset: LengthOrZero | None = Field(
        None, description="How far sideways from the middle the centre of gravity may lie, the load uneven."
    )
    hitch: bool | None = Field(None, description="It is towed; its tongue rests on a hitch.")
    least_tongue_load: ForceEither | None = Field(
        None, description="Least load of the tongue on the hitch over the whole movement; negative lifts it."
    )
    greatest_tongue_load: Force | None = Field(None, description="Greatest load of the tongue on the hitch.")
    hitch_rating: Force | None = Field(None, description="Load the hitch may carry.")
    lifting_arms: bool | None = Field(None, description="It carries loads on arms ahead of or behind its wheels.")
    tip_load: Force | None = Field(None, description="Load at the end of those arms at which the machine tips.")
    tip_reach: Length | None = Field(None, description="How far from the nearest axle that load hangs.")
    ballast: Mass | None = Field(None, description="Ballast at the other end that the tip load counts on.")
    checked: Date = Field(
        "", description="Date on which the machine as built was last gone over against this page. A revision of a "
        "later date, or one made from an earlier revision where no such day is stated, says that it changed since."
    )
    near_water: bool | None = Field(None, description="Oil that is lost can reach open water, a drain or a well.")
    spill_kit: bool | None = Field(None, description="Something to bind the oil with is carried.")
    fluid: Fluid | None = Field(None, description="What sort of fluid it is filled with.")
    oil_sample: Code | None = Field(None, description="Laboratory's code after ISO 4406 of oil from a live line.")
    cleanliness_target: Code | None = Field(
        None, description="Code after ISO 4406 that its most delicate part asks for; left out: by part and pressure."
    )


class PartFacts(Facts):
    """Of one part: gaps that close, work beneath it, its lever, what touches the oil."""

    gap: LengthOrZero | None = Field(None, description="Least gap that its movement leaves.")
    in_reach: bool | None = Field(None, description="A person can reach into that gap while it moves.")
    guarded: bool | None = Field(None, description="A guard, or hold-to-run out of reach, keeps people from it.")
    work_beneath: bool | None = Field(None, description="Somebody cleans or mends beneath what it has raised.")
    prop: Force | None = Field(None, description="Load that the prop or pin for it is rated for.")
    prop_load: Force | None = Field(
        None, description="Load on that prop, with what is raised as it is propped; left out: that of the rod."
    )
    fed_by_hand: bool | None = Field(None, description="Hands put the work into that gap.")
    in_line: bool | None = Field(None, description="A person stands where pieces fly if frame or work gives way.")
    frame_reviewed: bool | None = Field(
        None, description="Somebody licensed or trained for it, not its builder alone, has reckoned its frame rating."
    )
    lever: Lever | None = Field(
        None, description="How its lever, pedal or switch returns when it is let go; of several the one that stays."
    )
    toward_person: bool | None = Field(None, description="It can move something toward the person at the lever.")
    steers_by_hand: bool | None = Field(
        None, description="It was tried: with the engine off the steering wheel still turns the moving machine."
    )
    runs_on: bool | None = Field(None, description="What the motor turns runs on by itself when the oil stops.")
    one_way: bool | None = Field(None, description="Coupler halves that can be joined in one way only.")
    materials: list[Material] | None = Field(None, description="Seals and metals that the oil touches, as `[NBR]`.")


class AdapterFacts(Facts):
    """One adapter of a joint: the forms of its two ends, and what it is rated for. Left out: not known."""

    from_: Form | None = Field(None, alias="from", description="Form of its end toward the line.")
    from_size: str = Field("", description="Dash or nominal size of that end, as `-8` or `1/2`.")
    to: Form | None = Field(None, description="Form of its end toward the port, or toward the next adapter.")
    to_size: str = Field("", description="Size of that end.")
    rating: RatingField | None = Field(
        None, description="Rated working pressure, from its maker's sheet; left out: that of the table by form and "
        "size of both ends, where there is one."
    )

    @property
    def described(self) -> bool:
        return bool(self.from_ or self.to or self.rating)


MOST_ADAPTERS = 20


def _adapters(value: object) -> object:
    """A number of adapters as that many of which nothing else is known."""
    if not isinstance(value, (str, int)):
        return value
    text = str(value).strip()
    if not (text.isascii() and text.isdigit()) or int(text) > MOST_ADAPTERS:
        raise PydanticCustomError(
            "number-form", "{text}",
            {"text": f"expected a number of adapters up to {MOST_ADAPTERS}, or a list of them, not '{text}'",
             "hint": "as [{from: 37 flare, from size: -6, to: O-ring boss, to size: -6, rating: 276 bar}]"},
        )  # fmt: skip
    return ({},) * int(text)


class _Adapters:
    """A list of adapters from the line to the port, or their number alone."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(_adapters, handler(source))

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> Mapping[str, Any]:
        return {"anyOf": [{"type": "integer", "minimum": 0, "maximum": MOST_ADAPTERS}, handler(schema)]}


class JointFacts(Facts):
    """One joint: the form of both halves, and what is between them."""

    form: Form | None = Field(None, description="Form of the end of the line.")
    onto: Form | None = Field(
        None, description="Form of the port or end it is screwed onto; where adapters are listed, of that which the "
        "last of them is screwed onto."
    )
    size: str = Field("", description="Dash or nominal size of the line's end, as `-8` or `1/2`.")
    onto_size: str = Field("", description="Size of the other half.")
    sealant: Sealant | None = Field(None, description="What was put on the thread.")
    cast: bool | None = Field(None, description="The port is in cast iron or aluminium.")
    adapters: Annotated[tuple[AdapterFacts, ...], _Adapters] | None = Field(
        None, description="Adapters in this joint, in the order from the line to the port, or only how many."
    )
    rating: RatingField | None = Field(
        None, description="Rated working pressure of the connector, the weakest of both halves and of adapters that "
        "are only numbered, from their maker's sheet; left out: that of the table by form and size, where there is one."
    )

    @property
    def chain(self) -> tuple[Contact, ...]:
        """Every place at which one half is screwed onto another, from the line to the port. Adapters of which nobody
        said anything are no part of it: then `onto` is what the line's end meets."""
        listed = self.adapters or ()
        if not any(a.described for a in listed):
            return (Contact(Half(self.form, self.size), Half(self.onto, self.onto_size)),)
        near = [Half(self.form, self.size)]
        far = []
        for n, adapter in enumerate(listed, 1):
            far.append(Half(adapter.from_, adapter.from_size, n))
            near.append(Half(adapter.to, adapter.to_size, n))
        far.append(Half(self.onto, self.onto_size))
        return tuple(Contact(one, other) for one, other in zip(near, far, strict=True))


@dataclass(frozen=True, slots=True)
class Half:
    """adapter: which adapter's end it is, counted from the line; 0 = the line's end or the port's."""

    form: Form | None
    size: str
    adapter: int = 0

    @property
    def words(self) -> str:
        """`37 flare -6`."""
        return f"{self.form or '?'} {self.size.strip()}".strip()


@dataclass(frozen=True, slots=True)
class Contact:
    """One half screwed onto another. one: that nearer the line."""

    one: Half
    other: Half


class LineFacts(Facts):
    """Of one line: how it lies, what is near it, what its two joints are."""

    near_people: LengthOrZero | None = Field(None, description="Distance to the nearest place where a person is.")
    near_hot_part: LengthOrZero | None = Field(None, description="Distance to exhaust, turbo or another hot part.")
    shield: bool | None = Field(None, description="A sheet or a rated sleeve is between it and people or heat.")
    bend_radius: Length | None = Field(None, description="Tightest bend over the whole movement, inside of the bend.")
    rated_bend_radius: Length | None = Field(None, description="Least radius its maker allows; wins over the table.")
    slack: LengthOrZero | None = Field(None, description="Length it has more than its path, where that is longest.")
    twisted: bool | None = Field(None, description="Its lay line is not straight in some position of the machine.")
    clearance: LengthOrZero | None = Field(None, description="Distance to edges and parts it could rub on.")
    sleeve: bool | None = Field(None, description="A sleeve protects it where it could rub.")
    one_plane: bool | None = Field(None, description="It bends in one plane, or is clamped where the plane changes.")
    start: JointFacts | None = Field(None, description="The joint at its first-named end.")
    end: JointFacts | None = Field(None, description="The joint at its other end.")
