"""Manifold block: a gallery with as many ports as are drilled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part
from .base import Kind, Parameters, Port

if TYPE_CHECKING:
    from ..assemble import Builder


class ManifoldBlockParams(Parameters):
    ports: list[str] = Field(description="Names of the drilled ports, two or more, as `[feed, left, right, gauge]`.")

    @model_validator(mode="after")
    def _names_fit(self) -> ManifoldBlockParams:
        names = [" ".join(name.lower().split()) for name in self.ports]
        if len(names) < 2:
            text, hint = "a block needs two ports or more", "name every drilled port"
        elif len(set(names)) < len(names) or not all(names):
            text, hint = "two ports of the block have one name", "every port needs its own"
        elif any(mark in name for name in names for mark in (".", ">")):
            text, hint = "a port's name may not hold '.' or '>'", "use other signs"
        else:
            return self
        raise PydanticCustomError("value-wrong", "{text}", {"text": text, "hint": hint})


class ManifoldBlock(Kind[ManifoldBlockParams]):
    name = "manifold block"
    aliases = ("manifold", "gallery")
    group = "lines"
    symbol = "manifold block"
    summary = "Block with one gallery: all its ports stand at one pressure. Two galleries are two blocks."
    equations = (
        "All ports at one pressure; the flows add up to nothing. Losses of the drillings are left out: where they "
        "matter, put them among the `fittings` of the lines."
    )
    example = "{kind: manifold block, ports: [feed, left, right, gauge], rating: 250 bar}"
    demo = """
parts:
  $supply
  it: {kind: manifold block, ports: [feed, left, right, gauge], rating: 250 bar}
  left: {kind: orifice, drop: 40 bar at 10 L/min, rating: 210 bar}
  right: {kind: orifice, drop: 40 bar at 10 L/min, rating: 210 bar}
  gauge: {kind: gauge point, rating: 250 bar}
lines:
  $feed
  to block: {route: block.branch > it.feed, hose: two-wire, size: -6, length: 1 m}
  to left: {route: it.left > left.A, hose: two-wire, size: -6, length: 1 m}
  to right: {route: it.right > right.A, hose: two-wire, size: -6, length: 1 m}
  to gauge: {route: it.gauge > gauge, direct: yes}
  home a: {route: left.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: right.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  running: {}
"""
    Params = ManifoldBlockParams

    def ports(self, params: ManifoldBlockParams) -> tuple[Port, ...]:
        return tuple(Port(name, "work", alike=True, doc="a port of the gallery") for name in params.ports)

    def joined(self, params: ManifoldBlockParams) -> tuple[tuple[str, ...], ...]:
        return (tuple(params.ports),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: its ports are one node."""


KIND = ManifoldBlock()
