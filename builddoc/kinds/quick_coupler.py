"""Quick coupler: two halves, joined or apart, each with a valve that shuts it or without."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, PositivePressure
from . import orders
from .base import PRACTICE, Control, Fault, Kind, Parameters, Port, assumed
from .passages import SQUARE, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class QuickCouplerParams(Parameters):
    drop: DropAtFlow = assumed(
        at_40(1.0), "Pressure drop of the joined pair at a flow.",
        f"one selection guide aims at less than 1 bar at the continuous flow of the size; {PRACTICE}",
    )  # fmt: skip
    valves: Literal["both", "none", "A", "B"] = Field(
        "both", description="Which halves shut when apart: `both`, `none`, or only half `A` or `B`."
    )
    joins_at: PositivePressure | None = Field(
        None, description="Pressure under which its maker allows it to be joined or parted; left out: none."
    )
    normally: Literal["joined", "open"] = Field("joined", description="What it is in states that do not say.")


def open_halves(params: QuickCouplerParams) -> tuple[str, ...]:
    """The halves without a valve."""
    return tuple(half for half in ("A", "B") if params.valves not in ("both", half))


class QuickCoupler(Kind[QuickCouplerParams]):
    name = "quick coupler"
    aliases = ("quick coupling", "coupler")
    group = "lines"
    symbol = "quick coupler"
    summary = "Pair of quick-coupler halves; when they are pulled apart those with a valve shut, the others spill."
    equations = (
        f"Joined: {SQUARE}, either way. Open (apart): no flow through it; a half with a valve is shut, one without "
        "stands open to the air: its oil runs out, `dp = drop × (Q / flow)^2` of its share of the pair (half). "
        "Square law and half: common practice, no source."
    )
    example = "{kind: quick coupler, drop: 1.5 bar at 45 L/min, rating: 250 bar}"
    demo = """
parts:
  $supply
  it: {kind: quick coupler, drop: 1.5 bar at 45 L/min, rating: 250 bar}
lines:
  $feed
  to coupler: {route: block.branch > it.A, hose: two-wire, size: -8, length: 1 m}
  home: {route: it.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  joined: {}
  apart: {it: open}
"""
    Params = QuickCouplerParams

    def ports(self, params: QuickCouplerParams) -> tuple[Port, ...]:
        return (
            Port("A", "work", ("socket",), doc="one half", alike=True),
            Port("B", "work", ("plug",), doc="the other half", alike=True),
        )

    def halves(self, params: QuickCouplerParams) -> tuple[str, str] | None:
        return ("A", "B") if params.valves == "both" else None

    def controls(self, params: QuickCouplerParams) -> tuple[Control, ...]:
        return (
            Control(
                "position", orders.coupling, params.normally == "joined", "`joined` or `open` (apart)",
                faults=(Fault("open (apart)", False, "open couplers"),),
            ),
        )  # fmt: skip

    def expand(self, part: Part, b: Builder) -> None:
        apart = ~np.array(b.orders("position"), dtype=bool)
        params = self.own(part)
        b.branch("passage", b.node("A"), b.node("B"), b=full(params.drop), shut=apart)
        for half in open_halves(params):
            b.branch(f"spill {half}", b.node(half), b.reservoir, b=full(params.drop) / 2, lo=0.0, shut=~apart)


KIND = QuickCoupler()
