"""Fixed-displacement pump."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import Displacement, DriverName, Efficiency, PositivePressure, Pressure, ShaftSpeed
from .base import Control, Kind, Parameters, Port, ShaftDemand


class PumpParams(Parameters):
    displacement: Displacement = Field(description="Oil per revolution.")
    speed: ShaftSpeed = Field(description="Shaft speed of the pump when its driver runs at its nominal speed.")
    driven_by: DriverName = Field("", description="Name of the engine or electric motor; states that change its speed change the pump's.")
    volumetric_efficiency: Efficiency = Field(0.92, description="Delivered flow over displacement times speed.")
    efficiency_pressure: PositivePressure | None = Field(
        None,
        description="Pressure at which the volumetric efficiency holds; leakage then grows in proportion to pressure. "
        "Left out: the efficiency holds at every pressure.",
    )
    mechanical_efficiency: Efficiency = Field(0.90, description="Ideal torque over shaft torque.")
    lowest_inlet_pressure: Pressure = Field(
        -0.17e5, description="Lowest inlet pressure (gauge) the pump may see."
    )


class Pump(Kind[PumpParams]):
    name = "pump"
    aliases = ("gear pump",)
    group = "energy"
    symbol = "pump"
    summary = "Pump of fixed displacement, one direction of flow."
    equations = (
        "Q = D n less leakage; leakage = (1 - volumetric efficiency) D n, at every pressure, or in proportion to the "
        "pressure rise where `efficiency pressure` is given. Shaft torque = D dp / mechanical efficiency. "
        "Elementary relations; linear leakage is common practice, no source."
    )
    example = "{kind: pump, displacement: 10 cc/rev, speed: 2400 rpm, volumetric efficiency: 93 %, rating: 210 bar}"
    Params = PumpParams

    def ports(self, params: PumpParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "suction", ("suction", "S"), doc="from the reservoir"),
            Port("outlet", "pressure", ("pressure", "P"), doc="delivery"),
        )

    def controls(self, params: PumpParams) -> tuple[Control, ...]:
        return ()

    def port_ratings(self, params: PumpParams):  # type: ignore[no-untyped-def]
        return {"outlet": params.rating}

    def expand(self, part: Part, b):  # type: ignore[no-untyped-def]
        params: PumpParams = part.params  # type: ignore[assignment]
        ideal = params.displacement * params.speed * b.speed_ratio(params.driven_by)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        lost = 1.0 - params.volumetric_efficiency
        if params.efficiency_pressure is None:
            delivered = ideal * params.volumetric_efficiency
        else:
            delivered = ideal
            if lost > 0:
                resistance = params.efficiency_pressure / np.maximum(lost * ideal, 1e-12)
                b.branch("leakage", outlet, inlet, a=resistance, leak=True)
        b.source("outlet", outlet, delivered)
        b.source("inlet", inlet, -delivered)

    def shaft_demand(self, part: Part, r) -> ShaftDemand:  # type: ignore[no-untyped-def]
        params: PumpParams = part.params  # type: ignore[assignment]
        rise = r.pressure(part.name, "outlet") - r.pressure(part.name, "inlet")
        torque = params.displacement * np.maximum(rise, 0.0) / params.mechanical_efficiency
        return ShaftDemand(torque * params.speed * r.speed_ratio(params.driven_by), torque, params.driven_by)


KIND = Pump()
