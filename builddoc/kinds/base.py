"""What a component kind is. One kind = one file in this package; adding that file is all it takes.

A kind says everything about itself: parameters, ports, what a state may order, equations, ratings, symbol, reference
text and an example that is executed. It knows no other kind.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar, cast

import numpy as np
from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from .. import quantities
from ..circuit import Part, Rating
from ..fields import Pair, PairOf, Quantity, RatingField
from ..network import Array, Bools

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results


THICKER = (
    " Leakage is stated for the oil of work; in a state with other oil it changes as the viscosity (laminar flow "
    "through clearances: textbooks)."
)
PRACTICE = "common practice, no source"
BY_HAND = "by hand"
"""Driver of a pump that a person works."""


class Keys(BaseModel):
    """A group of keys. Names are written with spaces (`tank port rating`)."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, alias_generator=lambda name: name.replace("_", " ")
    )


class Parameters(Keys):
    """Parameters every part may have."""

    rating: RatingField | None = Field(None, description="Rated working pressure of the part, or 'unknown'.")
    salvaged: bool = Field(False, description="The part is second-hand; shown, and its rating is asked for.")
    note: str = Field("", description="A remark printed in the parts list.")


P = TypeVar("P", bound=Parameters)


def assumed(default: Any, description: str, basis: str = PRACTICE) -> Any:
    """A field whose default is a guess about the real part; `assumptions_of` tells the reader where it was used."""
    return Field(default, description=description, json_schema_extra={"basis": basis})


def assumptions_of(owner: str, keys: Keys) -> tuple[str, ...]:
    """Sentences on the `assumed` fields that the writer left out: `pump: mechanical efficiency 90 % (common practice,
    no source)`."""
    found = []
    for name, info in type(keys).model_fields.items():
        why = basis(info)
        if why and name not in keys.model_fields_set:
            found.append(f"{owner}: {info.alias or name} {_shown(getattr(keys, name), info)} ({why})")
    return tuple(found)


def basis(info: FieldInfo) -> str:
    """Where the default of an `assumed` field comes from, "" for any other."""
    return str(info.json_schema_extra.get("basis", "")) if isinstance(info.json_schema_extra, dict) else ""


def _shown(value: Any, info: FieldInfo) -> str:
    for mark in info.metadata:
        if isinstance(mark, Quantity):
            return quantities.show(value, mark.dimension)
        if isinstance(mark, PairOf) and isinstance(value, Pair):
            return f"{quantities.show(value.value, mark.first)} at {quantities.show(value.at, mark.second)}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


@dataclass(frozen=True, slots=True)
class Port:
    """A port. role: suction, pressure, return, drain, work, pilot or gauge (what it usually is, used for labels and
    defaults). No oil passes a pilot port: pressure there moves something, and a line that ends there is a pilot line.

    optional: may stay unconnected without a word (it is then taken as plugged by its maker).
    several: any number of lines may end here (a reservoir); every other port takes one line end.
    alike: which of the part's alike ports is taken makes no difference (the ends of a tee, of a coupler): a line that
    names no port gets the first free one of them.
    """

    name: str
    role: str = "work"
    aliases: tuple[str, ...] = ()
    optional: bool = False
    doc: str = ""
    several: bool = False
    alike: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """What goes wrong with a part, as an order of its control. label: as printed. sort: what a writer excludes it by.
    moving: +1 or -1 = tried only where its rod or shaft moves that way; 0 = tried where oil passes the part, or
    everywhere if no oil ever does. beside: other orders of the part without which it cannot come to that."""

    label: str
    value: Any
    sort: str
    moving: int = 0
    beside: tuple[tuple[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Control:
    """Something a state may order. name: "load", "stop", "speed", "position" or a spool's own name.

    parse: text (or what YAML gave) -> value; raises ValueError with a sentence for the writer. default: value when the
    state says nothing. faults: orders that are tried without being asked. lever: a hand may shift it together with
    another lever. said: value -> text, for values that are neither words, spool positions nor shares of an opening.
    """

    name: str
    parse: Callable[[Any], Any]
    default: Any
    doc: str = ""
    faults: tuple[Fault, ...] = ()
    lever: bool = False
    said: Callable[[Any], str] | None = None


@dataclass(frozen=True, slots=True)
class SpoolOrder:
    """Lever position: "centre", "A", "B" (the work port that gets pressure), "float" or "regen"; share 0..1 of full
    travel."""

    position: str = "centre"
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Relief:
    """A pressure limiter that a part contains. role: role of its branch or piloted passage. port: the port it guards,
    or the nearest one. setting: Pa. label: what it is called where the port does not tell it from others."""

    role: str
    port: str
    setting: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class Motion:
    """What a moving part does, per state (S,). kind: "rod" or "shaft". speed: m/s or rad/s, positive = extending or
    A to B. effort: N or N m that the oil delivers in the positive sense (nan where a pressure is not fixed).
    stroke_time: s over the full stroke (nan = standing or not applicable). output: W given to the load, losses taken
    off; negative where the load drives; 0 at rest. notes: what a page adds per state ("stage 2 of 3")."""

    kind: str
    speed: Array
    effort: Array
    stroke_time: Array | None = None
    output: Array | None = None
    notes: tuple[str, ...] = ()

    @property
    def given(self) -> Array:
        """N or N m (S,) at the load while it moves, losses taken off; at rest what the oil delivers: how much of it
        friction keeps is open."""
        if self.output is None:
            return self.effort
        moves = (np.nan_to_num(self.speed) != 0) & ~np.isnan(self.output)
        found: Array = np.where(moves, self.output / np.where(moves, self.speed, 1.0), self.effort)
        return found


@dataclass(frozen=True, slots=True)
class ShaftDemand:
    """Power and torque that a pump takes from its driver, per state (S,), W and N m. driver: name of the part, "" where
    none is named, or BY_HAND."""

    power: Array
    torque: Array
    driver: str = ""


def turned(torque: Array, speed: Array, driver: str) -> ShaftDemand:
    """Demand of a shaft at `speed` (rad/s); one that stands asks for nothing, whatever pressure is shut in at it."""
    stands = speed == 0
    return ShaftDemand(np.where(stands, 0.0, torque * speed), np.where(stands, 0.0, torque), driver)


@dataclass(frozen=True, slots=True)
class HeatSink:
    """Where heat leaves or is stored. oil_volume: m3. conductance: W/K to ambient. extra_heat_capacity: J/K.
    basis: sentences on where the figures come from."""

    oil_volume: float = 0.0
    conductance: float = 0.0
    extra_heat_capacity: float = 0.0
    basis: tuple[str, ...] = ()


class Kind(ABC, Generic[P]):
    """A component kind. Subclasses set the class variables and implement `ports` and `expand`."""

    name: ClassVar[str]  # as written after `kind:`
    aliases: ClassVar[tuple[str, ...]] = ()
    group: ClassVar[str]  # energy, valves, actuators, lines, conditioning, measuring
    symbol: ClassVar[str]  # name of its symbol
    summary: ClassVar[str]  # one sentence
    equations: ClassVar[str]  # Markdown: laws, with source or "common practice, no source"; a list where there are many
    example: ClassVar[str]  # YAML of one part, without its name; executed by the tests
    demo: ClassVar[str]  # parts, lines and states of a small circuit with it, solved on its page; see `bench`
    more: ClassVar[Mapping[str, str]] = {}  # further ones, by what they show
    Params: ClassVar[type[Parameters]]
    lasts: ClassVar[str] = "for hours"  # how long a driver gives what `shaft_supply` says
    moves: ClassVar[str] = ""  # "rod" or "shaft" for an actuator; rods may be tied. "": what turns stays inside
    holding: ClassVar[bool] = False  # shuts tight against a load that hangs on it
    tieable: ClassVar[bool] = True  # False: it moves as several rods one after another, which no beam can tie

    def own(self, part: Part) -> P:
        """The part's parameters as the type of this kind."""
        return cast(P, part.params)

    # ---- what it connects to
    @abstractmethod
    def ports(self, params: P) -> tuple[Port, ...]:
        """Ports in the order a reader expects."""

    def joined(self, params: P) -> tuple[tuple[str, ...], ...]:
        """Groups of ports that are one and the same node (a tee, a gallery)."""
        return ()

    def at_reservoir(self, params: P) -> tuple[str, ...]:
        """Ports that are the reservoir itself (0 Pa gauge)."""
        return ()

    def coupling(self, params: P) -> float | None:
        """b of dp = b q|q|, Pa s2/m6, that a coupler half gives to the pair it is joined in by a hook-up (of two halves
        the greater one counts). None: it is no coupler half."""
        return None

    def halves(self, params: P) -> tuple[str, str] | None:
        """Ports of the two halves of a coupler that is one part; None: it is none."""
        return None

    # ---- what a state may say
    def controls(self, params: P) -> tuple[Control, ...]:
        return ()

    # ---- equations
    @abstractmethod
    def expand(self, part: Part, b: Builder) -> None:
        """Add this part's primitives to the network. Numbers are arrays over states (scalars are spread)."""

    # ---- what others may ask of it
    def port_ratings(self, params: P) -> Mapping[str, Rating | None]:
        """Rating of each port; None = nobody stated one. Ports that carry no pressure by nature may be left out."""
        return {port.name: params.rating for port in self.ports(params)}

    def reliefs(self, params: P) -> tuple[Relief, ...]:
        return ()

    def trips(self, part: Part, r: Results) -> tuple[Bools, Mapping[str, Any]]:
        """(S,) solved states in which it would go over by itself into another position, and the orders that say that
        position, by control. What it did before decides, so that a state that somebody wrote has to say it."""
        return np.zeros(r.size, dtype=bool), {}

    def motions(self, part: Part, r: Results) -> Mapping[str, Motion]:
        """Moving outputs by role ("rod", "shaft")."""
        return {}

    def delivery(self, part: Part, role: str, r: Results) -> Array:
        """m3/s that leave the part at the port of its source `role`, per state (S,)."""
        return r.source_flow(part.name, role)

    def shaft_demand(self, part: Part, r: Results) -> ShaftDemand | None:
        return None

    def shaft_supply(self, part: Part, speed: Array) -> Array | None:
        """Power, W, that this driver can give at `speed` (rad/s, (S,)) for as long as `lasts` says; None if it is
        not a driver. Its continuous share is taken off."""
        return None

    def nominal_speed(self, params: P) -> float | None:
        """Rated speed of a driver, rad/s; None if it is not a driver."""
        return None

    def heat_sink(self, part: Part) -> HeatSink | None:
        return None

    def assumptions(self, part: Part) -> tuple[str, ...]:
        """Sentences on the parameters that the writer left out and that are guesses about the real part."""
        return assumptions_of(part.name, part.params)


def spread(value: float | Array, size: int) -> Array:
    """A scalar or (S,) array as a float array (S,)."""
    spread_out = np.empty(size)
    spread_out[:] = value
    return spread_out


def square_law(drop: float, flow: float) -> float:
    """b of dp = b q|q| from one rated point (Pa at m3/s)."""
    return drop / (flow * flow)
