"""Two or three pumps on one shaft with one inlet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part, Rating
from ..fields import Displacement, DriverName, Efficiency, Pressure, ShaftSpeed
from .base import Kind, Parameters, Port, ShaftDemand, assumed, turned

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results

LETTERS = "ABC"


class TandemPumpParams(Parameters):
    sections: list[Displacement] = Field(
        description="Oil per revolution of each section, two or three, as `[10 cc/rev, 4 cc/rev]`; the first feeds "
        "outlet A."
    )
    speed: ShaftSpeed = Field(description="Shaft speed of the pump when its driver runs at its nominal speed.")
    driven_by: DriverName = Field(
        "", description="Name of the engine or motor; states that change its speed change the pump's."
    )
    volumetric_efficiency: Efficiency = assumed(0.92, "Delivered flow over displacement times speed, every section.")
    mechanical_efficiency: Efficiency = assumed(0.90, "Ideal torque over shaft torque, every section.")
    lowest_inlet_pressure: Pressure = assumed(-0.17e5, "Lowest inlet pressure (gauge) the pump may see.")

    @field_validator("sections")
    @classmethod
    def _two_or_three(cls, value: list[float]) -> list[float]:
        if not 2 <= len(value) <= len(LETTERS):
            text = f"a tandem pump has two or three sections, not {len(value)}"
            raise PydanticCustomError("choice", "{text}", {"text": text, "hint": "as [10 cc/rev, 4 cc/rev]"})
        return value

    def letters(self) -> str:
        return LETTERS[: len(self.sections)]


class TandemPump(Kind[TandemPumpParams]):
    name = "tandem pump"
    aliases = ("double pump",)
    group = "energy"
    symbol = "tandem pump"
    summary = "Two or three pumps on one shaft: one inlet, an outlet for each."
    equations = (
        "Each section delivers `D n × volumetric efficiency` at every pressure. Shaft torque: the sum of `D dp / "
        "mechanical efficiency`, each section at its own pressure. Elementary relations."
    )
    example = "{kind: tandem pump, sections: [10 cc/rev, 4 cc/rev], speed: 2400 rpm, rating: 210 bar}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 30 L, cooling area: 0.7 m2}
  it: {kind: tandem pump, sections: [10 cc/rev, 4 cc/rev], speed: 2400 rpm, rating: 210 bar}
  work: {kind: orifice, drop: 100 bar at 20 L/min, rating: 210 bar}
  steering: {kind: orifice, drop: 40 bar at 8 L/min, rating: 210 bar}
  block a: {kind: tee, rating: 250 bar}
  block b: {kind: tee, rating: 250 bar}
  relief a: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}
  relief b: {kind: relief valve, setting: 80 bar, override: 3 bar at 40 L/min, rating: 210 bar}
lines:
  suction: {route: tank > it.inlet, hose: suction, bore: 32 mm, length: 0.6 m, rating: 7 bar}
  out a: {route: it.A > block a.run a, direct: yes}
  out b: {route: it.B > block b.run a, direct: yes}
  seat a: {route: block a.branch > relief a.inlet, direct: yes}
  seat b: {route: block b.branch > relief b.inlet, direct: yes}
  over a: {route: relief a.outlet > tank, direct: yes}
  over b: {route: relief b.outlet > tank, direct: yes}
  to work: {route: block a.run b > work.A, hose: two-wire, size: -8, length: 1 m}
  to steering: {route: block b.run b > steering.A, hose: two-wire, size: -6, length: 1 m}
  home a: {route: work.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: steering.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  running: {}
"""
    Params = TandemPumpParams

    def ports(self, params: TandemPumpParams) -> tuple[Port, ...]:
        outlets = (Port(x, "pressure", doc=f"delivery of section {n}") for n, x in enumerate(params.letters(), 1))
        return (Port("inlet", "suction", ("suction", "S"), doc="from the reservoir"), *outlets)

    def port_ratings(self, params: TandemPumpParams) -> Mapping[str, Rating | None]:
        return dict.fromkeys(params.letters(), params.rating)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        per_displacement = params.speed * b.speed_ratio(params.driven_by) * params.volumetric_efficiency
        for letter, size in zip(params.letters(), params.sections, strict=True):
            b.source(letter, b.node(letter), size * per_displacement)
        b.source("inlet", b.node("inlet"), -sum(params.sections) * per_displacement)

    def shaft_demand(self, part: Part, r: Results) -> ShaftDemand:
        params = self.own(part)
        inlet, torque = r.pressure(part.name, "inlet"), np.zeros(r.size)
        for letter, size in zip(params.letters(), params.sections, strict=True):
            torque = torque + size * np.maximum(r.pressure(part.name, letter) - inlet, 0.0)
        torque = torque / params.mechanical_efficiency
        return turned(torque, params.speed * r.speed_ratio(params.driven_by), params.driven_by)


KIND = TandemPump()
