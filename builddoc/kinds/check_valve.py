"""Check valve: one way only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..circuit import Part
from ..fields import DropAtFlow, PressureDrop
from .base import Kind, Parameters, Port, assumed
from .passages import at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder


class CheckValveParams(Parameters):
    cracking: PressureDrop = assumed(0.5e5, "Pressure difference at which it opens.")
    drop: DropAtFlow = assumed(at_40(1.0), "Pressure drop of the open valve at a flow, beyond the cracking pressure.")


class CheckValve(Kind[CheckValveParams]):
    name = "check valve"
    aliases = ("non-return valve",)
    group = "valves"
    symbol = "check valve"
    summary = "Lets oil through from inlet to outlet only."
    equations = (
        "`p_inlet - p_outlet = cracking + drop x (Q / flow)^2`, Q never negative; shut below the cracking pressure. "
        "Common practice, no source."
    )
    example = "{kind: check valve, cracking: 0.5 bar, drop: 1 bar at 40 L/min, rating: 280 bar}"
    Params = CheckValveParams

    def ports(self, params: CheckValveParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "work", ("in",), doc="oil enters here"),
            Port("outlet", "work", ("out",), doc="oil leaves here, and cannot come back"),
        )

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        b.branch("passage", b.node("inlet"), b.node("outlet"), c0=params.cracking, b=full(params.drop), lo=0.0)


KIND = CheckValve()
