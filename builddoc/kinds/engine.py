"""Combustion engine."""

from __future__ import annotations

import math
from dataclasses import replace

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..fields import PositiveShaftSpeed, PowerAtSpeed
from .base import Control, Fault
from .driving import FOR_HOURS, LAW, Driver, DriverParams


class EngineParams(DriverParams):
    power: PowerAtSpeed = Field(description="Rated power and its speed, as `16 hp at 3600 rpm`.")
    speed: PositiveShaftSpeed | None = Field(
        None, description="Speed at which it is run here (nominal). Left out: the speed of its rated power."
    )

    idle: PositiveShaftSpeed | None = Field(None, description="Idle speed, as `1200 rpm`; tried as a fault.")
    high_idle: PositiveShaftSpeed | None = Field(
        None, description="Highest speed, without load, as `3750 rpm`; tried as a fault."
    )

    @model_validator(mode="after")
    def _speeds(self) -> EngineParams:
        if self.speed is None and math.isnan(self.power.at):
            raise PydanticCustomError(
                "value-missing", "{text}",
                {"text": "the power does not say at what speed", "hint": "write 'power: 16 hp at 3600 rpm'"},
            )  # fmt: skip
        return self

    def rated(self) -> tuple[float, float]:
        at = self.nominal() if math.isnan(self.power.at) else self.power.at
        return self.power.value, at

    def nominal(self) -> float:
        return self.power.at if self.speed is None else self.speed


class Engine(Driver[EngineParams]):
    name = "engine"
    aliases = ("petrol engine", "diesel engine")
    symbol = "engine"
    summary = "Combustion engine that turns one or more pumps."
    equations = f"{LAW}{FOR_HOURS} Common practice, no source: 85 % continuous share."
    example = "{kind: engine, power: 16 hp at 3600 rpm, speed: 3000 rpm}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 20 L, cooling area: 0.5 m2}
  it: {kind: engine, power: 9 hp at 3600 rpm, speed: 3000 rpm}
  pump: {kind: pump, displacement: 6 cc/rev, speed: 3000 rpm, driven by: it, volumetric efficiency: 94 %,
         rating: 250 bar}
  relief: {kind: relief valve, setting: 140 bar, override: 3 bar at 40 L/min, rating: 250 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  outlet: {route: pump.outlet > relief.inlet, direct: yes}
  home: {route: relief.outlet > tank, hose: one-wire, size: -8, length: 1 m}
states:
  full speed: {}
  slowly: {speed: {it: 1500 rpm}}
"""
    Params = EngineParams

    def controls(self, params: EngineParams) -> tuple[Control, ...]:
        speeds = (("at idle speed", params.idle), ("at high idle", params.high_idle))
        faults = tuple(Fault(label, speed, "engine speeds") for label, speed in speeds if speed is not None)
        return tuple(replace(control, faults=faults) for control in super().controls(params))


KIND = Engine()
