"""Directional valve: one body with one spool or a stack of several, open or closed centre."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part, Rating
from ..fields import DropAtFlow, Leakage, Pair, PressureDrop, RatingField
from ..network import Array, Bools
from . import limiting, orders
from .base import Control, Fault, Keys, Kind, Parameters, Port, Relief, SpoolOrder, assumed, assumptions_of
from .passages import at_40, full, shut, throttled

if TYPE_CHECKING:
    from ..assemble import Builder

RESERVED = ("P", "T", "PB", "load", "stop", "speed", "sleeve")
SINGLE = "position"
"""Name of the control, and of nothing else, where the valve has one spool without a name."""


class Spool(Keys):
    """One spool of the valve."""

    ports_in_centre: Literal["blocked", "to tank"] = Field(
        "blocked",
        description="Work ports A and B with the lever in centre: `blocked`, or joined `to tank` (motor spool).",
    )
    float: bool = Field(False, description="It has a fourth position that joins A and B to the tank.")
    drop: DropAtFlow | None = Field(
        None, description="Pressure drop of each path, P to port and port to T, fully shifted. Left out: the body's."
    )


def _spools(raw: Any) -> Any:
    """`[lifter, clamp]`, `[lifter, {clamp: {float: yes}}]` or `{lifter: {float: yes}}` -> name -> keys."""
    if isinstance(raw, str):
        raw = [raw]
    if isinstance(raw, (list, tuple)):
        named: dict[str, Any] = {}
        for item in raw:
            entries = item if isinstance(item, Mapping) else {item: None}
            for name, keys in entries.items():
                if name in named:
                    raise _error("key-twice", f"two spools are named '{name}'", "every spool has a name of its own")
                named[name] = keys
        raw = named
    if not isinstance(raw, Mapping):
        return raw
    for name in raw:
        if not isinstance(name, str) or not name.strip() or set(name) & set(".>"):
            raise _error("name-form", f"'{name}' cannot name a spool", "names may hold spaces, but no '.' and no '>'")
        if name in RESERVED:
            raise _error("name-form", f"a spool cannot be named '{name}': that word has a meaning already", "")
    return {name: ({} if keys in (None, "") else keys) for name, keys in raw.items()}


def _error(code: str, text: str, hint: str) -> PydanticCustomError:
    return PydanticCustomError(code, "{text}", {"text": text, "hint": hint})


class DirectionalValveParams(Parameters):
    centre: Literal["open", "closed"] = Field(
        description="Way of the oil from P with all levers in centre: `open` = through the body to T; `closed` "
        "= blocked."
    )
    spools: Annotated[dict[str, Spool], BeforeValidator(_spools, json_schema_input_type=Any)] = Field(
        default_factory=dict,
        description="Names of the spools in the order in which the oil meets them, as `[lifter, clamp]`, or "
        "each with keys of its own: `{lifter: {float: yes}, clamp: {}}`. Left out: one spool, with ports A "
        "and B of the valve itself.",
    )
    feed: Literal["parallel", "series", "tandem"] = Field(
        "parallel",
        description="How several spools are fed. `parallel`: all from P. `tandem`: from the open centre, so "
        "the first one shifted has priority. `series`: what comes back from one goes on to the next.",
    )
    relief: Annotated[
        limiting.ReliefSetting | None,
        BeforeValidator(limiting.ReliefSetting.from_text, json_schema_input_type=str | limiting.ReliefSetting),
    ] = Field(
        None, description="Built-in relief from P to T: its setting, or a group of setting, override, pilot operated."
    )
    power_beyond: bool = Field(
        False,
        description="A sleeve leads the end of the open centre to a port PB of its own, which feeds what comes after; "
        "T takes only what the spools and the relief return. Without it the centre ends in T.",
    )
    tank_port_rating: RatingField | None = Field(
        None, description="Rated pressure of the tank port T, often far below that of the valve."
    )
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop of each path, P to port and port to T, fully shifted.")
    centre_drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop of the open centre, for each spool, lever in "
    "centre.")
    load_checks: bool = Field(True, description="A check valve before each spool keeps a load from falling "
    "back to P.")
    load_check_cracking: PressureDrop = assumed(0.4e5, "Opening pressure of the load checks.")
    spool_leakage: Leakage = Field(
        0.0, description="Leakage of each work port to T, as `20 mL/min at 100 bar`; left out: none, so "
        "blocked ports hold."
    )

    @model_validator(mode="after")
    def _feed_needs_open_centre(self) -> DirectionalValveParams:
        if self.centre == "closed" and self.feed != "parallel":
            raise _error(
                "choice", f"a closed centre cannot feed its spools in {self.feed}",
                "series and tandem feed run through the open centre: leave 'feed' out, or write 'centre: open'",
            )  # fmt: skip
        return self

    @model_validator(mode="after")
    def _sleeve_needs_open_centre(self) -> DirectionalValveParams:
        if self.centre == "closed" and self.power_beyond:
            raise _error(
                "choice", "a closed centre has nothing to lead to a power-beyond port",
                "leave 'power beyond' out, or write 'centre: open'",
            )  # fmt: skip
        return self

    def each(self) -> list[_One]:
        """The spools in order; one without a name where none is named."""
        if not self.spools:
            return [_One("", Spool.model_construct(), self.drop)]
        return [_One(name, spool, spool.drop or self.drop) for name, spool in self.spools.items()]


@dataclass(frozen=True, slots=True)
class _One:
    """A spool with its name ("" = the only one) and the drop that holds for it."""

    name: str
    keys: Spool
    drop: Pair

    def port(self, letter: str) -> str:
        return f"{self.name}.{letter}" if self.name else letter

    def role(self, way: str) -> str:
        return f"{self.name}: {way}" if self.name else way

    @property
    def control(self) -> str:
        return self.name or SINGLE


@dataclass(frozen=True, slots=True)
class _Shift:
    """Where a spool stands, per state. a, b, centre, float: bool. x: share of travel towards A or B, else 0."""

    a: Bools
    b: Bools
    float: Bools
    x: Array

    @classmethod
    def of(cls, given: list[SpoolOrder]) -> _Shift:
        place = np.array([order.position for order in given])
        a, b = place == "A", place == "B"
        x = np.where(a | b, np.array([order.share for order in given]), 0.0)
        return cls(a, b, place == "float", x)

    @property
    def centre(self) -> Bools:
        return ~(self.a | self.b | self.float)


class DirectionalValve(Kind[DirectionalValveParams]):
    name = "directional valve"
    aliases = ("directional control valve", "control valve", "spool valve")
    group = "valves"
    symbol = "directional valve"
    summary = "Hand valve, one spool or a stack: sends oil to A or B and takes it back from the other one."
    equations = (
        "Each open path: `dp = drop x (Q / flow)^2 / x^2`, x = share of travel (area in proportion to travel: common "
        "practice, no source). P to a work port: a load check (one way, plus its cracking pressure). Open "
        "centre: for each spool one passage in series with `centre drop`, its area shrinking to nothing at "
        "full travel (1 - x). Parallel feed takes from P; tandem from the centre just before the spool; series "
        "likewise, and what returns goes on to the next spool instead of T. Float joins A and B to T and "
        "leaves the centre open. `power beyond` ends the centre in PB instead of T; a sleeve that is"
        " `missing` joins PB and T by one more `centre drop`. "
        "A path that a position shuts lets nothing through, but for `spool leakage`. "
        + limiting.LAW
    )
    example = (
        "{kind: directional valve, centre: open, spools: {lifter: {float: yes}, clamp: {drop: 4 bar at 30 L/min}}, "
        "feed: parallel, relief: {setting: 150 bar, override: 3 bar at 40 L/min}, rating: 210 bar, "
        "tank port rating: 25 bar}"
    )
    Params = DirectionalValveParams

    def ports(self, params: DirectionalValveParams) -> tuple[Port, ...]:
        work = [
            Port(one.port(letter), "work", doc=f"work port {letter}" + (f" of {one.name}" if one.name else ""))
            for one in params.each()
            for letter in "AB"
        ]
        sleeve = (Port("PB", "pressure", doc="power beyond: to the next valve"),) if params.power_beyond else ()
        return (Port("P", "pressure", doc="from the pump"), Port("T", "return", doc="to the reservoir"), *sleeve, *work)

    def controls(self, params: DirectionalValveParams) -> tuple[Control, ...]:
        sleeve = Control(
            "sleeve", orders.sleeve, "fitted", "`fitted`, or `missing`: the power-beyond port and T are one",
            faults=(Fault("sleeve forgotten", "missing", "forgotten sleeves"),),
        )  # fmt: skip
        levers = tuple(
            Control(
                one.control,
                orders.spool_position(one.keys.float),
                SpoolOrder(),
                "`A` or `B` (the port that gets pressure), `centre`" + (", `float`" if one.keys.float else "")
                + "; `A 40 %` = shifted in part",
                lever=True,
            )
            for one in params.each()
        )  # fmt: skip
        return (*levers, sleeve) if params.power_beyond else levers

    def port_ratings(self, params: DirectionalValveParams) -> Mapping[str, Rating | None]:
        return {
            port.name: params.tank_port_rating if port.name == "T" else params.rating for port in self.ports(params)
        }

    def reliefs(self, params: DirectionalValveParams) -> tuple[Relief, ...]:
        return (Relief("relief", "P", params.relief.setting),) if params.relief else ()

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        P, T = b.node("P"), b.node("T")
        if params.relief:
            b.branch("relief", P, T, c0=params.relief.setting, a=params.relief.slope(), lo=0.0)
        spools = params.each()
        shifts = [_Shift.of(b.orders(one.control)) for one in spools]
        # Nodes of the open centre before, between and behind the spools. The last spool returns to T in any feed: the
        # sleeve takes the centre only.
        end = b.node("PB") if params.power_beyond else T
        gallery = [P, *(b.inner(f"centre behind {one.name}") for one in spools[:-1]), end]
        for n, (one, shift) in enumerate(zip(spools, shifts, strict=True)):
            before, behind = gallery[n], gallery[n + 1]
            if params.centre == "open":
                left = 1.0 - shift.x
                b.branch(one.role("centre"), before, behind, b=throttled(params.centre_drop, left), shut=shut(left))
            feed = P if params.feed == "parallel" else before
            back = behind if params.feed == "series" and n < len(spools) - 1 else T
            self._paths(one, shift, params, b, feed, back)
        if params.power_beyond:
            fitted = np.array([order == "fitted" for order in b.orders("sleeve")])
            b.branch("without sleeve", end, T, b=full(params.centre_drop), shut=fitted)

    def _paths(
        self, one: _One, shift: _Shift, params: DirectionalValveParams, b: Builder, feed: int, back: int
    ) -> None:
        """P to A, P to B, A back, B back, and what float, centre and leakage add."""
        T = b.node("T")
        loss = throttled(one.drop, np.where(shift.x > 0, shift.x, 1.0))
        lo, cracking = (0.0, params.load_check_cracking) if params.load_checks else (-np.inf, 0.0)
        to_tank = shift.float | (shift.centre & (one.keys.ports_in_centre == "to tank"))
        for letter, gets, gives in (("A", shift.a, shift.b), ("B", shift.b, shift.a)):
            port = b.node(one.port(letter))
            b.branch(one.role(f"P to {letter}"), feed, port, b=loss, c0=cracking, lo=lo, shut=~gets)
            if back == T:
                b.branch(one.role(f"{letter} to T"), port, T, b=loss, shut=~(gives | to_tank))
            else:
                b.branch(one.role(f"{letter} onward"), port, back, b=loss, shut=~gives)
                if to_tank.any():
                    b.branch(one.role(f"{letter} to T"), port, T, b=loss, shut=~to_tank)
            if params.spool_leakage > 0:
                b.branch(one.role(f"leakage of {letter}"), port, T, a=1.0 / params.spool_leakage, leak=True)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        found = [text for text in assumptions_of(part.name, params) if self._in_use(text, part.name, params)]
        if params.relief:
            found += params.relief.assumed(f"relief of {part.name}")
        return tuple(found)

    def _in_use(self, text: str, owner: str, params: DirectionalValveParams) -> bool:
        if text.startswith(f"{owner}: centre drop"):
            return params.centre == "open"
        if text.startswith(f"{owner}: load check cracking"):
            return params.load_checks
        if text.startswith(f"{owner}: drop"):
            return any(one.keys.drop is None for one in params.each())
        return True


KIND = DirectionalValve()
