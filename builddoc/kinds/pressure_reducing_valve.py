"""Keeps the pressure behind it from rising above its setting."""

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


class ReducingValveParams(Parameters):
    setting: PositivePressure = Field(description="Pressure of the outlet at which it is shut.")
    droop: PositivePressure = assumed(5e5, "Fall of the outlet pressure from shut to fully open.")
    drop: DropAtFlow = assumed(at_40(5.0), "Pressure drop fully open at a flow.")
    relieving_margin: PressureDrop | None = Field(
        None,
        description="Relieving valve: rise above the setting at which the outlet opens to the drain. "
        "Left out: none.",
    )


class ReducingValve(Kind[ReducingValveParams]):
    name = "pressure reducing valve"
    aliases = ('reducing valve',)
    group = "valves"
    symbol = "pressure reducing valve"
    summary = "Keeps the pressure behind it from rising above its setting."
    equations = (
        "Inlet to outlet: `Q = x U(dp)`, `dp = drop × (U / flow)^2`, opening x from 0 to 1 with `p_outlet - p_drain = "
        "setting - droop x`: open below, shut at the setting. Pressure at the drain adds to it. `relieving margin`: "
        "outlet to drain opens that far above the setting, `dp = setting + margin + drop × (Q / flow)^2`. Common "
        "practice, no source."
    )
    example = "{kind: pressure reducing valve, setting: 60 bar, droop: 4 bar, drop: 5 bar at 40 L/min, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: pressure reducing valve, setting: 60 bar, droop: 4 bar, drop: 5 bar at 40 L/min, rating: 210 bar}
  ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 300 mm, rating: 175 bar}
lines:
  $feed
  to valve: {route: block.branch > it.inlet, direct: yes}
  to ram: {route: it.outlet > ram.cap, hose: two-wire, size: -6, length: 1 m}
  drain: {route: it.drain > tank, hose: one-wire, size: -4, length: 1 m}
states:
  moving: {loads: {ram: 5 kN compression}}
  clamped: {at stop: {ram: extended}}
"""
    Params = ReducingValveParams

    def ports(self, params: ReducingValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="full pressure"),
            Port("outlet", "work", ("A",), doc="reduced pressure"),
            Port("drain", "drain", ("T",), doc="of its spring chamber"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        outlet, drain, loss = b.node("outlet"), b.node("drain"), full(params.drop)
        z = weights((outlet, -1.0), (drain, 1.0))
        b.pilot("passage", b.node("inlet"), outlet, b=loss, z=z, z0=-params.setting, droop=params.droop)
        if params.relieving_margin is not None:
            b.branch("relieving", outlet, drain, c0=params.setting + params.relieving_margin, b=loss, lo=0.0)


KIND = ReducingValve()
