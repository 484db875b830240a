"""One half of a quick coupler: which half it is joined with is said by the hook-ups."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow
from .base import PRACTICE, Kind, Parameters, Port, assumed
from .passages import SQUARE, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder

OPEN_END = "open end"


class CouplerHalfParams(Parameters):
    drop: DropAtFlow = assumed(
        at_40(1.0), "Pressure drop of the joined pair at a flow; of two halves that differ the greater one counts.",
        f"one selection guide aims at less than 1 bar at the continuous flow of the size; {PRACTICE}",
    )  # fmt: skip
    valved: bool = Field(True, description="It shuts when it is apart; `no`: it stays open, and oil runs out.")


class CouplerHalf(Kind[CouplerHalfParams]):
    name = "coupler half"
    aliases = ("quick coupler half",)
    group = "lines"
    symbol = "coupler half"
    summary = "One half of a quick coupler at the end of a line; `hook-ups` say which half it is joined with."
    equations = (
        f"Joined: {SQUARE} between the two lines, either way. In no pair: shut if it is `valved`; else open to the air "
        "with the same law, both ways (what it draws is air). Square law: common practice, no source."
    )
    example = "{kind: coupler half, valved: yes, drop: 1.5 bar at 45 L/min, rating: 250 bar}"
    demo = """
parts:
  $supply
  it: {kind: coupler half, valved: yes, drop: 1.5 bar at 45 L/min, rating: 250 bar}
  return half: {kind: coupler half, valved: yes, drop: 1.5 bar at 45 L/min, rating: 250 bar}
  tool feed: {kind: coupler half, valved: yes, rating: 250 bar}
  tool return: {kind: coupler half, valved: yes, rating: 250 bar}
  tool: {kind: orifice, drop: 60 bar at 18 L/min, rating: 210 bar}
lines:
  $feed
  out: {route: block.branch > it, hose: two-wire, size: -8, length: 1 m}
  tool in: {route: tool feed > tool.A, hose: two-wire, size: -8, length: 0.5 m}
  tool out: {route: tool.B > tool return, hose: two-wire, size: -8, length: 0.5 m}
  home: {route: return half > tank, hose: one-wire, size: -8, length: 1 m}
hook-ups:
  tool on: {it: tool feed, return half: tool return}
  looped: {it: return half}
  parked: {}
states:
  tool on: {hook-up: tool on}
  looped: {hook-up: looped}
  parked: {hook-up: parked}
"""
    Params = CouplerHalfParams

    def ports(self, params: CouplerHalfParams) -> tuple[Port, ...]:
        return (Port("line", "work", doc="its own line"),)

    def coupling(self, params: CouplerHalfParams) -> float:
        return full(params.drop)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        if not params.valved:
            joined = np.array([state.mate(part.name) != "" for state in b.circuit.states.values()])
            b.branch(OPEN_END, b.node("line"), b.reservoir, b=full(params.drop), shut=joined)


KIND = CouplerHalf()
