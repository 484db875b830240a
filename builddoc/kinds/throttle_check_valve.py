"""Adjustable throttle in one sense, free through a check in the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PressureDrop
from . import orders
from .base import Control, Kind, Parameters, Port, assumed
from .passages import at_40, full, shut, throttled

if TYPE_CHECKING:
    from ..assemble import Builder


class ThrottleCheckParams(Parameters):
    drop: DropAtFlow = Field(description="Pressure drop of the throttle, fully open, at a flow.")
    free_flow_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of the free-flow check, beyond its cracking.")
    cracking: PressureDrop = assumed(0.5e5, "Opening pressure of the free-flow check.")


class ThrottleCheckValve(Kind[ThrottleCheckParams]):
    name = "throttle check valve"
    aliases = ("one-way restrictor", "needle valve with check")
    group = "valves"
    symbol = "throttle check valve"
    summary = "Needle that throttles from inlet to outlet and lets oil back freely; not pressure compensated."
    equations = (
        "Throttle, both senses: `dp = drop × (Q / flow)^2 / x^2`, x = opening that the state orders (area in "
        "proportion to it). Beside it, outlet to inlet, a check: `cracking + free flow drop × (Q / flow)^2`. "
        "Common practice, no source. Its flow changes with load and oil."
    )
    example = (
        "{kind: throttle check valve, drop: 20 bar at 15 L/min, free flow drop: 2 bar at 40 L/min, rating: 210 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: throttle check valve, drop: 20 bar at 15 L/min, free flow drop: 2 bar at 40 L/min, rating: 210 bar}
  ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  lift: {route: valve.A > it.outlet, hose: two-wire, size: -6, length: 1 m}
  to ram: {route: it.inlet > ram.cap, direct: yes}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
plugged: [valve.B]
states:
  raising: {valve: A, loads: {ram: 10 kN compression}}
  lowering: {valve: B, loads: {ram: 10 kN compression}}
  lowering slowly: {valve: B, it: 30 %, loads: {ram: 10 kN compression}}
"""
    Params = ThrottleCheckParams

    def ports(self, params: ThrottleCheckParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="throttled from here"),
            Port("outlet", "work", ("out",), doc="free flow from here back"),
        )

    def controls(self, params: ThrottleCheckParams) -> tuple[Control, ...]:
        return (Control("position", orders.opening, orders.OPEN, "`open`, `shut` or how far it is open, as `40 %`"),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        x = np.array(b.orders("position"), dtype=float)
        b.branch("throttle", inlet, outlet, b=throttled(params.drop, x), shut=shut(x))
        b.branch("free flow", outlet, inlet, c0=params.cracking, b=full(params.free_flow_drop), lo=0.0)


KIND = ThrottleCheckValve()
