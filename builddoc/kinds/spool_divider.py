"""Spool-type flow divider and divider/combiner: metering orifices and a spool that keeps two flows in proportion."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from ..circuit import Part
from ..fields import DropAtFlow, Flow, Length, PositivePressure, Share
from .base import Kind, Parameters, Port, assumed, square_law
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder


class SpoolDividerParams(Parameters):
    share_of_A: Share = Field(0.5, description="Share of the flow that goes to A; the rest goes to B.")
    metering_drop: DropAtFlow = assumed(
        at_40(7.0), "Pressure drop of the metering orifices at a flow of both together. Well below that flow it "
        "divides badly."
    )  # fmt: skip
    drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of each side of the spool, fully open, at a flow.")
    droop: PositivePressure = Field(
        100.0, description="Difference of the metered pressures that moves the spool from one end to the other."
    )
    combines: bool = Field(
        False, description="`yes`: a divider/combiner, which also keeps what returns through A and B in proportion."
    )
    accuracy: Share = assumed(0.10, "How far a share may be off; for the rules, not in the equations.")
    allowed_difference: Length | None = Field(
        None, description="How far what it keeps level may be apart after a stroke; for the rules."
    )
    lowest_flow: Flow | None = Field(
        None, description="Least flow at its inlet at which its maker says that it divides; for the rules."
    )
    highest_flow: Flow | None = Field(None, description="Greatest flow at its inlet that its maker allows; likewise.")

    @field_validator("share_of_A")
    @classmethod
    def _between(cls, value: float) -> float:
        if not 0.05 <= value <= 0.95:
            raise PydanticCustomError(
                "choice", "{text}", {"text": "a share between 5 % and 95 % is expected", "hint": "as 50 %"}
            )
        return value


class SpoolDivider(Kind[SpoolDividerParams]):
    name = "spool divider"
    aliases = ("spool-type flow divider", "divider/combiner")
    group = "valves"
    symbol = "spool divider"
    summary = "Divides a flow in a fixed ratio by throttling the side with the lighter load; it raises no pressure."
    equations = """
- **Inlet to each metered point**: `dp = metering drop × (Q_i / (share_i flow))^2`.
- **From there to its outlet**: `Q = x_i U(dp)`, `dp = drop × (U / flow)^2`; the opening x_i of a side falls from 1 to 0
  as its metered pressure falls below that of the other by `droop`: so the side that takes too much is throttled. What
  is throttled off becomes heat.
- **Returning oil**, with `combines`: the same through passages of their own, the opening of a side falling as its
  metered pressure rises above that of the other. Without it returning oil pushes the spool the wrong way: the side
  that returns less is shut, so that check valves have to lead it past.
- **Where one side stops** the other stops too (it has no leakage here), and well below the flow of `metering drop` a
  real one hardly keeps the shares.

Common practice, no source.
"""
    example = "{kind: spool divider, share of A: 50 %, metering drop: 5 bar at 30 L/min, rating: 210 bar}"
    demo = """
parts:
  $supply
  it: {kind: spool divider, share of A: 50 %, metering drop: 5 bar at 18 L/min, rating: 210 bar}
  left: {kind: hydraulic motor, displacement: 100 cc/rev, rating: 175 bar}
  right: {kind: hydraulic motor, displacement: 100 cc/rev, rating: 175 bar}
lines:
  $feed
  to divider: {route: block.branch > it.inlet, direct: yes}
  to left: {route: it.A > left.A, hose: two-wire, size: -6, length: 1 m}
  to right: {route: it.B > right.A, hose: two-wire, size: -6, length: 1 m}
  home a: {route: left.B > tank, hose: one-wire, size: -8, length: 1 m}
  home b: {route: right.B > tank, hose: one-wire, size: -8, length: 1 m}
states:
  unequal loads: {loads: {left: 100 N.m resisting, right: 30 N.m resisting}}
"""
    Params = SpoolDividerParams

    def ports(self, params: SpoolDividerParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="from the pump"),
            Port("A", "work", doc="first share"),
            Port("B", "work", doc="the rest"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        share = {"A": params.share_of_A, "B": 1.0 - params.share_of_A}
        modes = ((1.0, "", 0.0), (-1.0, "returning ", 0.0)) if params.combines else ((1.0, "", -np.inf),)
        for sense, word, least in modes:
            metered = {side: b.inner(f"{word}metered {side}") for side in "AB"}
            for side, other in (("A", "B"), ("B", "A")):
                flow, here, port = share[side] * params.metering_drop.at, metered[side], b.node(side)
                orifice = (b.node("inlet"), here) if sense > 0 else (here, b.node("inlet"))
                loss = square_law(params.metering_drop.value, flow)
                b.branch(f"{word}metering {side}", *orifice, b=loss, lo=least)
                b.pilot(
                    f"{word}throttle {side}", *((here, port) if sense > 0 else (port, here)), b=full(params.drop),
                    z=weights((here, sense), (metered[other], -sense)), z0=-params.droop, droop=params.droop,
                )  # fmt: skip


KIND = SpoolDivider()
