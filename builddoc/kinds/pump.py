"""Fixed-displacement pump."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import Displacement, DriverName, Efficiency, PositivePressure, PositiveShaftSpeed, Pressure, ShaftSpeed
from .base import THICKER, Kind, Parameters, Port, ShaftDemand, assumed, turned

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results


class PumpParams(Parameters):
    displacement: Displacement = Field(description="Oil per revolution.")
    speed: ShaftSpeed = Field(description="Shaft speed of the pump when its driver runs at its nominal speed.")
    driven_by: DriverName = Field(
        "", description="Name of the engine or electric motor; states that change its speed change the pump's."
    )
    volumetric_efficiency: Efficiency = assumed(0.92, "Delivered flow over displacement times speed.")
    efficiency_pressure: PositivePressure | None = Field(
        None,
        description="Pressure at which the volumetric efficiency holds (at `speed`); leakage then grows in "
        "proportion to pressure. Left out: the efficiency holds at every pressure.",
    )
    mechanical_efficiency: Efficiency = assumed(0.90, "Ideal torque over shaft torque.")
    highest_speed: PositiveShaftSpeed | None = Field(None, description="Highest shaft speed that its maker allows.")
    lowest_speed: PositiveShaftSpeed | None = Field(None, description="Lowest shaft speed at which it may work.")
    rotation: Literal["", "clockwise", "anticlockwise"] = Field(
        "", description="Sense in which its shaft must turn, seen on the shaft end."
    )
    turned: Literal["", "clockwise", "anticlockwise"] = Field(
        "", description="Sense in which the drive turns it, seen on the same shaft end."
    )
    lowest_inlet_pressure: Pressure = assumed(-0.17e5, "Lowest inlet pressure (gauge) the pump may see.")


class Pump(Kind[PumpParams]):
    name = "pump"
    aliases = ("gear pump",)
    group = "energy"
    symbol = "pump"
    summary = "Pump of fixed displacement, one direction of flow."
    equations = (
        "Flow `Q = D n` less leakage. Leakage: `(1 - volumetric efficiency) D n` at every pressure; or, where "
        "`efficiency pressure` is given, in proportion to the pressure rise and whatever the speed, so that "
        "the efficiency is met at that pressure and at `speed`. Shaft torque `D dp / mechanical efficiency`, "
        "shaft power `torque × speed`. Elementary relations; linear leakage: common practice, no source."
        + THICKER
    )
    example = "{kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 93 %, rating: 210 bar}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 30 L, cooling area: 0.7 m2}
  it: {kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 93 %, rating: 210 bar}
  load: {kind: orifice, drop: 100 bar at 20 L/min, rating: 210 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}
  block: {kind: tee, rating: 250 bar}
lines:
  suction: {route: tank > it.inlet, hose: suction, bore: 25 mm, length: 0.6 m, rating: 7 bar}
  outlet: {route: it.outlet > block.run a, direct: yes}
  to relief: {route: block.run b > relief.inlet, direct: yes}
  to load: {route: block.branch > load.A, hose: two-wire, size: -8, length: 1 m}
  over: {route: relief.outlet > tank, direct: yes}
  home: {route: load.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  warm: {}
  cold: {oil temperature: 0 °C}
"""
    Params = PumpParams

    def ports(self, params: PumpParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "suction", ("suction", "S"), doc="from the reservoir"),
            Port("outlet", "pressure", ("pressure", "P"), doc="delivery"),
        )

    def port_ratings(self, params: PumpParams) -> Mapping[str, Rating | None]:
        return {"outlet": params.rating}

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        nominal = params.displacement * params.speed
        delivered = nominal * b.speed_ratio(params.driven_by)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        lost = (1.0 - params.volumetric_efficiency) * nominal
        if params.efficiency_pressure is None:
            delivered = delivered * params.volumetric_efficiency
        elif lost > 0:
            b.branch("leakage", outlet, inlet, a=params.efficiency_pressure / lost, leak=True)
        b.source("outlet", outlet, delivered)
        b.source("inlet", inlet, -delivered)

    def shaft_demand(self, part: Part, r: Results) -> ShaftDemand:
        params = self.own(part)
        rise = r.pressure(part.name, "outlet") - r.pressure(part.name, "inlet")
        torque = params.displacement * np.maximum(rise, 0.0) / params.mechanical_efficiency
        return turned(torque, params.speed * r.speed_ratio(params.driven_by), params.driven_by)


KIND = Pump()
