"""Orifice, fixed or adjustable."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part
from ..fields import DropAtFlow, Efficiency, Length
from ..network import Array
from . import orders
from .base import PRACTICE, Control, Kind, Parameters, Port, assumed, assumptions_of
from .passages import LEAST_OPENING, full, shut

if TYPE_CHECKING:
    from ..assemble import Builder


class OrificeParams(Parameters):
    diameter: Length | None = Field(None, description="Diameter of the hole, fully open; this or `drop` is needed.")
    discharge_coefficient: Efficiency = assumed(
        0.7, "Share of the hole's area that the jet fills in effect.", f"0.6 to 0.8 is usual; {PRACTICE}"
    )
    drop: DropAtFlow | None = Field(
        None, description="Pressure drop at a flow, fully open, as `20 bar at 10 L/min`, instead of `diameter`."
    )
    adjustable: bool = Field(False, description="States may set how far it is open.")

    @model_validator(mode="after")
    def _one_size(self) -> OrificeParams:
        if (self.diameter is None) == (self.drop is None):
            text = "it needs a diameter or a drop" if self.drop is None else "a diameter and a drop are both given"
            raise PydanticCustomError(
                "value-missing", "{text}",
                {"text": text, "hint": "write 'diameter: 1.2 mm', or 'drop: 20 bar at 10 L/min'"},
            )  # fmt: skip
        return self


class Orifice(Kind[OrificeParams]):
    name = "orifice"
    aliases = ("restrictor", "needle valve", "throttle")
    group = "valves"
    symbol = "orifice"
    summary = "Sharp-edged restriction, the same both ways; adjustable if it says so."
    equations = (
        "`Q = Cd A sqrt(2 dp / rho)` with the area of the hole, or `dp = drop × (Q / flow)^2`. Partly open: "
        "area in proportion to the opening. Elementary relation for a sharp edge (turbulent); at very small "
        "flows a real one is laminar."
    )
    example = "{kind: orifice, diameter: 1.2 mm, adjustable: yes, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: orifice, diameter: 1.2 mm, adjustable: yes, rating: 210 bar}
lines:
  $feed
  to orifice: {route: block.branch > it.A, direct: yes}
  home: {route: it.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  wide open: {}
  half open: {it: 50 %}
"""
    Params = OrificeParams

    def ports(self, params: OrificeParams) -> tuple[Port, ...]:
        return (Port("A", "work", doc="either end", alike=True), Port("B", "work", doc="either end", alike=True))

    def controls(self, params: OrificeParams) -> tuple[Control, ...]:
        if not params.adjustable:
            return ()
        return (Control("position", orders.opening, orders.OPEN, "`open`, `shut` or how far it is open, as `40 %`"),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        x = np.array(b.orders("position"), dtype=float) if params.adjustable else np.ones(b.size)
        law = self._law(params, b.rho) / np.maximum(x, LEAST_OPENING) ** 2
        b.branch("passage", b.node("A"), b.node("B"), b=law, shut=shut(x))

    def _law(self, params: OrificeParams, rho: Array) -> Array:
        """b of dp = b Q|Q| when fully open."""
        if params.drop is not None:
            return np.full(rho.shape, full(params.drop))
        area = math.pi / 4 * (params.diameter or 0.0) ** 2
        result: Array = rho / (2.0 * (params.discharge_coefficient * area) ** 2)
        return result

    def assumptions(self, part: Part) -> tuple[str, ...]:
        return assumptions_of(part.name, part.params) if self.own(part).drop is None else ()


KIND = Orifice()
