"""Reservoir: the node at 0 Pa gauge."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pydantic import Field

from .. import quantities
from ..circuit import Part, Rating
from ..fields import Area, Flow, HeatTransfer, LengthOrZero, Volume
from .base import HeatSink, Kind, Parameters, Port, assumed

if TYPE_CHECKING:
    from ..assemble import Builder

HEAT_TRANSFER = 12.0
HEAT_TRANSFER_BASIS = (
    "trade pages seen print 5.8 to 11.6 and 11.4 W/(m²·K) for a bare tank in air that moves freely; in still "
    "air it is less"
)


class ReservoirParams(Parameters):
    volume: Volume | None = Field(None, description="Oil in it.")
    breather: Flow | None = Field(None, description="Air flow that its breather passes without much loss.")
    return_depth: LengthOrZero | None = Field(
        None, description="How far the return pipes end below the lowest oil level, all rods out; 0 mm: above it."
    )
    suction_depth: LengthOrZero | None = Field(
        None, description="How far the suction opening lies below the lowest oil level, all rods out."
    )
    cooling_area: Area | None = Field(
        None, description="Outside area that air can reach and oil wets. Left out: no heat leaves through it."
    )
    heat_transfer: HeatTransfer = assumed(
        HEAT_TRANSFER, "Heat that leaves per area and per degree above the air.", HEAT_TRANSFER_BASIS
    )


class Reservoir(Kind[ReservoirParams]):
    name = "reservoir"
    aliases = ("tank",)
    group = "energy"
    symbol = "reservoir"
    summary = "Vented tank: the zero of all pressures."
    equations = (
        "`p = 0` (gauge); the height of the oil is left out. Heat to the air `Q = heat transfer × cooling area "
        "× (oil - "
        f"air)`; default {HEAT_TRANSFER:g} W/(m²·K), the upper end of what is printed: {HEAT_TRANSFER_BASIS}."
    )
    example = "{kind: reservoir, volume: 30 L, cooling area: 0.75 m2}"
    demo = """
parts:
  it: {kind: reservoir, volume: 30 L, cooling area: 0.75 m2}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 2400 rpm, volumetric efficiency: 94 %, rating: 250 bar}
  relief: {kind: relief valve, setting: 40 bar, override: 3 bar at 40 L/min, rating: 210 bar}
lines:
  suction: {route: it > pump.inlet, hose: suction, bore: 25 mm, length: 0.6 m, rating: 7 bar}
  outlet: {route: pump.outlet > relief.inlet, direct: yes}
  home: {route: relief.outlet > it, hose: one-wire, size: -8, length: 1 m}
states:
  warming up: {}
"""
    Params = ReservoirParams

    def ports(self, params: ReservoirParams) -> tuple[Port, ...]:
        return (
            Port(
                "oil", "return", ("suction", "return", "drain", "T"), optional=True, several=True,
                doc="any number of lines end here",
            ),
        )  # fmt: skip

    def at_reservoir(self, params: ReservoirParams) -> tuple[str, ...]:
        return ("oil",)

    def port_ratings(self, params: ReservoirParams) -> Mapping[str, Rating | None]:
        return {}

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: its port is node 0."""

    def heat_sink(self, part: Part) -> HeatSink:
        params = self.own(part)
        basis = []
        if params.volume is None:
            basis.append(f"{part.name}: no volume is given, so its oil stores no heat here")
        if params.cooling_area is None:
            basis.append(f"{part.name}: no cooling area is given, so no heat leaves through it here")
        else:
            transfer = quantities.show(params.heat_transfer, "heat transfer")
            area = quantities.show(params.cooling_area, "area")
            given = "heat_transfer" in params.model_fields_set
            why = "" if given else f" (assumed: {HEAT_TRANSFER_BASIS})"
            basis.append(f"{part.name}: {transfer} over {area}{why}")
        return HeatSink(
            oil_volume=params.volume or 0.0,
            conductance=params.heat_transfer * (params.cooling_area or 0.0),
            basis=tuple(basis),
        )

    def assumptions(self, part: Part) -> tuple[str, ...]:
        return super().assumptions(part) if self.own(part).cooling_area is not None else ()


KIND = Reservoir()
