"""Tee: three or four ports that are one node."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import Field

from ..circuit import Part
from .base import Kind, Parameters, Port

if TYPE_CHECKING:
    from ..assemble import Builder


class TeeParams(Parameters):
    ports: Literal["3", "4"] = Field("3", description="Number of ports: 3, or 4 for a cross or a block.")


class Tee(Kind[TeeParams]):
    name = "tee"
    aliases = ("cross", "block")
    group = "lines"
    symbol = "tee"
    summary = "Joint of three or four lines; where it sits in a line, `fittings` of that line hold it instead."
    equations = (
        "All ports at one pressure; the flows add up to nothing. Its loss is left out: where it matters, name "
        "the tee among the `fittings` of the line."
    )
    example = "{kind: tee, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: tee, rating: 210 bar}
  left: {kind: orifice, drop: 40 bar at 10 L/min, rating: 210 bar}
  right: {kind: orifice, drop: 40 bar at 10 L/min, rating: 210 bar}
lines:
  $feed
  to tee: {route: block.branch > it.run a, hose: two-wire, size: -6, length: 1 m}
  near: {route: it.run b > left.A, hose: two-wire, size: -6, length: 0.3 m}
  far: {route: it.branch > right.A, hose: two-wire, size: -6, length: 3 m}
  home a: {route: left.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: right.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  warm: {}
  cold: {oil temperature: -10 °C}
"""
    Params = TeeParams

    def ports(self, params: TeeParams) -> tuple[Port, ...]:
        names = ("run a", "run b", "branch", "branch b")[: int(params.ports)]
        return tuple(Port(name, "work", alike=True, doc="one of the joined ends") for name in names)

    def joined(self, params: TeeParams) -> tuple[tuple[str, ...], ...]:
        return (tuple(port.name for port in self.ports(params)),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: its ports are one node."""


KIND = Tee()
