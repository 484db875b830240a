"""Selector valve: a hand valve that leads oil one way or another, with 3, 4 or 6 ports."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import BeforeValidator, Field

from ..circuit import Part
from ..fields import DropAtFlow
from . import orders
from .base import Control, Kind, Parameters, Port, assumed
from .passages import SQUARE, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder

Ways = dict[str, tuple[tuple[str, str], ...]]
WAYS: dict[int, Ways] = {
    3: {"A": (("C", "A"),), "B": (("C", "B"),), "neutral": (("C", "A"), ("C", "B"))},
    4: {
        "A": (("P", "A"), ("B", "T")),
        "B": (("P", "B"), ("A", "T")),
        "neutral": (("P", "T"), ("A", "T"), ("B", "T")),
    },
    6: {
        "A": (("C1", "A1"), ("C2", "A2")),
        "B": (("C1", "B1"), ("C2", "B2")),
        "neutral": (("C1", "A1"), ("C1", "B1"), ("C2", "A2"), ("C2", "B2")),
    },
}
"""Number of ports -> position -> pairs that are joined; of an open neutral."""


class SelectorValveParams(Parameters):
    ports: Annotated[Literal[3, 4, 6], BeforeValidator(lambda raw: int(raw) if str(raw).isdigit() else raw)] = assumed(
        3, "3: C to A or B. 4: P to A and B to T, or crossed. 6: C1 and C2 to A1 and A2, or to B1 and B2."
    )
    neutral: Literal["none", "blocked", "open"] = assumed(
        "none", "Middle position: `none`, all ports `blocked`, or `open` (joined)."
    )
    drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop of each open path at a flow.")
    transition: Literal["", "open", "closed"] = Field(
        "", description="While the lever is between two positions its ports are joined (`open`) or blocked (`closed`), "
        "as its sheet says; for the rules, not in the equations."
    )


class SelectorValve(Kind[SelectorValveParams]):
    name = "selector valve"
    aliases = ("diverter valve",)
    group = "valves"
    symbol = "selector valve"
    summary = "Hand valve that leads oil one way or another: 3, 4 or 6 ports."
    equations = (
        f"Each path that its position opens, both senses: {SQUARE}. Open neutral: the paths of both positions are "
        "open (3 and 6 ports); P, A and B all to T (4 ports). It has no check: a load can push oil back. What is "
        "joined while the lever is between two positions is not shown. Common practice, no source."
    )
    example = "{kind: selector valve, ports: 6, neutral: blocked, drop: 2 bar at 40 L/min, rating: 210 bar}"
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: selector valve, ports: 6, neutral: blocked, drop: 2 bar at 40 L/min, rating: 210 bar}
  one: {kind: cylinder, bore: 50 mm, rod: 28 mm, stroke: 300 mm, rating: 210 bar}
  two: {kind: cylinder, bore: 63 mm, rod: 36 mm, stroke: 300 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  side a: {route: valve.A > it.C1, hose: two-wire, size: -6, length: 1 m}
  side b: {route: valve.B > it.C2, hose: two-wire, size: -6, length: 1 m}
  one a: {route: it.A1 > one.cap, hose: two-wire, size: -6, length: 1 m}
  one b: {route: it.A2 > one.rod, hose: two-wire, size: -6, length: 1 m}
  two a: {route: it.B1 > two.cap, hose: two-wire, size: -6, length: 1 m}
  two b: {route: it.B2 > two.rod, hose: two-wire, size: -6, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  first cylinder: {valve: A, it: A, loads: {one: 10 kN compression}}
  second cylinder: {valve: A, it: B, loads: {two: 10 kN compression}}
"""
    Params = SelectorValveParams

    def ports(self, params: SelectorValveParams) -> tuple[Port, ...]:
        if params.ports == 4:
            return (
                Port("P", "pressure", doc="from the pump"), Port("T", "return", doc="to the reservoir"),
                Port("A", "work", doc="work port A"), Port("B", "work", doc="work port B"),
            )  # fmt: skip
        names = dict.fromkeys(port for pairs in WAYS[params.ports].values() for pair in pairs for port in pair)
        docs = {"C": "common port", "A": "joined to it in position A", "B": "joined to it in position B"}
        return tuple(Port(name, "work", doc=f"{docs[name[0]]} {name[1:]}".strip()) for name in names)

    def controls(self, params: SelectorValveParams) -> tuple[Control, ...]:
        places = ("A", "B") if params.neutral == "none" else ("A", "B", "neutral")
        default = "A" if params.neutral == "none" else "neutral"
        said = ", ".join(f"`{place}`" for place in places)
        return (Control("position", orders.choice(places, "selector valve"), default, said, lever=True),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        ways = WAYS[params.ports]
        place = np.array(b.orders("position"))
        for pair in dict.fromkeys(pair for pairs in ways.values() for pair in pairs):
            at = [p for p in ways if pair in ways[p] and (p != "neutral" or params.neutral == "open")]
            if at:
                b.branch(
                    f"{pair[0]} to {pair[1]}", b.node(pair[0]), b.node(pair[1]),
                    b=full(params.drop), shut=~np.isin(place, at),
                )  # fmt: skip


KIND = SelectorValve()
