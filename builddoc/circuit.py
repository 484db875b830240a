"""The circuit as typed, plain data: what `language` produces and everything after it reads. SI inside.

Pressures are gauge (Pa above the reservoir's air), flows m3/s, lengths m, displacement m3/rad, speeds rad/s or m/s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from .messages import Place

if TYPE_CHECKING:
    from .declarations import LineFacts, MachineFacts, PartFacts
    from .kinds.base import Parameters


@dataclass(frozen=True, slots=True)
class Rating:
    """A pressure rating as the writer (or a standard) gives it.

    value: Pa, None = the writer says it is unknown. kind: working / peak / burst. basis: where the figure was read
    ("plate", "document", "guess", or the title of a table of `standards`). status: of a table: "seen", "from memory",
    "common practice", "computed, ..." where a formula stands for it; "" for the writer's own figure.
    """

    value: float | None
    kind: str = "working"
    basis: str = ""
    document: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a line: a port of a part, or (line, at) a point `at` metres along another line."""

    part: str = ""
    port: str = ""
    line: str = ""
    at: float = 0.0

    def __str__(self) -> str:
        return f"{self.line} at {self.at:g} m" if self.line else f"{self.part}.{self.port}"


@dataclass(frozen=True, slots=True)
class Wall:
    """The steel wall of a pipe or tube. outside, nominal: m. depth: of a thread cut into it, m. mill: share by which it
    may be under its nominal size. stress: Pa that count as allowable, joint factor taken off. threaded, light: of a
    pipe (lighter than schedule 80)."""

    outside: float
    nominal: float
    stress: float
    mill: float = 0.0
    depth: float = 0.0
    threaded: bool = False
    light: bool = False


@dataclass(frozen=True, slots=True)
class Conduit:
    """The hose, tube or pipe of a line.

    label: as printed ("hose, two-wire -8"). bore, roughness: m. rating: None = nobody gave one (NOT CHECKED).
    bore_basis: "given" or the title of the table it came from. notes: things a page must say at the figure
    (e.g. that the table is from memory). wall: of a steel one. coldest, hottest: K of the oil that it bears, None = not
    known.
    """

    kind: str
    label: str
    bore: float
    roughness: float
    rating: Rating | None = None
    bore_basis: str = "given"
    notes: tuple[str, ...] = ()
    wall: Wall | None = None
    coldest: float | None = None
    hottest: float | None = None


@dataclass(frozen=True, slots=True)
class Fitting:
    """One fitting in a line. loss: K of dp = K rho v^2/2 at the line's bore. low_pressure: plumbing-grade."""

    label: str
    loss: float
    count: int = 1
    rating: Rating | None = None
    loss_basis: str = "given"
    low_pressure: bool = False
    place: Place | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """A run from `start` to `end` (the sense of positive flow). conduit None = parts joined directly.

    duty: what the writer says it is ("suction", "pressure", "return", "drain", "pilot"), "" = worked out from the
    circuit.
    length: m.
    """

    name: str
    start: End
    end: End
    conduit: Conduit | None
    length: float
    fittings: tuple[Fitting, ...] = ()
    duty: str = ""
    place: Place | None = None
    places: Mapping[str, Place] = field(default_factory=dict)
    details: Mapping[str, Any] = field(default_factory=dict)
    declare: LineFacts | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A component. kind: name of the kind. params: validated parameters of that kind (SI).

    places: where each key stood (key as written, e.g. "volumetric efficiency"), for messages.
    """

    name: str
    kind: str
    params: Parameters
    place: Place | None = None
    places: Mapping[str, Place] = field(default_factory=dict)
    declare: PartFacts | None = None


@dataclass(frozen=True, slots=True)
class Tie:
    """Actuators that do one job together. Those of `Circuit.ties` share one rigid beam: they move as one, and the load
    of a state is given to the tie's name. Those of `Circuit.pairs` are not linked and have loads of their own.

    compare: name of another layout -> line -> its length there, m; what is compared with the circuit as drawn.
    """

    name: str
    parts: tuple[str, ...]
    place: Place | None = None
    compare: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


FAULTS: Mapping[str, str] = {
    "burst hoses": "a hose that carries a load is torn",
    "stops": "an actuator is driven against the end of its stroke",
    "open couplers": "a pair of coupler halves is apart",
    "exchanged hoses": "the hoses of an attachment are coupled the wrong way round",
    "blocked filters": "a filter element lets nothing through",
    "two levers": "two levers are shifted at once",
    "forgotten sleeves": "the power-beyond sleeve is missing",
    "capped tank ports": "the line from a tank port is shut",
    "stuck unloaders": "an unloading valve does not open",
    "engine speeds": "the engine runs at its idle or at its high idle",
    "cold start": "the oil is as cold as the machine is ever started with",
}
"""Sorts of fault that are tried without being asked, by the key that excludes them, gravest first."""


@dataclass(frozen=True, slots=True)
class Tried:
    """Where a state that was tried without being asked comes from. state: the declared one it was derived from. sort:
    key of the sort of fault. about: names of the parts and lines that the fault is in. fault: what goes wrong, in the
    same words in whatever state."""

    state: str
    sort: str
    about: tuple[str, ...] = ()
    fault: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """One state of the machine.

    orders: (part or tie, control) -> value, parsed by the kind's control; what is missing takes the control's default.
    oil_temperature: degC as kelvin value is NOT used here: it is K; None = the circuit's oil temperature.
    hook_up: name of the one that holds; joined: its pairs of coupler halves. crossed: two ports of couplers that stand
    apart, joined with each other. cut: lines that are torn in two, both ends
    open to the air. capped: ports whose line is shut right there. tried: set for a fault that nobody asked for.
    """

    name: str
    orders: Mapping[tuple[str, str], Any] = field(default_factory=dict)
    oil_temperature: float | None = None
    fault: bool = False
    place: Place | None = None
    hook_up: str = ""
    joined: tuple[tuple[str, str], ...] = ()
    crossed: tuple[tuple[End, End], ...] = ()
    cut: tuple[str, ...] = ()
    capped: tuple[End, ...] = ()
    tried: Tried | None = None

    def mate(self, half: str) -> str:
        """The coupler half that is joined with this one, "" if none is."""
        for one, two in self.joined:
            if half in (one, two):
                return two if half == one else one
        return ""


@dataclass(frozen=True, slots=True)
class Oil:
    """grade: as printed. nu40, nu100: m2/s at 40 and 100 degC. density: kg/m3 at 15 degC. temperature, coldest,
    limit: K. specific_heat: J/(kg K). assumed: sentences for what was filled in (printed under assumptions)."""

    grade: str
    nu40: float
    nu100: float
    density: float
    temperature: float
    coldest: float | None = None
    limit: float = 273.15 + 82.0
    specific_heat: float = 1900.0
    assumed: tuple[str, ...] = ()
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Hint:
    """Where a part is wished in the circuit drawing, beside or over what. side: "left", "right" or "": of `beside`, or
    of the whole row where that is "". row: "above", "below", "level" or "": with `of`."""

    side: str = ""
    beside: str = ""
    row: str = ""
    of: str = ""
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Show:
    """What the page shows first. state: "" = the first declared one. hide: names of sections left out. view: drawing as
    "circuit", "flow diagram" or "both". hints: part -> where it is wished in the drawing."""

    state: str = ""
    hide: tuple[str, ...] = ()
    view: str = "circuit"
    hints: Mapping[str, Hint] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Change:
    """One change to an earlier revision. verb: "remove", "add", "replace", "set" or "re-route". path: what it touched,
    as ("parts", "pump", "displacement"). before, after: the value as written, "" = none."""

    verb: str
    path: tuple[str | int, ...]
    because: str
    place: Place
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A finding that the writer lives with. rule, subject: of the finding. because: the reason. by: a role, no name.
    on: date. seen: fingerprint of the finding when it was accepted (see `accepting`)."""

    rule: str
    subject: str
    because: str
    by: str
    on: str
    seen: str
    place: Place | None = None

    @property
    def name(self) -> str:
        """As written: `ret-velocity of return`."""
        return f"{self.rule} of {self.subject}" if self.subject else self.rule


@dataclass(frozen=True, slots=True)
class Circuit:
    """A whole machine's circuit. All names are the writer's; mappings keep the order of writing.

    ambient: K. units: systems to print in, first one leading ("metric", "US"). plugged: ports closed on purpose.
    text: the YAML of the whole (for the download). source: path of the text. faults: try faults of its own accord.
    status: "built", "planned" or "withdrawn". base: revision that it was written as `changes` to, "" = written whole.
    pairs: actuators side by side that nothing links.
    accepted: findings that the writer lives with.
    tables: what disagreeing published tables are on -> the one that counts (see `standards.choices`).
    no_faults: sort of fault, or name of a part, line, tie or state -> the reason why those are not tried.
    """

    machine: str
    revision: str
    date: str
    oil: Oil
    parts: Mapping[str, Part]
    lines: Mapping[str, Line]
    states: Mapping[str, State]
    ties: Mapping[str, Tie] = field(default_factory=dict)
    plugged: tuple[End, ...] = ()
    ambient: float = 293.15
    units: tuple[str, ...] = ("metric",)
    show: Show = Show()
    assumed: tuple[str, ...] = ()
    title: str = ""
    text: str = ""
    source: str = ""
    place: Place | None = None
    faults: bool = True
    no_faults: Mapping[str, str] = field(default_factory=dict)
    accepted: tuple[Acceptance, ...] = ()
    tables: Mapping[str, str] = field(default_factory=dict)
    pairs: Mapping[str, Tie] = field(default_factory=dict)
    status: str = "built"
    base: str = ""
    changes: tuple[Change, ...] = ()
    declare: MachineFacts | None = None
