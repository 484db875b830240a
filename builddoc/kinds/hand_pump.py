"""Hand pump: strokes by hand, held by its own check valve in between."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import Area, Efficiency, Ratio, Volume
from ..network import Array
from . import orders
from .base import BY_HAND, Control, Kind, Parameters, Port, ShaftDemand, assumed

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results

_STROKES = re.compile(r"^(?P<number>[0-9]+(?:\.[0-9]+)?)[ ]*(?:strokes)?[ ]*/[ ]*min$")


def strokes(raw: Any) -> float:
    """`30 strokes/min` -> strokes per second; `rests` -> 0."""
    text = orders.words(raw, "strokes").lower()
    if text in ("rests", "0"):
        return 0.0
    match = _STROKES.match(text)
    if not match:
        raise ValueError(f"'{text}' is no number of strokes: write it as 30 strokes/min, or rests")
    return float(match["number"]) / 60.0


def strokes_words(per_second: float) -> str:
    return f"{per_second * 60:.3g} strokes/min" if per_second else "rests"


class HandPumpParams(Parameters):
    stroke_volume: Volume = Field(description="Oil per double stroke of the lever, as `25 cc`.")
    volumetric_efficiency: Efficiency = assumed(0.90, "Delivered over swept oil.")
    piston: Area | None = Field(None, description="Area of its piston, as `3 cm2`; for the force on the lever.")
    lever_ratio: Ratio | None = Field(None, description="Force on the piston over force of the hand, as `15:1`.")


class HandPump(Kind[HandPumpParams]):
    name = "hand pump"
    aliases = ()
    group = "energy"
    symbol = "hand pump"
    summary = "Pump worked by a lever; a check valve holds the pressure between strokes."
    equations = (
        "Flow, the mean over the strokes: `stroke volume × strokes per minute × volumetric efficiency`; its outlet "
        "check lets nothing back. Force of the hand: `p × piston / lever ratio` (friction left out). It has no relief "
        "of its own. Elementary relations; the check is ideal."
    )
    example = "{kind: hand pump, stroke volume: 25 cc, piston: 3 cm2, lever ratio: 15:1, rating: 250 bar}"
    demo = """
parts:
  tank: {kind: reservoir, volume: 3 L}
  it: {kind: hand pump, stroke volume: 25 cc, piston: 3 cm2, lever ratio: 15:1, rating: 250 bar}
  fork: {kind: tee, rating: 250 bar}
  relief: {kind: relief valve, setting: 200 bar, override: 3 bar at 40 L/min, rating: 250 bar}
  ram: {kind: single-acting cylinder, bore: 50 mm, stroke: 150 mm, rating: 250 bar}
lines:
  suction: {route: tank > it.inlet, direct: yes}
  out: {route: it.outlet > fork.run a, direct: yes}
  seat: {route: fork.branch > relief.inlet, direct: yes}
  over: {route: relief.outlet > tank, direct: yes}
  to ram: {route: fork.run b > ram.cap, hose: two-wire, size: -4, length: 1 m}
states:
  pumping: {it: 30 strokes/min, loads: {ram: 20 kN compression}}
  holding: {it: rests, loads: {ram: 20 kN compression}}
"""
    Params = HandPumpParams

    def ports(self, params: HandPumpParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "suction", ("suction", "S"), doc="from the reservoir"),
            Port("outlet", "pressure", ("pressure", "P"), doc="delivery"),
        )

    def controls(self, params: HandPumpParams) -> tuple[Control, ...]:
        doc = "strokes of the lever, as `30 strokes/min`; `rests`"
        return (Control("position", strokes, 0.0, doc, said=strokes_words),)

    def port_ratings(self, params: HandPumpParams) -> Mapping[str, Rating | None]:
        return {"outlet": params.rating}

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        flow = params.stroke_volume * params.volumetric_efficiency * np.array(b.orders("position"), dtype=float)
        b.source("outlet", b.node("outlet"), flow)
        b.source("inlet", b.node("inlet"), -flow)

    def hand_force(self, part: Part, r: Results) -> Array | None:
        """N on the lever while it is pumped, per state (S,), 0 where it rests; None where it cannot be worked out."""
        params = self.own(part)
        if params.piston is None or params.lever_ratio is None:
            return None
        pumped = np.array(r.orders(part.name, "position"), dtype=float) > 0
        force = np.maximum(r.pressure(part.name, "outlet"), 0.0) * params.piston / params.lever_ratio
        return np.where(pumped, force, np.where(r.solved, 0.0, np.nan))

    def shaft_demand(self, part: Part, r: Results) -> ShaftDemand:
        """By hand: the power that goes into the oil, no torque."""
        params = self.own(part)
        rise = np.maximum(r.pressure(part.name, "outlet") - r.pressure(part.name, "inlet"), 0.0)
        power = rise * r.source_flow(part.name) / params.volumetric_efficiency
        return ShaftDemand(np.where(np.isnan(power), 0.0, power), np.zeros(r.size), BY_HAND)


KIND = HandPump()
