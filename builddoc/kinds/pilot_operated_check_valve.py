"""Holds a load without leakage until pressure at its pilot port opens it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PositivePressure, PressureDrop, Ratio
from .base import Kind, Parameters, Port, assumed
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder


class PilotOperatedCheckValveParams(Parameters):
    pilot_ratio: Ratio = Field(description="Area of the pilot piston over that of the seat.")
    cracking: PressureDrop = assumed(0.5e5, "Opening pressure, V to load.")
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop fully open at a flow.")
    droop: PositivePressure = assumed(1e5, "Rise of the balance from just open to fully open.")


class PilotOperatedCheckValve(Kind[PilotOperatedCheckValveParams]):
    name = "pilot-operated check valve"
    aliases = ('pilot check valve',)
    group = "valves"
    holding = True
    symbol = "pilot-operated check valve"
    summary = "Holds a load without leakage until pressure at its pilot port opens it."
    equations = (
        "V to load: a check, `p_V - p_load = cracking + drop × (Q / flow)^2`. Load to V: `Q = x U(dp)`, `dp = drop × "
        "(U / flow)^2`, opening x from 0 to 1 with `R (p_pilot - p_V) - (p_load - p_V) = cracking + droop x` (force "
        "balance of pilot piston and poppet, R = area of piston to seat; piston drained to V, so pressure there "
        "hinders the opening). Common practice, no source."
    )
    example = (
        "{kind: pilot-operated check valve, pilot ratio: 4:1, cracking: 1 bar, drop: 5 bar at 40 L/min, "
        "rating: 250 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, spools: {lever: {ports in centre: to tank}}, rating: 250 bar}
  it: {kind: pilot-operated check valve, pilot ratio: 4:1, cracking: 1 bar, drop: 5 bar at 40 L/min, rating: 250 bar}
  ram: {kind: cylinder, bore: 63 mm, rod: 36 mm, stroke: 500 mm, rating: 210 bar}
  fork: {kind: tee, rating: 250 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  out: {route: valve.lever.A > it.V, hose: two-wire, size: -6, length: 1 m}
  held: {route: it.load > ram.cap, direct: yes}
  back: {route: valve.lever.B > fork.run a, hose: two-wire, size: -6, length: 1 m}
  to rod: {route: fork.run b > ram.rod, direct: yes}
  pilot: {route: fork.branch > it.pilot, direct: yes}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  clamping: {lever: A, loads: {ram: 20 kN compression}}
  holding: {stopped: [ram], loads: {ram: 20 kN compression}}
  opening: {lever: B, loads: {ram: 1 kN tension}}
"""
    Params = PilotOperatedCheckValveParams

    def ports(self, params: PilotOperatedCheckValveParams) -> tuple[Port, ...]:
        return (
            Port("V", "work", ("valve",), doc="to the directional valve"),
            Port("load", "work", ("C",), doc="to the cylinder or motor it holds"),
            Port("pilot", "pilot", ("X",), doc="pressure here opens it"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        valve, load, pilot = b.node("V"), b.node("load"), b.node("pilot")
        ratio, loss = params.pilot_ratio, full(params.drop)
        b.branch("free flow", valve, load, c0=params.cracking, b=loss, lo=0.0)
        z = weights((pilot, ratio), (valve, 1.0 - ratio), (load, -1.0))
        b.pilot("piloted", load, valve, b=loss, z=z, z0=params.cracking, droop=params.droop)


KIND = PilotOperatedCheckValve()
