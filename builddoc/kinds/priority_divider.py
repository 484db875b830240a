"""Gives the controlled port its set flow first and the rest to the excess port."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field

from ..circuit import Part
from ..fields import Flow
from . import compensating, limiting
from .base import Kind, Parameters, Port, Relief

if TYPE_CHECKING:
    from ..assemble import Builder


class PriorityDividerParams(Parameters, compensating.Metering):
    relief: limiting.ReliefField | None = Field(
        None, description="Built-in relief of the controlled side, to a port T that the divider then has."
    )
    lowest_flow: Flow | None = Field(
        None, description="Least flow at its inlet at which its maker says that it divides; for the rules."
    )
    highest_flow: Flow | None = Field(None, description="Greatest flow at its inlet that its maker allows; likewise.")


class PriorityDivider(Kind[PriorityDividerParams]):
    name = "priority divider"
    aliases = ('priority valve', 'priority flow divider')
    group = "valves"
    symbol = "priority divider"
    summary = "Gives the controlled port its set flow first and the rest to the excess port."
    equations = compensating.LAW + "\n\nBuilt-in relief: " + limiting.LAW
    example = (
        "{kind: priority divider, set flow: 15 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min, "
        "rating: 210 bar}"
    )
    demo = """
parts:
  $supply
  it: {kind: priority divider, set flow: 8 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min, rating: 210 bar}
  steering: {kind: orifice, drop: 40 bar at 8 L/min, rating: 210 bar}
  rest: {kind: orifice, drop: 10 bar at 10 L/min, rating: 210 bar}
lines:
  $feed
  to divider: {route: block.branch > it.inlet, direct: yes}
  controlled: {route: it.controlled > steering.A, hose: two-wire, size: -6, length: 1 m}
  excess: {route: it.excess > rest.A, hose: two-wire, size: -6, length: 1 m}
  home a: {route: steering.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: rest.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  running: {}
"""
    more: ClassVar[Mapping[str, str]] = {
        "with a relief of its controlled side": """
parts:
  $supply
  it: {kind: priority divider, set flow: 8 L/min, metering drop: 7 bar, excess drop: 2 bar at 35 L/min, rating: 210 bar,
       relief: {setting: 90 bar, override: 5 bar at 8 L/min}}
  steering: {kind: shut-off valve, rating: 210 bar}
  load: {kind: orifice, drop: 40 bar at 8 L/min, rating: 210 bar}
  rest: {kind: orifice, drop: 10 bar at 10 L/min, rating: 210 bar}
lines:
  $feed
  to divider: {route: block.branch > it.inlet, direct: yes}
  controlled: {route: it.controlled > steering.A, hose: two-wire, size: -6, length: 1 m}
  on: {route: steering.B > load.A, direct: yes}
  excess: {route: it.excess > rest.A, hose: two-wire, size: -6, length: 1 m}
  relieved: {route: it.T > tank, hose: one-wire, size: -6, length: 1 m}
  home a: {route: load.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: rest.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  both get oil: {}
  controlled side blocked: {steering: shut}
""",
    }
    Params = PriorityDividerParams

    def ports(self, params: PriorityDividerParams) -> tuple[Port, ...]:
        relieved = (Port("T", "return", doc="outlet of the built-in relief"),) if params.relief else ()
        return (
            Port("inlet", "pressure", ("P",), doc="from the pump"),
            Port("controlled", "pressure", ("CF",), doc="gets its flow first"),
            Port("excess", "pressure", ("EF",), doc="gets the rest"),
            *relieved,
        )

    def reliefs(self, params: PriorityDividerParams) -> tuple[Relief, ...]:
        return (Relief("relief", "controlled", params.relief.setting),) if params.relief else ()

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        controlled = b.node("controlled")
        compensating.meter(
            b, b.node("inlet"), controlled, b.node("excess"), params.set_flow, params.metering_drop, params.excess_drop
        )
        if params.relief:
            limiting.add(b, "relief", controlled, b.node("T"), params.relief)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        limit = self.own(part).relief
        return (*super().assumptions(part), *(limit.assumed(f"relief of {part.name}") if limit else ()))


KIND = PriorityDivider()
