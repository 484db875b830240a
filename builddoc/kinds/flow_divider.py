"""Rotary flow divider: gear sections on one shaft."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part, Rating
from ..fields import Displacement, Flow, Leakage, Length, PressureDrop, Share
from . import limiting
from .base import THICKER, Kind, Parameters, Port, Relief, assumed, assumptions_of

if TYPE_CHECKING:
    from ..assemble import Builder

LETTERS = "ABCD"


class FlowDividerParams(Parameters):
    sections: list[Displacement] = Field(
        description="Displacement of each section, two to four, as `[8 cc/rev, 8 cc/rev]`. The first is at outlet A."
    )
    turning_loss: PressureDrop = assumed(
        5e5, "Inlet pressure that turns it with no pressure at any outlet: its friction, the same at every speed."
    )
    leakage: Leakage = assumed(
        0.3 / 6e4 / 100e5, "Leakage of each section between inlet and outlet, as `0.3 L/min at 100 bar`."
    )
    outlet_reliefs: limiting.ReliefField | None = Field(
        None, description="A relief from each outlet to the port T: the setting, or a group of setting and override."
    )
    accuracy: Share = assumed(0.05, "How far the share of a section may be off; for the rules, not in the equations.")
    allowed_difference: Length | None = Field(
        None, description="How far what it keeps level may be apart after a stroke; for the rules."
    )
    lowest_flow: Flow | None = Field(
        None, description="Least flow at its inlet at which its maker says that it divides; for the rules."
    )
    highest_flow: Flow | None = Field(None, description="Greatest flow at its inlet that its maker allows; likewise.")

    @field_validator("sections")
    @classmethod
    def _two_to_four(cls, value: list[float]) -> list[float]:
        if not 2 <= len(value) <= len(LETTERS):
            text = f"a divider has two to four sections, not {len(value)}"
            raise PydanticCustomError("choice", "{text}", {"text": text, "hint": "as [8 cc/rev, 8 cc/rev]"})
        return value

    def letters(self) -> str:
        return LETTERS[: len(self.sections)]


class FlowDivider(Kind[FlowDividerParams]):
    name = "flow divider"
    aliases = ("gear divider", "rotary flow divider")
    group = "valves"
    symbol = "flow divider"
    summary = "Gear sections on one shaft: each passes its share of the oil whatever the loads, and may raise pressure."
    equations = (
        "All sections turn at one speed n: `Q_i = D_i n`, plus leakage in proportion to the pressure from inlet to "
        "outlet. Balance of torque: `p_inlet sum(D) - sum(p_i D_i) = turning loss × sum(D)` while it turns. So an "
        "outlet that is relieved drives the others: with two equal sections and one at no pressure the other can reach "
        "twice the inlet pressure. Elementary relations; constant friction and linear leakage: common practice, no "
        "source." + THICKER + "\n\nIts outlet reliefs: " + limiting.LAW
    )
    example = (
        "{kind: flow divider, sections: [8 cc/rev, 8 cc/rev], outlet reliefs: {setting: 175 bar, override: 6 bar at 20 "
        "L/min}, rating: 250 bar}"
    )
    demo = """
parts:
  $supply
  it: {kind: flow divider, sections: [8 cc/rev, 8 cc/rev], rating: 250 bar,
       outlet reliefs: {setting: 175 bar, override: 6 bar at 20 L/min}}
  left: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 250 bar}
  right: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 250 bar}
lines:
  $feed
  to divider: {route: block.branch > it.inlet, direct: yes}
  to left: {route: it.A > left.cap, hose: two-wire, size: -6, length: 1 m}
  to right: {route: it.B > right.cap, hose: two-wire, size: -6, length: 1 m}
  over: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  unequal loads: {loads: {left: 20 kN compression, right: 4 kN compression}}
  right one at its stop: {at stop: {right: extended}, loads: {left: 20 kN compression}}
  left one far too heavy: {loads: {left: 45 kN compression, right: 1 kN compression}}
"""
    more: ClassVar[Mapping[str, str]] = {
        "three unequal sections, no reliefs": """
parts:
  $supply
  it: {kind: flow divider, sections: [8 cc/rev, 8 cc/rev, 4 cc/rev], rating: 250 bar}
  one: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 250 bar}
  two: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 250 bar}
  three: {kind: single-acting cylinder, bore: 36 mm, stroke: 400 mm, rating: 250 bar}
lines:
  $feed
  to divider: {route: block.branch > it.inlet, direct: yes}
  to one: {route: it.A > one.cap, hose: two-wire, size: -6, length: 1 m}
  to two: {route: it.B > two.cap, hose: two-wire, size: -6, length: 1 m}
  to three: {route: it.C > three.cap, hose: two-wire, size: -6, length: 1 m}
states:
  all go up: {loads: {one: 12 kN compression, two: 12 kN compression, three: 4 kN compression}}
  two light ones drive the third: {loads: {one: 1 kN compression, two: 1 kN compression, three: 40 kN compression}}
""",
    }
    Params = FlowDividerParams

    def ports(self, params: FlowDividerParams) -> tuple[Port, ...]:
        outlets = [Port(letter, "work", doc=f"outlet of section {n}") for n, letter in enumerate(params.letters(), 1)]
        drain = [Port("T", "return", doc="of the outlet reliefs")] if params.outlet_reliefs else []
        return (Port("inlet", "pressure", ("P",), doc="from the pump"), *outlets, *drain)

    def port_ratings(self, params: FlowDividerParams) -> Mapping[str, Rating | None]:
        return dict.fromkeys(("inlet", *params.letters()), params.rating)

    def reliefs(self, params: FlowDividerParams) -> tuple[Relief, ...]:
        if params.outlet_reliefs is None:
            return ()
        return tuple(Relief(f"relief {x}", x, params.outlet_reliefs.setting) for x in params.letters())

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet = b.node("inlet")
        k: dict[int, float] = {}
        for letter, size in zip(params.letters(), params.sections, strict=True):
            outlet = b.node(letter)
            k[inlet] = k.get(inlet, 0.0) + size
            k[outlet] = k.get(outlet, 0.0) - size
            if params.leakage > 0:
                b.branch(f"leakage {letter}", inlet, outlet, a=1.0 / params.leakage, leak=True)
            if params.outlet_reliefs is not None:
                limiting.add(b, f"relief {letter}", outlet, b.node("T"), params.outlet_reliefs)
        b.actuator("rotor", k, friction=params.turning_loss * sum(params.sections))

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        limit = params.outlet_reliefs
        return (
            *assumptions_of(part.name, params),
            *(limit.assumed(f"outlet reliefs of {part.name}") if limit is not None else ()),
        )


KIND = FlowDivider()
