"""Two ports, pressure compensated: passes no more than its set flow; free the other way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, Flow, PositivePressure, PressureDrop
from .base import Kind, Parameters, Port, assumed, square_law
from .passages import at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class FlowControlValveParams(Parameters):
    set_flow: Flow = Field(description="Flow that it passes at most.")
    least_drop: PositivePressure = assumed(8e5, "Pressure drop it needs to hold the set flow.")
    free_flow_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of the free-flow check, beyond its cracking.")
    cracking: PressureDrop = assumed(0.5e5, "Opening pressure of the free-flow check.")


class FlowControlValve(Kind[FlowControlValveParams]):
    name = "flow control valve"
    aliases = ('compensated flow control',)
    group = "valves"
    symbol = "flow control valve"
    summary = "Two ports, pressure compensated: passes no more than its set flow; free the other way."
    equations = (
        "Inlet to outlet: `dp = least drop × (Q / set flow)^2` up to `set flow`; any further pressure difference is "
        "taken by the compensator and the flow stays. Outlet to inlet: a check, `cracking + free flow drop × "
        "(Q / flow)^2`. Common practice, no source."
    )
    example = "{kind: flow control valve, set flow: 12 L/min, least drop: 8 bar, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: flow control valve, set flow: 12 L/min, least drop: 8 bar, rating: 210 bar}
  motor: {kind: hydraulic motor, displacement: 50 cc/rev, rating: 175 bar}
lines:
  $feed
  to control: {route: block.branch > it.inlet, direct: yes}
  to motor: {route: it.outlet > motor.A, hose: two-wire, size: -6, length: 1 m}
  home: {route: motor.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  light load: {loads: {motor: 10 N.m resisting}}
  heavy load: {loads: {motor: 60 N.m resisting}}
"""
    Params = FlowControlValveParams

    def ports(self, params: FlowControlValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="controlled from here"),
            Port("outlet", "work", ("out",), doc="free flow from here back"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, outlet, flow = b.node("inlet"), b.node("outlet"), params.set_flow
        b.branch("controlled", inlet, outlet, b=square_law(params.least_drop, flow), lo=0.0, hi=flow)
        b.branch("free flow", outlet, inlet, c0=params.cracking, b=full(params.free_flow_drop), lo=0.0)


KIND = FlowControlValve()
