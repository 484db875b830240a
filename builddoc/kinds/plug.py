"""Plug or cap: closes a line or a port."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..circuit import Part
from .base import Kind, Parameters, Port

if TYPE_CHECKING:
    from ..assemble import Builder


class PlugParams(Parameters):
    pass


class Plug(Kind[PlugParams]):
    name = "plug"
    aliases = ("cap",)
    group = "lines"
    symbol = "plug"
    summary = "Plug or cap with a rating of its own; a port that is just closed goes under `plugged` instead."
    equations = "No flow."
    example = "{kind: plug, rating: 350 bar}"
    demo = """
parts:
  $supply
  it: {kind: plug, rating: 350 bar}
lines:
  $feed
  to plug: {route: block.branch > it, direct: yes}
states:
  over the relief: {}
"""
    Params = PlugParams

    def ports(self, params: PlugParams) -> tuple[Port, ...]:
        return (Port("port", "work", doc="the end it closes"),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: nothing flows through it."""


KIND = Plug()
