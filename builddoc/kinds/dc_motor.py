"""Battery-driven motor of a 12 V power pack."""

from __future__ import annotations

from pydantic import Field

from ..circuit import Part
from ..fields import Area, Current, Duration, Efficiency, Length, PositiveShaftSpeed, Power, Voltage
from .base import assumed
from .driving import LAW, Driver, DriverParams

COPPER = 1.75e-8
"""Ohm metre, copper at about 20 degC; from memory of tables of 1.68e-8 to 1.78e-8."""


class DCMotorParams(DriverParams):
    power: Power = Field(description="Shaft power that it can give for its longest on-time.")
    speed: PositiveShaftSpeed = Field(description="Speed at that power.")
    voltage: Voltage = Field(description="Voltage of the battery under load, as `12 V`.")
    motor_efficiency: Efficiency = assumed(0.70, "Shaft power over electric power at the motor's terminals.")
    cable: Area | None = Field(None, description="Cross-section of the cable, as `35 mm2`.")
    cable_loop: Length | None = Field(None, description="Length of the cable there and back.")
    fuse: Current | None = Field(None, description="Rating of the fuse or breaker at the battery.")
    fused: bool | None = Field(None, description="There is a fuse or breaker at the battery; `no`: there is none.")
    longest_on_time: Duration | None = Field(None, description="Longest time it may run at a stretch, from its sheet.")
    continuous_share: Efficiency = Field(1.0, description="Share of its power that it can give for its on-time.")

    def rated(self) -> tuple[float, float]:
        return self.power, self.speed

    def nominal(self) -> float:
        return self.speed

    def current(self, shaft_power: float) -> float:
        """A at a shaft power, W."""
        return shaft_power / (self.motor_efficiency * self.voltage)

    def cable_drop(self, current: float) -> float | None:
        """V lost in the cable, there and back; None where the cable is not stated."""
        if self.cable is None or self.cable_loop is None:
            return None
        return current * COPPER * self.cable_loop / self.cable


class DCMotor(Driver[DCMotorParams]):
    name = "DC motor"
    aliases = ("12 V motor", "battery motor")
    symbol = "DC motor"
    lasts = "for its on-time"
    summary = "Battery motor of a power pack: turns a pump for a short time."
    equations = (
        f"{LAW} For its on-time it gives its `continuous share` of that. "
        "Current `I = P / (motor efficiency × voltage)`; voltage lost in the cable `I × 1.75e-8 ohm m × "
        "cable loop / cable` (copper, from memory). The drop of its speed under load and with an empty battery is left "
        "out."
    )
    example = (
        "{kind: DC motor, power: 1.8 kW, speed: 2800 rpm, voltage: 12 V, cable: 35 mm2, cable loop: 12 m, fuse: 200 A, "
        "longest on time: 2 min}"
    )
    demo = """
parts:
  tank: {kind: reservoir, volume: 6 L, cooling area: 0.2 m2}
  it: {kind: DC motor, power: 1.8 kW, speed: 2800 rpm, voltage: 12 V, cable: 35 mm2, cable loop: 12 m, fuse: 200 A,
       longest on time: 2 min}
  pump: {kind: pump, displacement: 1.2 cc/rev, speed: 2800 rpm, driven by: it, volumetric efficiency: 88 %,
         rating: 250 bar}
  relief: {kind: relief valve, setting: 180 bar, override: 3 bar at 5 L/min, rating: 250 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  outlet: {route: pump.outlet > relief.inlet, direct: yes}
  home: {route: relief.outlet > tank, hose: one-wire, size: -6, length: 1 m}
states:
  over the relief: {}
"""
    Params = DCMotorParams

    def assumptions(self, part: Part) -> tuple[str, ...]:
        told = f"{part.name}: its speed is taken as that of its plate whatever the load and the battery"
        return (*super().assumptions(part), told)


KIND = DCMotor()
