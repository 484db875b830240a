"""Check valve: one way only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..circuit import Part
from ..fields import DropAtFlow, PressureDrop
from .base import Kind, Parameters, Port, assumed
from .passages import at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class CheckValveParams(Parameters):
    cracking: PressureDrop = assumed(0.5e5, "Pressure difference at which it opens.")
    drop: DropAtFlow = assumed(at_40(1.0), "Pressure drop of the open valve at a flow, beyond the cracking pressure.")


class CheckValve(Kind[CheckValveParams]):
    name = "check valve"
    aliases = ("non-return valve",)
    group = "valves"
    symbol = "check valve"
    summary = "Lets oil through from inlet to outlet only."
    equations = (
        "`p_inlet - p_outlet = cracking + drop × (Q / flow)^2`, Q never negative; shut below the cracking pressure. "
        "Common practice, no source."
    )
    example = "{kind: check valve, cracking: 0.5 bar, drop: 1 bar at 40 L/min, rating: 280 bar}"
    demo = """
parts:
  $supply
  check: {kind: check valve, cracking: 0.5 bar, drop: 1 bar at 40 L/min, rating: 280 bar}
  gate: {kind: shut-off valve, rating: 350 bar}
  ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 400 mm, rating: 210 bar}
  fork: {kind: tee, rating: 250 bar}
lines:
  $feed
  to check: {route: block.branch > check.inlet, direct: yes}
  to fork: {route: check.outlet > fork.run a, direct: yes}
  to ram: {route: fork.run b > ram.cap, hose: two-wire, size: -6, length: 1 m}
  to gate: {route: fork.branch > gate.A, direct: yes}
  home: {route: gate.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  lifting: {gate: shut, loads: {ram: 15 kN compression}}
  lowering: {gate: open, stopped: [ram], loads: {ram: 15 kN compression}}
"""
    Params = CheckValveParams

    def ports(self, params: CheckValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="oil enters here"),
            Port("outlet", "work", ("out",), doc="oil leaves here, and cannot come back"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        b.branch("passage", b.node("inlet"), b.node("outlet"), c0=params.cracking, b=full(params.drop), lo=0.0)


KIND = CheckValve()
