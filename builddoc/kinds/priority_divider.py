"""Gives the controlled port its set flow first and the rest to the excess port."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, Flow, PositivePressure
from .base import Kind, Parameters, Port, assumed, square_law
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder

BAND = 100.0
"""Pa of metering drop over which the spool goes from shut to open."""


class PriorityDividerParams(Parameters):
    set_flow: Flow = Field(description="Flow that the controlled port gets first.")
    metering_drop: PositivePressure = assumed(7e5, "Pressure drop of its metering orifice at the set flow.")
    excess_drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop to the excess port, fully open, at a flow.")


class PriorityDivider(Kind[PriorityDividerParams]):
    name = "priority divider"
    aliases = ('priority valve', 'priority flow divider')
    group = "valves"
    symbol = "priority divider"
    summary = "Gives the controlled port its set flow first and the rest to the excess port."
    equations = (
        "Inlet to controlled: `dp = metering drop x (Q / set flow)^2`, Q from 0 to `set flow`. Inlet to excess: `Q = x "
        "U(dp)`, `dp = excess drop x (U / flow)^2`, the spool opening x from 0 to 1 so that `p_inlet - p_controlled = "
        "metering drop` while there is oil for both (band of the spool: 100 Pa). A blocked controlled port shuts the "
        "excess port: a relief on that side must let the oil go. Common practice, no source."
    )
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
    Params = PriorityDividerParams

    def ports(self, params: PriorityDividerParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="from the pump"),
            Port("controlled", "pressure", ("CF",), doc="gets its flow first"),
            Port("excess", "pressure", ("EF",), doc="gets the rest"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, controlled, drop = b.node("inlet"), b.node("controlled"), params.metering_drop
        b.branch("controlled", inlet, controlled, b=square_law(drop, params.set_flow), lo=0.0, hi=params.set_flow)
        z = weights((inlet, 1.0), (controlled, -1.0))
        b.pilot("excess", inlet, b.node("excess"), b=full(params.excess_drop), z=z, z0=drop, droop=BAND)


KIND = PriorityDivider()
