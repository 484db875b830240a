"""Gauge or test point: shows a pressure, lets nothing through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..circuit import Part
from ..fields import PositivePressure
from .base import Kind, Parameters, Port

if TYPE_CHECKING:
    from ..assemble import Builder


class GaugePointParams(Parameters):
    range: PositivePressure | None = Field(None, description="Top of its scale, as `250 bar`.")


class GaugePoint(Kind[GaugePointParams]):
    name = "gauge point"
    aliases = ("gauge", "test point")
    group = "measuring"
    symbol = "gauge"
    summary = "Gauge or test point: the page prints what it should read."
    equations = "No flow; it sees the pressure of its port."
    example = "{kind: gauge point, rating: 250 bar}"
    demo = """
parts:
  $supply
  it: {kind: gauge point, rating: 250 bar}
  valve: {kind: shut-off valve, rating: 350 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.A, hose: two-wire, size: -6, length: 1 m}
  gauge hose: {route: to valve at 0.5 m > it, hose: two-wire, size: -4, length: 0.3 m}
  home: {route: valve.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  open: {}
  shut: {valve: shut}
"""
    Params = GaugePointParams

    def ports(self, params: GaugePointParams) -> tuple[Port, ...]:
        return (Port("port", "gauge", doc="the pressure it shows"),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: nothing flows through it."""


KIND = GaugePoint()
