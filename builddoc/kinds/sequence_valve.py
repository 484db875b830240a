"""Lets oil on to a second function once the first has reached the setting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PositivePressure, PressureDrop
from .base import Kind, Parameters, Port, assumed
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder


class SequenceValveParams(Parameters):
    setting: PositivePressure = Field(description="Pressure of the inlet at which it starts to open.")
    droop: PositivePressure = assumed(5e5, "Rise of the inlet pressure from just open to fully open.")
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop fully open at a flow.")
    free_flow_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of the free-flow check, beyond its cracking.")
    cracking: PressureDrop = assumed(0.5e5, "Opening pressure of the free-flow check.")


class SequenceValve(Kind[SequenceValveParams]):
    name = "sequence valve"
    aliases = ()
    group = "valves"
    symbol = "sequence valve"
    summary = "Lets oil on to a second function once the first has reached the setting."
    equations = (
        "Inlet to outlet: `Q = x U(dp)`, `dp = drop × (U / flow)^2`, opening x from 0 to 1 with `p_inlet - p_drain = "
        "setting + droop x`; pressure at the outlet does not matter. Outlet to inlet: a check, `cracking + free flow "
        "drop × (Q / flow)^2`. Common practice, no source."
    )
    example = "{kind: sequence valve, setting: 90 bar, droop: 5 bar, drop: 5 bar at 40 L/min, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: sequence valve, setting: 90 bar, droop: 5 bar, drop: 5 bar at 40 L/min, rating: 210 bar}
  first: {kind: single-acting cylinder, bore: 50 mm, stroke: 300 mm, rating: 210 bar}
  second: {kind: single-acting cylinder, bore: 50 mm, stroke: 300 mm, rating: 210 bar}
  fork: {kind: tee, rating: 250 bar}
lines:
  $feed
  to fork: {route: block.branch > fork.run a, direct: yes}
  to first: {route: fork.run b > first.cap, hose: two-wire, size: -6, length: 1 m}
  to valve: {route: fork.branch > it.inlet, direct: yes}
  to second: {route: it.outlet > second.cap, hose: two-wire, size: -6, length: 1 m}
  drain: {route: it.drain > tank, hose: one-wire, size: -4, length: 1 m}
states:
  first moves: {loads: {first: 10 kN compression, second: 10 kN compression}}
  then the second: {at stop: {first: extended}, loads: {second: 10 kN compression}}
"""
    Params = SequenceValveParams

    def ports(self, params: SequenceValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="pressure here opens it"),
            Port("outlet", "work", ("A",), doc="to the second function"),
            Port("drain", "drain", ("T",), doc="of its spring chamber"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        z = weights((inlet, 1.0), (b.node("drain"), -1.0))
        b.pilot("passage", inlet, outlet, b=full(params.drop), z=z, z0=params.setting, droop=params.droop)
        b.branch("free flow", outlet, inlet, c0=params.cracking, b=full(params.free_flow_drop), lo=0.0)


KIND = SequenceValve()
