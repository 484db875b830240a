"""Single-acting cylinder: oil pushes it out, its load or a spring brings it back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import Force, Length
from . import orders
from .base import Control, Kind, Motion, Port
from .cylinder import rod_motion
from .rod_limits import RodLimits

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results


class SingleActingCylinderParams(RodLimits):
    bore: Length = Field(description="Diameter that the oil pushes on: of the piston, or of the rod of a plunger.")
    stroke: Length | None = Field(None, description="Stroke; needed for stroke times.")
    spring: Force = Field(0.0, description="Force of a return spring, taken as constant over the stroke; left "
    "out: none.")
    return_force: Force | None = Field(
        None, description="Least force of the load that must bring it back, at the worst place of the stroke."
    )
    friction: Force = Field(0.0, description="Friction of seals and guides, in either direction; left out: none.")


class SingleActingCylinder(Kind[SingleActingCylinderParams]):
    name = "single-acting cylinder"
    aliases = ("single acting cylinder", "plunger cylinder")
    group = "actuators"
    symbol = "single-acting cylinder"
    moves = "rod"
    summary = "Cylinder that oil extends and that its load or a spring retracts; the rod side is open to the air."
    equations = (
        "`Q = A v`, A = pi/4 bore^2; `p A = load + spring + friction × sign(v)`; the other side of the piston "
        "is at the air's pressure. Elementary relations."
    )
    example = "{kind: single-acting cylinder, bore: 50 mm, stroke: 300 mm, spring: 400 N, rating: 175 bar}"
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: single-acting cylinder, bore: 50 mm, stroke: 300 mm, spring: 400 N, rating: 175 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  to cap: {route: valve.A > it.cap, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
plugged: [valve.B]
states:
  raising: {valve: A, loads: {it: 15 kN compression}}
  lowering: {valve: B, loads: {it: 15 kN compression}}
"""
    Params = SingleActingCylinderParams

    def ports(self, params: SingleActingCylinderParams) -> tuple[Port, ...]:
        return (Port("cap", "work", ("piston side",), doc="pressure here extends the rod"),)

    def controls(self, params: SingleActingCylinderParams) -> tuple[Control, ...]:
        return orders.ROD

    def _area(self, params: SingleActingCylinderParams) -> float:
        return math.pi / 4 * params.bore**2

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        low, high = orders.rod_limits(b.orders("stop"))
        load = np.array(b.orders("load"), float) + params.spring
        k = {b.node("cap"): self._area(params)}
        b.actuator("rod", k, force=load, friction=params.friction, lo=low, hi=high)

    def motions(self, part: Part, r: Results) -> Mapping[str, Motion]:
        params = self.own(part)
        effort = self._area(params) * r.pressure(part.name, "cap") - params.spring
        return {"rod": rod_motion(r.speed(part.name, "rod"), effort, params.friction, params.stroke)}


KIND = SingleActingCylinder()
