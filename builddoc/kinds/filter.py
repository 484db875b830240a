"""Filter with or without a bypass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, Flow, PositivePressure
from . import orders
from .base import Control, Fault, Kind, Parameters, Port, assumed
from .passages import LEAST_OPENING, Bypass, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class FilterParams(Parameters):
    drop: DropAtFlow = assumed(at_40(0.5), "Pressure drop with a clean element at a flow.")
    bypass: Bypass = Field(
        None, description="Pressure at which the bypass opens, as `1.7 bar`; `no`, or left out: it has none."
    )
    bypass_drop: DropAtFlow = assumed(at_40(0.5), "Pressure drop of the open bypass at a flow, beyond its "
    "opening pressure.")
    indicator: PositivePressure | None = Field(
        None, description="Drop over the element at which its indicator or switch says `change me`."
    )
    rated_flow: Flow | None = Field(None, description="Flow that its maker rates it for.")
    collapse: PositivePressure | None = Field(
        None, description="Pressure drop at which its element collapses, by its maker."
    )


class Filter(Kind[FilterParams]):
    name = "filter"
    aliases = ("return filter", "suction strainer")
    group = "conditioning"
    symbol = "filter"
    summary = "Filter element, with or without a bypass check."
    equations = (
        "Element: `dp = drop × Q / flow` (laminar, as through a fine mesh), divided by the share that is not "
        "blocked. Bypass: one way, `dp = bypass + bypass drop × (Q / flow)^2`. That the drop follows the oil's "
        "viscosity is left out: state it for the oil as it runs. Common practice, no source."
    )
    example = "{kind: filter, drop: 0.6 bar at 60 L/min, bypass: 1.7 bar, rating: 10 bar}"
    demo = """
parts:
  $supply
  it: {kind: filter, drop: 0.6 bar at 60 L/min, bypass: 1.7 bar, rating: 10 bar}
lines:
  $feed
  to filter: {route: block.branch > it.inlet, hose: one-wire, size: -8, length: 1 m}
  home: {route: it.outlet > tank, hose: suction, bore: 25 mm, length: 0.3 m, rating: 7 bar}
states:
  clean: {}
  blocked: {it: blocked}
  cold: {oil temperature: -10 °C}
"""
    Params = FilterParams

    def ports(self, params: FilterParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="dirty side"),
            Port("outlet", "work", ("out",), doc="clean side"),
        )

    def controls(self, params: FilterParams) -> tuple[Control, ...]:
        return (
            Control(
                "position", orders.clogging, 0.0, "`clean`, `80 % blocked` or `blocked`",
                faults=(Fault("blocked", 1.0, "blocked filters"),), said=orders.clogging_words,
            ),
        )  # fmt: skip

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        inlet, outlet = b.node("inlet"), b.node("outlet")
        free = 1.0 - np.array(b.orders("position"), dtype=float)
        resistance = params.drop.value / params.drop.at / np.maximum(free, LEAST_OPENING)
        b.branch("element", inlet, outlet, a=resistance, shut=free < LEAST_OPENING)
        if params.bypass is not None:
            b.branch("bypass", inlet, outlet, c0=params.bypass, b=full(params.bypass_drop), lo=0.0)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        found = super().assumptions(part)
        if self.own(part).bypass is None:
            found = tuple(text for text in found if not text.startswith(f"{part.name}: bypass drop"))
        return found


KIND = Filter()
