"""Quick coupler: two valved halves, joined or apart."""

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
    joins_at: PositivePressure | None = Field(
        None, description="Pressure under which its maker allows it to be joined or parted; left out: none."
    )
    normally: Literal["joined", "open"] = Field("joined", description="What it is in states that do not say.")


class QuickCoupler(Kind[QuickCouplerParams]):
    name = "quick coupler"
    aliases = ("quick coupling", "coupler")
    group = "lines"
    symbol = "quick coupler"
    summary = "Pair of quick-coupler halves that both shut when they are pulled apart."
    equations = (
        f"Joined: {SQUARE}, either way. Open (apart): no flow, both halves shut. "
        "Square law: common practice, no source."
    )
    example = "{kind: quick coupler, drop: 1.5 bar at 45 L/min, rating: 250 bar}"
    Params = QuickCouplerParams

    def ports(self, params: QuickCouplerParams) -> tuple[Port, ...]:
        return (
            Port("A", "work", ("socket",), doc="one half", alike=True),
            Port("B", "work", ("plug",), doc="the other half", alike=True),
        )

    def controls(self, params: QuickCouplerParams) -> tuple[Control, ...]:
        return (
            Control(
                "position", orders.coupling, params.normally == "joined", "`joined` or `open` (apart)",
                faults=(Fault("open (apart)", False),),
            ),
        )  # fmt: skip

    def expand(self, part: Part, b: Builder) -> None:
        apart = ~np.array(b.orders("position"), dtype=bool)
        b.branch("passage", b.node("A"), b.node("B"), b=full(self.own(part).drop), shut=apart)


KIND = QuickCoupler()
