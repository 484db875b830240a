"""Two gear stages on one shaft: both at low pressure, the small one alone at high pressure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import (
    Displacement,
    DriverName,
    DropAtFlow,
    Efficiency,
    PositivePressure,
    Pressure,
    PressureDrop,
    ShaftSpeed,
)
from ..network import Array
from . import unloading
from .base import Control, Kind, Parameters, Port, ShaftDemand, assumed, turned
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results

LARGE = "large stage"


class TwoStagePumpParams(Parameters):
    large_stage: Displacement = Field(description="Oil per revolution of the stage that is unloaded at high pressure.")
    small_stage: Displacement = Field(description="Oil per revolution of the stage that goes on to full pressure.")
    unloads_at: PositivePressure = Field(description="Pressure of the outlet at which the large stage is sent back.")
    speed: ShaftSpeed = Field(description="Shaft speed of the pump when its driver runs at its nominal speed.")
    driven_by: DriverName = Field(
        "", description="Name of the engine or motor; states that change its speed change the pump's."
    )
    volumetric_efficiency: Efficiency = assumed(0.92, "Delivered flow over displacement times speed, both stages.")
    mechanical_efficiency: Efficiency = assumed(0.90, "Ideal torque over shaft torque, both stages.")
    droop: PositivePressure = assumed(3e5, "Rise of the outlet pressure from just unloading to fully unloaded.")
    unloader_drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop of the fully open unloader at a flow.")
    check_cracking: PressureDrop = assumed(0.5e5, "Opening pressure of the check valve behind the large stage.")
    check_drop: DropAtFlow = assumed(at_40(1.0), "Pressure drop of that check valve at a flow, beyond its cracking.")
    unload_port: bool = Field(
        False,
        description="`yes`: the large stage is sent out at a port U, to the reservoir; otherwise back to the inlet.",
    )
    lowest_inlet_pressure: Pressure = assumed(-0.17e5, "Lowest inlet pressure (gauge) the pump may see.")


class TwoStagePump(Kind[TwoStagePumpParams]):
    name = "two-stage pump"
    aliases = ("hi-lo pump", "two stage pump")
    group = "energy"
    symbol = "two-stage pump"
    summary = "Two stages on one shaft: together for speed, the small one alone for force."
    equations = (
        "Each stage delivers `D n × volumetric efficiency`. The large one goes through a check valve to the outlet, or "
        "through the unloader back: `dp = unloader drop × (U / flow)^2`, `Q = x U(dp)`, opening x from 0 to 1 with "
        "`p_outlet - p_inlet = unloads at + droop x`. Shaft torque: `(D_large dp_large + D_small dp_small) / "
        "mechanical efficiency`, the large stage at its own pressure. Elementary relations; the unloader: common "
        "practice, no source."
    )
    example = (
        "{kind: two-stage pump, large stage: 8 cc/rev, small stage: 2.1 cc/rev, unloads at: 50 bar, speed: 1450 rpm, "
        "rating: 280 bar}"
    )
    demo = """
parts:
  tank: {kind: reservoir, volume: 20 L, cooling area: 0.5 m2}
  motor: {kind: electric motor, power: 3 kW, speed: 1450 rpm}
  it: {kind: two-stage pump, large stage: 8 cc/rev, small stage: 2.1 cc/rev, unloads at: 50 bar, speed: 1450 rpm,
       driven by: motor, rating: 280 bar}
  fork: {kind: tee, rating: 280 bar}
  relief: {kind: relief valve, setting: 235 bar, override: 3 bar at 40 L/min, rating: 280 bar}
  ram: {kind: single-acting cylinder, bore: 125 mm, stroke: 300 mm, rating: 250 bar}
lines:
  suction: {route: tank > it.inlet, hose: suction, bore: 25 mm, length: 0.4 m, rating: 7 bar}
  out: {route: it.outlet > fork.run a, direct: yes}
  seat: {route: fork.branch > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  to ram: {route: fork.run b > ram.cap, hose: two-wire, size: -6, length: 1 m}
states:
  fast: {loads: {ram: 5 kN compression}}
  at the change: {loads: {ram: 60 kN compression}}
  pressing: {loads: {ram: 196 kN compression}}
"""
    Params = TwoStagePumpParams

    def ports(self, params: TwoStagePumpParams) -> tuple[Port, ...]:
        unload = (Port("U", "return", ("unload",), doc="large stage, unloaded"),) if params.unload_port else ()
        return (
            Port("inlet", "suction", ("suction", "S"), doc="from the reservoir"),
            Port("outlet", "pressure", ("pressure", "P"), doc="delivery of both stages"),
            *unload,
        )

    def controls(self, params: TwoStagePumpParams) -> tuple[Control, ...]:
        return (unloading.CONTROL,)

    def port_ratings(self, params: TwoStagePumpParams) -> Mapping[str, Rating | None]:
        return {"outlet": params.rating}

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        per_displacement = params.speed * b.speed_ratio(params.driven_by) * params.volumetric_efficiency
        inlet, outlet, inner = b.node("inlet"), b.node("outlet"), b.inner(LARGE)
        back = b.node("U") if params.unload_port else inlet
        b.source("outlet", outlet, params.small_stage * per_displacement)
        b.source(LARGE, inner, params.large_stage * per_displacement)
        b.source("inlet", inlet, -(params.small_stage + params.large_stage) * per_displacement)
        b.branch("check", inner, outlet, c0=params.check_cracking, b=full(params.check_drop), lo=0.0)
        b.pilot(
            "unloader", inner, back, b=full(params.unloader_drop), z=weights((outlet, 1.0), (back, -1.0)),
            z0=unloading.opens_at(params.unloads_at, b), droop=params.droop,
        )  # fmt: skip

    def delivery(self, part: Part, role: str, r: Results) -> Array:
        """What leaves the outlet: the small stage, and of the large one what passes the check valve."""
        return r.source_flow(part.name, role) + r.flow(part.name, "check")

    def shaft_demand(self, part: Part, r: Results) -> ShaftDemand:
        params = self.own(part)
        inlet = r.pressure(part.name, "inlet")
        small = np.maximum(r.pressure(part.name, "outlet") - inlet, 0.0)
        large = np.maximum(r.inner_pressure(part.name, LARGE) - inlet, 0.0)
        torque = (params.small_stage * small + params.large_stage * large) / params.mechanical_efficiency
        return turned(torque, params.speed * r.speed_ratio(params.driven_by), params.driven_by)


KIND = TwoStagePump()
