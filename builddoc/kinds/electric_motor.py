"""Electric motor."""

from __future__ import annotations

from pydantic import Field

from ..fields import Efficiency, PositiveShaftSpeed, Power
from .driving import FOR_HOURS, LAW, Driver, DriverParams


class ElectricMotorParams(DriverParams):
    power: Power = Field(description="Rated shaft power.")
    speed: PositiveShaftSpeed = Field(description="Speed at rated power, from the plate.")
    continuous_share: Efficiency = Field(
        1.0, description="Share of its power that it can give for hours; 100 % where the plate says continuous duty."
    )

    def rated(self) -> tuple[float, float]:
        return self.power, self.speed

    def nominal(self) -> float:
        return self.speed


class ElectricMotor(Driver[ElectricMotorParams]):
    name = "electric motor"
    symbol = "electric motor"
    summary = "Electric motor that turns one or more pumps."
    equations = f"{LAW}{FOR_HOURS} The plate power is taken as continuous unless `continuous share` says otherwise."
    example = "{kind: electric motor, power: 3 kW, speed: 1450 rpm}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 20 L, cooling area: 0.5 m2}
  it: {kind: electric motor, power: 3 kW, speed: 1450 rpm}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 1450 rpm, driven by: it, volumetric efficiency: 94 %,
         rating: 250 bar}
  relief: {kind: relief valve, setting: 140 bar, override: 3 bar at 40 L/min, rating: 250 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  outlet: {route: pump.outlet > relief.inlet, direct: yes}
  home: {route: relief.outlet > tank, hose: one-wire, size: -8, length: 1 m}
states:
  over the relief: {}
"""
    Params = ElectricMotorParams


KIND = ElectricMotor()
