"""Holds a load and lets it down only as fast as oil is fed to the other side."""

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


class CounterbalanceValveParams(Parameters):
    setting: PositivePressure = Field(description="Load pressure that starts to open it without pilot pressure.")
    pilot_ratio: Ratio = Field(description="Area on which the pilot acts over that on which the load acts.")
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop fully open at a flow.")
    free_flow_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of the free-flow check, beyond its cracking.")
    cracking: PressureDrop = assumed(0.5e5, "Opening pressure of the free-flow check.")
    droop: PositivePressure = assumed(10e5, "Rise of the balance from just open to fully open.")


class CounterbalanceValve(Kind[CounterbalanceValveParams]):
    name = "counterbalance valve"
    aliases = ('overcentre valve',)
    group = "valves"
    holding = True
    symbol = "counterbalance valve"
    summary = "Holds a load and lets it down only as fast as oil is fed to the other side."
    equations = (
        "V to load: a check, `p_V - p_load = cracking + free flow drop × (Q / flow)^2`. Load to V: `Q = x U(dp)`, "
        "`dp = drop × (U / flow)^2`, opening x from 0 to 1 with `p_load + R p_pilot - (1 + R) p_V = setting + droop x`"
        ", R = pilot ratio; the spring chamber is drained to V, so pressure there adds to the setting 1 + R times. "
        "Common practice, no source. A load on this valve may hunt even where a steady answer exists."
    )
    example = (
        "{kind: counterbalance valve, setting: 180 bar, pilot ratio: 3:1, drop: 8 bar at 40 L/min, rating: 280 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, spools: {lever: {ports in centre: to tank}}, rating: 250 bar}
  it: {kind: counterbalance valve, setting: 120 bar, pilot ratio: 3:1, drop: 8 bar at 40 L/min, rating: 280 bar}
  ram: {kind: cylinder, bore: 63 mm, rod: 36 mm, stroke: 500 mm, rating: 210 bar}
  fork: {kind: tee, rating: 250 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  up: {route: valve.lever.A > it.V, hose: two-wire, size: -6, length: 1 m}
  held: {route: it.load > ram.cap, direct: yes}
  down: {route: valve.lever.B > fork.run a, hose: two-wire, size: -6, length: 1 m}
  to rod: {route: fork.run b > ram.rod, direct: yes}
  pilot: {route: fork.branch > it.pilot, direct: yes}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  raising: {lever: A, loads: {ram: 25 kN compression}}
  lowering: {lever: B, loads: {ram: 25 kN compression}}
"""
    Params = CounterbalanceValveParams

    def ports(self, params: CounterbalanceValveParams) -> tuple[Port, ...]:
        return (
            Port("V", "work", ("valve",), doc="to the directional valve; its spring chamber drains here"),
            Port("load", "work", ("C",), doc="to the cylinder or motor it holds"),
            Port("pilot", "pilot", ("X",), doc="from the other side of the cylinder or motor"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        valve, load, pilot = b.node("V"), b.node("load"), b.node("pilot")
        ratio = params.pilot_ratio
        b.branch("free flow", valve, load, c0=params.cracking, b=full(params.free_flow_drop), lo=0.0)
        z = weights((load, 1.0), (pilot, ratio), (valve, -(1.0 + ratio)))
        b.pilot("piloted", load, valve, b=full(params.drop), z=z, z0=params.setting, droop=params.droop)


KIND = CounterbalanceValve()
