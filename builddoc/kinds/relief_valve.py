"""Relief valve as a part of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part, Rating
from ..fields import RatingField
from . import limiting
from .base import Kind, Parameters, Port, Relief

if TYPE_CHECKING:
    from ..assemble import Builder


class ReliefValveParams(Parameters, limiting.ReliefSetting):
    outlet_rating: RatingField | None = Field(
        None, description="Rated pressure of the outlet (tank) port. Left out: the rating of the part."
    )


class ReliefValve(Kind[ReliefValveParams]):
    name = "relief valve"
    aliases = ("pressure relief valve",)
    group = "valves"
    symbol = "relief valve"
    summary = "Opens at its setting and lets oil go, so that the pressure before it cannot rise much further."
    equations = limiting.LAW + " Drained to its outlet: pressure there adds to the setting."
    example = "{kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 30 L, cooling area: 0.7 m2}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 2400 rpm, volumetric efficiency: 94 %, rating: 250 bar}
  it: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 210 bar}
lines:
  suction: {route: tank > pump.inlet, direct: yes}
  outlet: {route: pump.outlet > it.inlet, hose: two-wire, size: -8, length: 1 m}
  home: {route: it.outlet > tank, hose: one-wire, size: -8, length: 1 m}
states:
  all of the oil: {}
"""
    Params = ReliefValveParams

    def ports(self, params: ReliefValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="the pressure it limits"),
            Port("outlet", "return", ("T",), doc="where the oil goes"),
        )

    def port_ratings(self, params: ReliefValveParams) -> Mapping[str, Rating | None]:
        return {"inlet": params.rating, "outlet": params.outlet_rating or params.rating}

    def reliefs(self, params: ReliefValveParams) -> tuple[Relief, ...]:
        return (Relief("relief", "inlet", params.setting),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        b.branch("relief", b.node("inlet"), b.node("outlet"), c0=params.setting, a=params.slope(), lo=0.0)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        return (*self.own(part).assumed(part.name), *limiting.other_assumptions(part.name, part.params))


KIND = ReliefValve()
