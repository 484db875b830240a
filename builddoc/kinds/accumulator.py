"""Gas-charged accumulator. In a steady state it takes no oil; what it holds follows from the gas law."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import Efficiency, PositivePressure, Ratio, Temperature, Volume
from ..physics import accumulator as gas
from .base import Kind, Parameters, Port, assumed

if TYPE_CHECKING:
    from ..assemble import Builder


class AccumulatorParams(Parameters):
    volume: Volume = Field(description="Gas volume when it is empty of oil, as on its plate.")
    precharge: PositivePressure = Field(description="Gas pressure with no oil in it, at the precharge temperature.")
    precharge_temperature: Temperature = assumed(293.15, "Temperature at which it was charged with gas.")
    gas_temperature: Temperature | None = Field(
        None, description="Temperature of the gas at work; left out: as it was charged."
    )
    polytropic_index: Ratio = assumed(
        1.0, "n of `p V^n = constant` while oil goes in or out: 1 = slowly, more than about 3 minutes; 1.4 = fast.",
        "slow: the gas keeps its temperature, which gives the most oil",
    )  # fmt: skip
    usable_share: Efficiency = Field(1.0, description="Share of the usable oil that is counted on.")


class Accumulator(Kind[AccumulatorParams]):
    name = "accumulator"
    aliases = ("gas accumulator", "bladder accumulator", "piston accumulator", "diaphragm accumulator")
    group = "energy"
    symbol = "accumulator"
    summary = "Gas-charged store of oil: it holds oil at the circuit's pressure, also with the engine off."
    equations = """
- **In a steady state** nothing flows: a state shows the circuit once the accumulator stands at the pressure of that
  state, be it full or down to its precharge; how long it fills or gives is its oil over the flow of the line then.
- **A pump behind a check valve** and nothing that draws: whatever pressure was there stays; the least it can be is
  printed.
- **Precharge at work**, pressures absolute: `p0 = precharge × gas temperature / precharge temperature`.
- **Oil held** at p: `V (1 - (p0 / p)^(1/n))` above p0, none below.
- **Energy** that the gas gives back from p down to p0: `V p0 ln(p / p0)` for n = 1, else the integral of the same law.

Ideal gas, no correction above 200 bar; elementary gas laws.
"""
    example = "{kind: accumulator, volume: 1 L, precharge: 60 bar, gas temperature: 45 °C, rating: 250 bar}"
    demo = """
parts:
  $supply
  it: {kind: accumulator, volume: 1 L, precharge: 60 bar, gas temperature: 45 °C, rating: 250 bar}
  load: {kind: shut-off valve, drop: 90 bar at 18 L/min, rating: 350 bar}
  fork: {kind: tee, rating: 250 bar}
lines:
  $feed
  to fork: {route: block.branch > fork.run a, direct: yes}
  to accumulator: {route: fork.branch > it, direct: yes}
  to load: {route: fork.run b > load.A, hose: two-wire, size: -6, length: 1 m}
  home: {route: load.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  loaded: {}
  all shut: {load: shut}
"""
    Params = AccumulatorParams

    def ports(self, params: AccumulatorParams) -> tuple[Port, ...]:
        return (Port("oil", "work", doc="the oil side"),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: in a steady state nothing flows in or out."""

    def precharge(self, part: Part) -> float:
        """Pa gauge of the gas with no oil in it, at the gas temperature at work."""
        params = self.own(part)
        warm = params.gas_temperature or params.precharge_temperature
        cold = gas.absolute(params.precharge)
        return float(gas.gauge(gas.gas_pressure(cold, 1.0, 1.0, params.precharge_temperature, warm)))

    def held(self, part: Part, pressure: float) -> float:
        """Oil, m3, in it at a pressure, Pa gauge; 0 below the precharge."""
        params = self.own(part)
        empty = gas.absolute(self.precharge(part))
        return float(gas.held(params.volume, empty, gas.absolute(pressure), params.polytropic_index))

    def energy(self, part: Part, pressure: float) -> float:
        """J that the gas gives back on its way from a pressure, Pa gauge, down to the precharge."""
        params = self.own(part)
        empty = gas.absolute(self.precharge(part))
        return float(gas.energy(params.volume, empty, gas.absolute(pressure), params.polytropic_index))


KIND = Accumulator()
