"""Sends a pump's oil to the tank once another line has reached a pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PositivePressure, PressureDrop
from . import unloading
from .base import Control, Kind, Parameters, Port, assumed, assumptions_of
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder


class UnloadingValveParams(Parameters):
    setting: PositivePressure = Field(description="Pressure at the pilot at which it starts to open.")
    droop: PositivePressure = assumed(3e5, "Rise of the pilot pressure from just open to fully open.")
    drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop from P to T, fully open, at a flow.")
    check: bool = Field(
        False,
        description="`yes`: it holds the check valve that parts the unloaded pump from the line, with a port A to that "
        "line; the pilot is then taken from A inside, and there is no pilot port.",
    )
    check_cracking: PressureDrop = assumed(0.5e5, "Opening pressure of that check valve.")
    check_drop: DropAtFlow = assumed(at_40(1.0), "Pressure drop of that check valve at a flow, beyond its cracking.")


class UnloadingValve(Kind[UnloadingValveParams]):
    name = "unloading valve"
    aliases = ("unloader",)
    group = "valves"
    symbol = "unloading valve"
    summary = "Opened by the pressure of another line: sends the oil of a pump to the tank at almost no pressure."
    equations = (
        "P to T: `Q = x U(dp)`, `dp = drop × (U / flow)^2`, opening x from 0 to 1 with `p_pilot - p_T = setting + "
        "droop x`. With `check: yes` P to A: a check valve, `check cracking + check drop × (Q / flow)^2`, pilot at A. "
        "The difference between opening and closing pressure of a real one is left out: while nothing draws oil behind "
        "its check valve it may stand anywhere between just open and fully open, and P is printed as open. Common "
        "practice, no source."
    )
    example = "{kind: unloading valve, setting: 50 bar, check: yes, rating: 280 bar}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 20 L, cooling area: 0.5 m2}
  large: {kind: pump, displacement: 8 cc/rev, speed: 1450 rpm, volumetric efficiency: 92 %, rating: 210 bar}
  small: {kind: pump, displacement: 2 cc/rev, speed: 1450 rpm, volumetric efficiency: 92 %, rating: 280 bar}
  it: {kind: unloading valve, setting: 50 bar, check: yes, rating: 280 bar}
  join: {kind: tee, rating: 280 bar}
  fork: {kind: tee, rating: 280 bar}
  relief: {kind: relief valve, setting: 200 bar, override: 3 bar at 40 L/min, rating: 280 bar}
  ram: {kind: single-acting cylinder, bore: 80 mm, stroke: 300 mm, rating: 250 bar}
lines:
  suction a: {route: tank > large.inlet, direct: yes}
  suction b: {route: tank > small.inlet, direct: yes}
  large out: {route: large.outlet > it.P, direct: yes}
  unloaded: {route: it.T > tank, tube: 12 x 1.5 mm, length: 0.3 m, rating: 200 bar}
  large on: {route: it.A > join.run a, direct: yes}
  small out: {route: small.outlet > join.run b, direct: yes}
  joined: {route: join.branch > fork.run a, direct: yes}
  seat: {route: fork.branch > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  to ram: {route: fork.run b > ram.cap, hose: two-wire, size: -6, length: 1 m}
states:
  fast: {loads: {ram: 5 kN compression}}
  pressing: {loads: {ram: 80 kN compression}}
"""
    Params = UnloadingValveParams

    def ports(self, params: UnloadingValveParams) -> tuple[Port, ...]:
        other = (
            Port("A", "pressure", doc="to the line behind its check valve")
            if params.check
            else Port("pilot", "pilot", ("X",), doc="pressure here opens it")
        )
        return (
            Port("P", "pressure", ("inlet",), doc="from the pump that is unloaded"),
            Port("T", "return", ("outlet",), doc="to the reservoir"),
            other,
        )

    def controls(self, params: UnloadingValveParams) -> tuple[Control, ...]:
        return (unloading.CONTROL,)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        P, T = b.node("P"), b.node("T")
        if params.check:
            line = b.node("A")
            b.branch("check", P, line, c0=params.check_cracking, b=full(params.check_drop), lo=0.0)
        else:
            line = b.node("pilot")
        z = weights((line, 1.0), (T, -1.0))
        opens = unloading.opens_at(params.setting, b)
        b.pilot("unloading", P, T, b=full(params.drop), z=z, z0=opens, droop=params.droop)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        return tuple(t for t in assumptions_of(part.name, params) if params.check or f"{part.name}: check " not in t)


KIND = UnloadingValve()
