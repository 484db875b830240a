"""Shut-off valve."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow
from . import orders
from .base import Control, Kind, Parameters, Port, assumed
from .passages import SQUARE, at_40, shut, throttled

if TYPE_CHECKING:
    from ..assemble import Builder


class ShutOffValveParams(Parameters):
    drop: DropAtFlow = assumed(at_40(0.3), "Pressure drop fully open at a flow.")
    locked: bool = Field(False, description="Its handle is locked or taken off, so nobody turns it in passing.")
    normally: Literal["open", "shut"] = Field("open", description="What it is in states that do not say.")


class ShutOffValve(Kind[ShutOffValveParams]):
    name = "shut-off valve"
    aliases = ("shutoff valve", "ball valve", "gate valve")
    group = "valves"
    symbol = "shut-off valve"
    summary = "Hand valve in a line: open, shut or in between."
    equations = f"{SQUARE}, divided by the square of the opening; shut: no flow. Common practice, no source."
    example = "{kind: shut-off valve, drop: 0.2 bar at 40 L/min, normally: open, rating: 350 bar}"
    demo = """
parts:
  $supply
  it: {kind: shut-off valve, drop: 0.2 bar at 40 L/min, normally: open, rating: 350 bar}
lines:
  $feed
  to valve: {route: block.branch > it.A, hose: two-wire, size: -8, length: 1 m}
  home: {route: it.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  open: {}
  half shut: {it: 40 %}
  shut: {it: shut}
"""
    Params = ShutOffValveParams

    def ports(self, params: ShutOffValveParams) -> tuple[Port, ...]:
        return (Port("A", "work", doc="either end", alike=True), Port("B", "work", doc="either end", alike=True))

    def controls(self, params: ShutOffValveParams) -> tuple[Control, ...]:
        usual = orders.OPEN if params.normally == "open" else orders.SHUT
        return (Control("position", orders.opening, usual, "`open`, `shut` or how far it is open, as `40 %`"),)

    def expand(self, part: Part, b: Builder) -> None:
        x = np.array(b.orders("position"), dtype=float)
        b.branch("passage", b.node("A"), b.node("B"), b=throttled(self.own(part).drop, x), shut=shut(x))


KIND = ShutOffValve()
