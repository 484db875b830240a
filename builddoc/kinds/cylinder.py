"""Double-acting cylinder with a single rod, with or without a bypass at the ends of its stroke (rephasing)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part
from ..fields import DropAtFlow, Force, Length, Pair
from ..network import Array
from . import orders
from .base import Control, Kind, Motion, Port, assumed
from .passages import SQUARE, full
from .piloting import weights
from .rod_limits import DoubleRodLimits

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results

AT_REST = 1e-7
"""m/s; a rod slower than this stands."""
_PAST = {"extended": ("cap", "rod"), "retracted": ("rod", "cap")}
"""Stop -> the ports between which oil passes the piston there, in its sense."""
_UNCOVERS = 1e5
"""Pa on the driven side, beyond what carries the load, that holds the piston where the bypass is fully open; ours."""
_ALWAYS = -1e12


class CylinderParams(DoubleRodLimits):
    bore: Length = Field(description="Bore of the barrel.")
    rod: Length = Field(description="Diameter of the rod.")
    stroke: Length | None = Field(None, description="Stroke; needed for stroke times.")
    friction: Force = Field(0.0, description="Friction of seals and guides, in either direction; left out: none.")

    rephasing: Literal["no", "extended", "retracted", "both"] = Field(
        "no", description="At which stop a passage past the piston opens, so that cylinders in series come level again."
    )
    bypass_drop: DropAtFlow = assumed(
        Pair(5e5, 10 / 6e4), "Pressure drop of the open passage past the piston of a rephasing cylinder at a flow."
    )

    @model_validator(mode="after")
    def _rod_fits(self) -> CylinderParams:
        if self.rod >= self.bore:
            raise PydanticCustomError(
                "quantity-range", "{text}", {"text": "the rod is not thinner than the bore", "hint": "check both"}
            )
        return self

    def areas(self) -> tuple[float, float]:
        """Area of the piston on the cap side and of the ring on the rod side, m2."""
        return math.pi / 4 * self.bore**2, math.pi / 4 * (self.bore**2 - self.rod**2)


class Cylinder(Kind[CylinderParams]):
    name = "cylinder"
    aliases = ("double-acting cylinder", "ram")
    group = "actuators"
    symbol = "cylinder"
    moves = "rod"
    summary = "Double-acting cylinder: pushes with the whole piston, pulls with the ring beside the rod."
    equations = (
        "`Q_cap = A v`, `Q_rod = A_ring v` with A = pi/4 bore^2, A_ring = pi/4 (bore^2 - rod^2); `p_cap A - "
        "p_rod A_ring = load + friction × sign(v)`. At rest the friction takes any value up to its size. A rod "
        "at its stop can only leave it; one that is `held` cannot move. No leakage past the piston, but for a "
        "rephasing cylinder: at the stop it rephases at, oil passes from the driven side to the other, one way, "
        f"{SQUARE}, as long as the oil holds the piston there: where a load pushes it off, the bypass closes. "
        "Elementary relations; "
        "square law: common practice, no source."
    )
    example = "{kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, friction: 300 N, rating: 210 bar}"
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: cylinder, bore: 63 mm, rod: 32 mm, stroke: 600 mm, friction: 300 N, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  to cap: {route: valve.A > it.cap, hose: two-wire, size: -6, length: 1 m}
  to rod: {route: valve.B > it.rod, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  pushing: {valve: A, loads: {it: 20 kN compression}}
  pulling: {valve: B, loads: {it: 8 kN tension}}
  at its stop: {valve: A, at stop: {it: extended}}
"""
    more: ClassVar[Mapping[str, str]] = {
        "a pair on one beam": """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  fork: {kind: tee, rating: 250 bar}
  join: {kind: tee, rating: 250 bar}
  it: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 500 mm, friction: 300 N, rating: 210 bar}
  other: {like: it}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  out: {route: valve.A > fork, hose: two-wire, size: -6, length: 1 m}
  to it: {route: fork > it.cap, hose: two-wire, size: -6, length: 0.3 m}
  to other: {route: fork > other.cap, hose: two-wire, size: -6, length: 2.5 m}
  from it: {route: it.rod > join, hose: two-wire, size: -6, length: 0.3 m}
  from other: {route: other.rod > join, hose: two-wire, size: -6, length: 2.5 m}
  back: {route: join > valve.B, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
ties:
  beam: {parts: [it, other], rigid: yes}
states:
  pushing: {valve: A, loads: {beam: 18 kN compression}}
  pushing cold: {valve: A, loads: {beam: 18 kN compression}, oil temperature: -5 °C}
""",
        "in series, rephasing": """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: cylinder, bore: 63 mm, rod: 35 mm, stroke: 400 mm, rephasing: extended, rating: 210 bar}
  second: {kind: cylinder, bore: 52.4 mm, rod: 30 mm, stroke: 400 mm, rephasing: extended, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  out: {route: valve.A > it.cap, hose: two-wire, size: -6, length: 1 m}
  between: {route: it.rod > second.cap, hose: two-wire, size: -6, length: 1 m}
  back: {route: second.rod > valve.B, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  both go out: {valve: A, loads: {it: 8 kN compression, second: 8 kN compression}}
  first one waits for the second: {valve: A, at stop: {it: extended}, loads: {second: 8 kN compression}}
""",
    }
    Params = CylinderParams

    def ports(self, params: CylinderParams) -> tuple[Port, ...]:
        return (
            Port("cap", "work", ("piston side",), doc="pressure here extends the rod"),
            Port("rod", "work", ("rod side",), doc="pressure here retracts the rod"),
        )

    def controls(self, params: CylinderParams) -> tuple[Control, ...]:
        return orders.ROD

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        cap, ring = params.areas()
        k = {b.node("cap"): cap}
        k[b.node("rod")] = k.get(b.node("rod"), 0.0) - ring
        low, high = orders.rod_limits(b.orders("stop"))
        for end in _PAST:
            if params.rephasing in (end, "both"):
                self._bypass(part, b, end)
        b.actuator("rod", k, force=np.array(b.orders("load"), float), friction=params.friction, lo=low, hi=high)

    def _bypass(self, part: Part, b: Builder, end: str) -> None:
        """The passage past the piston at one end: a check, and an opening that closes when the piston leaves the end.
        How much of a common load a tied one carries is open: there it does not close."""
        cap, ring = self.own(part).areas()
        driven, other, sign = (cap, ring, 1.0) if end == "extended" else (ring, cap, -1.0)
        start, stop = (b.node(port) for port in _PAST[end])
        middle = b.inner(f"past piston, {end}")
        elsewhere = np.array([at != end for at in b.orders("stop")])
        b.branch(f"past piston, {end}", start, middle, lo=0.0, shut=elsewhere)
        tied = any(part.name in tie.parts for tie in b.circuit.ties.values())
        needed = np.full(b.size, _ALWAYS) if tied else sign * np.array(b.orders("load"), float) / driven
        b.pilot(
            f"bypass, {end}", middle, stop, b=full(self.own(part).bypass_drop),
            z=weights((start, 1.0), (stop, -other / driven)), z0=needed, droop=_UNCOVERS,
        )  # fmt: skip

    def motions(self, part: Part, r: Results) -> Mapping[str, Motion]:
        params = self.own(part)
        cap, ring = params.areas()
        effort = cap * r.pressure(part.name, "cap") - ring * r.pressure(part.name, "rod")
        return {"rod": rod_motion(r.speed(part.name, "rod"), effort, params.friction, params.stroke)}

    def assumptions(self, part: Part) -> tuple[str, ...]:
        found = super().assumptions(part)
        if self.own(part).rephasing == "no":
            found = tuple(text for text in found if not text.startswith(f"{part.name}: bypass drop"))
        return found


def rod_motion(speed: Array, effort: Array, friction: float, stroke: float | None) -> Motion:
    """Speed below `AT_REST` is none; the stroke takes stroke / |speed|."""
    known = ~np.isnan(speed)
    moving = known & (np.abs(speed) > AT_REST)
    v = np.where(known, np.where(moving, speed, 0.0), np.nan)
    time = np.full(v.shape, np.nan)
    if stroke is not None:
        time[moving] = stroke / np.abs(v[moving])
    output = np.where(moving, effort * v - friction * np.abs(v), np.where(known, 0.0, np.nan))
    return Motion("rod", v, effort, time, output)


KIND = Cylinder()
