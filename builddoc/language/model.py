"""The language as a typed model: the one source of what a circuit text may say.

`read` checks texts against it, `schema` and `reference` describe it. Parts and conduits are not listed here: their
parameters live with their kinds (`kinds.registry`, `kinds.conduits`).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from ..circuit import FAULTS
from ..declarations import LineFacts, MachineFacts, PartFacts
from ..fields import Date, Density, Length, LengthOrZero, RatingField, SpecificHeat, Temperature, Viscosity
from ..standards.choices import disputed, options

Section = Literal[
    "drawing", "cautions", "key figures", "findings", "lines", "actuators", "ratings", "ladder", "look-alikes", "heat",
    "states", "envelope", "faults", "parts", "assumptions", "proof", "downloads",
]  # fmt: skip
Units = Literal["metric", "US", "metric, then US", "US, then metric"]
Duty = Literal["suction", "pressure", "return", "drain", "pilot"]

Role = Literal["owner", "builder", "operator", "engineer", "inspector"]
Status = Literal["built", "planned", "withdrawn"]

DEFAULT_GRADE = "ISO VG 46"
DEFAULT_OIL_TEMPERATURE = 273.15 + 45.0
DEFAULT_AMBIENT = 273.15 + 20.0
PLUMBED = "as plumbed"


class Written(BaseModel):
    """Keys are written with spaces: `coldest start`."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=lambda name: name.replace("_", " "))


class OilText(Written):
    """The oil: a grade, or its viscosities from the data sheet, and the temperature it works at."""

    grade: str = Field(DEFAULT_GRADE, description="ISO viscosity grade, or any name if both viscosities are given.")
    temperature: Temperature = Field(
        DEFAULT_OIL_TEMPERATURE, description="Oil temperature at work, in every state that does not say otherwise."
    )
    coldest_start: Temperature | None = Field(None, description="Coldest oil the machine is started with.")
    limit: Temperature = Field(273.15 + 82.0, description="Hottest oil that is allowed.")
    density: Density = Field(870.0, description="Density at 15 °C.")
    viscosity_at_40: Viscosity | None = Field(None, description="Kinematic viscosity at 40 °C; left out: the grade's.")
    viscosity_at_100: Viscosity | None = Field(
        None, description="Kinematic viscosity at 100 °C; left out: typical of the grade at viscosity index 100."
    )
    specific_heat: SpecificHeat = Field(1900.0, description="Specific heat of the oil.")


class PartText(Written):
    """A part: its kind, and that kind's parameters."""

    kind: str = Field("", description="What it is; see the kinds below. Left out only beside `like`.")
    like: str = Field("", description="Name of another part: whatever is not said here is taken from there.")
    declare: PartFacts | None = Field(None, description="What rules need to know of it and the circuit cannot tell.")


class LineText(Written):
    """A line from one port to another: a route, one conduit, a length, and what is screwed into it."""

    route: str = Field(
        description="`pump.outlet > bank.P`: from port to port; or from a point on a line, `feed at 0.4 m > gauge`."
    )
    direct: bool = Field(False, description="`yes`: the two ports are screwed together; no conduit, no length.")
    length: LengthOrZero | None = Field(None, description="Length along the run.")
    fittings: list[Any] = Field(
        default_factory=list, description="Fittings in the order along the run, as `[elbow 90, elbow 45]`."
    )
    rating: RatingField | None = Field(
        None, description="The conduit's own rated working pressure; wins over any table."
    )
    roughness: Length | None = Field(None, description="Roughness of the bore; left out: that of the conduit.")
    duty: Duty | None = Field(None, description="What the line is for; left out: worked out from the circuit.")
    hose_date: Date = Field("", description="Date on the hose.")
    declare: LineFacts | None = Field(None, description="What rules need to know of it and the circuit cannot tell.")
    note: str = Field("", description="A remark.")


class TieText(Written):
    """Actuators that do one job together. Rigid: they push one beam and move as one, and a state gives the load to the
    tie's name. Not rigid: each moves for itself and has its own load; the page shows them side by side."""

    parts: list[str] = Field(description="Names of the actuators.")
    rigid: bool = Field(True, description="`yes`: one beam makes them move as one; `no`: nothing links them.")
    compare: dict[str, dict[str, Length]] = Field(
        default_factory=dict,
        description="Other layouts to compare with the one drawn: name -> line -> its length there, as `{centre tee: "
        "{left leg: 1.35 m, right leg: 1.35 m}}`.",
    )


class StateText(Written):
    """One state of the machine: levers, loads, stops, speeds. Besides the keys listed here it takes the names of spools
    and of parts that can be set."""

    loads: dict[str, Any] = Field(
        default_factory=dict,
        description="Part or tie -> load, as `26.5 kN compression`, `4 kN tension`, `90 N.m resisting`.",
    )
    at_stop: dict[str, Any] = Field(
        default_factory=dict, description="Part or tie -> `extended` or `retracted`: it stands against that stop."
    )
    stopped: list[str] = Field(
        default_factory=list, description="Parts or ties that stand and may not move either way, as `[clamp ram]`."
    )
    speed: dict[str, Any] = Field(default_factory=dict, description="Engine or electric motor -> speed, as `1200 rpm`.")
    hook_up: str = Field(
        "", alias="hook-up", description="Name of the hook-up that holds; left out: the one that the circuit names."
    )
    oil_temperature: Temperature | None = Field(None, description="Oil temperature in this state.")
    fault: bool = Field(False, description="`yes`: the state shows a fault or a mistake.")
    note: str = Field("", description="A remark.")


class HintText(Written):
    """Where a part is wished in the circuit drawing. It is given no place: lines decide first, and a wish that they do
    not allow is told and left."""

    side: str = Field("", description="`left` or `right`, at the end of its row; or `left of bank`, `right of bank`.")
    row: str = Field("", description="`above bank`, `below bank`, or `level with bank`.")


class ShowText(Written):
    """What the page shows."""

    state: str = Field("", description="The state drawn first; left out: the first one.")
    hide: list[Section] = Field(
        default_factory=list,
        description="Sections to leave out. Of `cautions` those with the word DANGER stay; `findings` are counted "
        "then.",
    )
    view: Literal["circuit", "flow diagram", "both"] = Field(
        "circuit", description="Drawing: symbols of the trade, a plain flow diagram of named boxes, or both."
    )
    hints: dict[str, HintText] = Field(
        default_factory=dict, description="Part -> where it is wished in the drawing, as `{gauge: {side: left}}`; keys "
        "`side` and `row`.",
    )  # fmt: skip


class FaultsText(Written):
    """Faults are tried that no state names; here some are left out."""

    exclude: dict[str, str] = Field(
        default_factory=dict,
        description="Sort of fault, or name of a part, line, tie or state -> the reason, which is printed: as "
        "`{cold start: it stands indoors}`. Sorts: " + ", ".join(f"`{sort}` ({text})" for sort, text in FAULTS.items()),
    )


class AcceptedText(Written):
    """A finding that the writer lives with. It stays on the page, marked as accepted, and does not count where findings
    are counted; a change of what it is about, or of its figures, withdraws the acceptance. A DANGER stays where it
    is."""

    because: str = Field(description="Why it is lived with; printed on the page.")
    by: Role = Field(description="Who decided: a role, no name.")
    on: Date = Field(description="When.")
    seen: str = Field(description="Fingerprint of the finding; `builddoc check --accept` prints it.")


class HeadText(Written):
    """What stands above the parts: single values."""

    machine: str = Field(description="Name of the machine.")
    revision: str = Field("A", description="Which build of it.")
    title: str = Field("", description="Heading of the figure.")
    date: Date = Field("", description="Date of the revision.")
    status: Status = Field("built", description="Whether this revision was built, is planned, or is given up.")
    ambient: Temperature = Field(DEFAULT_AMBIENT, description="Air temperature round the machine.")
    hook_up: str = Field(
        "", alias="hook-up", description="Hook-up in every state that does not name one; not needed where one is alone."
    )
    units: Units = Field("metric", description="Units to print in; with `then`, the second follows in brackets.")
    declare: MachineFacts | None = Field(
        None, description="What rules need to know of the machine and the circuit cannot tell."
    )


class BaseText(Written):
    """The earlier revision that the changes start from."""

    revision: str = Field("", description="Its revision; it may stand on another page of the site.")
    file: str = Field("", description="The file that it stands in, beside the page.")


class ChangeText(Written):
    """One change to the earlier revision, with its reason. A dotted path names a place, as `pump.displacement`; where a
    part, a line and a state share a name, begin it with the section, as `lines.feed.length`."""

    because: str = Field(description="Why it was changed.")
    remove: str | list[str] = Field("", description="What is taken out, as `[old hose, feed.fittings.elbow 90]`.")
    add: dict[str, Any] = Field(
        default_factory=dict, description="Section -> name -> what is new, as `{lines: {drain: {…}}}`."
    )
    replace: dict[str, Any] = Field(
        default_factory=dict, description="Section -> name -> what takes the place of the whole entry."
    )
    set_: dict[str, Any] = Field(
        default_factory=dict, alias="set", description="Path -> new value, as `{pump.displacement: 8 cc/rev}`."
    )
    re_route: dict[str, str] = Field(
        default_factory=dict,
        alias="re-route",
        description="Line -> new route, as `{feed: pump.outlet > filter.inlet}`.",
    )


class CircuitText(HeadText):
    """A circuit block, or a circuit file beside the page."""

    oil: OilText | str = Field(
        default_factory=lambda: OilText.model_validate({}), description="The oil; a grade alone, or a group of keys."
    )
    defaults: dict[str, dict[str, Any]] = Field(
        default_factory=dict, description="Kind or conduit -> parameters where a part or line does not say."
    )
    parts: dict[str, PartText] = Field(description="Name -> part. Names may hold spaces, not `.` or `>`.")
    lines: dict[str, LineText] = Field(default_factory=dict, description="Name -> line.")
    ties: dict[str, TieText] = Field(default_factory=dict, description="Name -> actuators that move as one.")
    plugged: list[str] = Field(default_factory=list, description="Ports closed on purpose, as `[bank.lifter.B]`.")
    hook_ups: dict[str, dict[str, str]] = Field(
        default_factory=dict, alias="hook-ups",
        description="Name -> pairs of coupler halves that are joined, as `{mill feed: arm feed}`. A half in no pair is "
        "apart.",
    )  # fmt: skip
    states: dict[str, StateText | None] = Field(
        default_factory=dict, description="Name -> state; left out: one state, `as plumbed`."
    )
    faults: FaultsText | bool = Field(
        True, description="`no`: no faults are tried but those that states name; a group: some are not."
    )
    accepted: dict[str, AcceptedText] = Field(
        default_factory=dict, description="`RULE of SUBJECT` -> reason, role, date and fingerprint: findings that the "
        "writer lives with.",
    )  # fmt: skip
    tables: dict[str, str] = Field(
        default_factory=dict, description="Where published tables disagree, the one that counts for this machine, as "
        "`{four-spiral hose: catalogue}`; the page says so. Left out: the first of each. There are: " + "; ".join(
            f"`{key}`: " + ", ".join(f"`{option}`" for option in options(entry)) for key, entry in disputed().items()
        ) + ".",
    )  # fmt: skip
    show: ShowText = Field(default_factory=lambda: ShowText.model_validate({}), description="What the page shows.")
    from_: str | BaseText = Field(
        "",
        alias="from",
        description="The earlier revision of this machine that `changes` start from; takes the place of the sections.",
    )
    changes: list[ChangeText] = Field(default_factory=list, description="What differs from it, in order.")
    file: str = Field(
        "",
        description="Instead of all other keys but `show` and `units`: the file with the circuit, beside the page.",
    )


@cache
def keys_of(model: type[BaseModel]) -> Mapping[str, str]:
    """Key as written -> name of the field."""
    return {field.alias or name: name for name, field in model.model_fields.items()}
