"""Oil cooler with or without a bypass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from .. import quantities
from ..circuit import Part
from ..fields import DropAtFlow, Flow, HeatPerKelvin
from .base import HeatSink, Kind, Parameters, Port, assumed
from .passages import Bypass, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class CoolerParams(Parameters):
    drop: DropAtFlow = assumed(at_40(1.0), "Pressure drop at a flow.")
    bypass: Bypass = Field(
        None, description="Pressure at which a bypass check opens, as `2 bar`; `no`, or left out: it has none."
    )
    bypass_drop: DropAtFlow = assumed(at_40(0.5), "Pressure drop of the open bypass at a flow, beyond its "
    "opening pressure.")
    rated_flow: Flow | None = Field(None, description="Flow that its maker rates it for.")
    conductance: HeatPerKelvin | None = Field(
        None, description="Heat it takes away per degree between oil and air, as `60 W/K`. Left out: none is counted."
    )


class Cooler(Kind[CoolerParams]):
    name = "cooler"
    aliases = ("oil cooler",)
    group = "conditioning"
    symbol = "cooler"
    summary = "Oil-to-air cooler, with or without a bypass check."
    equations = (
        "`dp = drop × (Q/flow + (Q/flow)^2) / 2`: half laminar, half turbulent at the stated flow (common "
        "practice, no source). Bypass: one way, `dp = bypass + bypass drop × (Q / flow)^2`. Heat `= "
        "conductance × (oil - air)`, with whatever flow it gets."
    )
    example = "{kind: cooler, drop: 1.2 bar at 60 L/min, bypass: 2 bar, conductance: 60 W/K, rating: 20 bar}"
    demo = """
parts:
  $supply
  it: {kind: cooler, drop: 1.2 bar at 60 L/min, bypass: 2 bar, conductance: 60 W/K, rating: 20 bar}
lines:
  $feed
  to cooler: {route: block.branch > it.inlet, hose: one-wire, size: -8, length: 1 m}
  home: {route: it.outlet > tank, hose: one-wire, size: -8, length: 1 m}
states:
  warm: {}
  cold: {oil temperature: -10 °C}
"""
    Params = CoolerParams

    def ports(self, params: CoolerParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="hot oil"),
            Port("outlet", "work", ("out",), doc="cooled oil"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        b.branch("core", inlet, outlet, a=0.5 * params.drop.value / params.drop.at, b=0.5 * full(params.drop))
        if params.bypass is not None:
            b.branch("bypass", inlet, outlet, c0=params.bypass, b=full(params.bypass_drop), lo=0.0)

    def heat_sink(self, part: Part) -> HeatSink:
        value = self.own(part).conductance
        if value is None:
            return HeatSink(basis=(f"{part.name}: no conductance is given, so no heat leaves through it here",))
        text = quantities.show(value, "heat per kelvin")
        return HeatSink(conductance=value, basis=(f"{part.name}: {text}, as given",))

    def assumptions(self, part: Part) -> tuple[str, ...]:
        found = super().assumptions(part)
        if self.own(part).bypass is None:
            found = tuple(text for text in found if not text.startswith(f"{part.name}: bypass drop"))
        return found


KIND = Cooler()
