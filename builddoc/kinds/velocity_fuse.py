"""Velocity fuse: shuts when oil leaves the load faster than its trip flow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import Field

from ..circuit import Part
from ..fields import DropAtFlow, Flow
from ..network import Bools
from . import orders
from .base import Control, Kind, Parameters, Port, assumed
from .passages import SQUARE, at_40, full

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results


class VelocityFuseParams(Parameters):
    trip_flow: Flow = Field(description="Flow from load to V above which it shuts.")
    drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop of the open valve at a flow.")


class VelocityFuse(Kind[VelocityFuseParams]):
    name = "velocity fuse"
    aliases = ("hose burst valve", "hose rupture valve")
    group = "valves"
    symbol = "velocity fuse"
    summary = "Open until oil leaves the load faster than its trip flow, then shut until oil is fed back."
    equations = (
        f"Open: {SQUARE}, both senses. Tripped: nothing from load to V; V to load as when open. Whether it has tripped "
        "depends on what went before, so that a state has to say it (`tripped`); it is not worked out but "
        "in faults that are tried. A state in which it is open and passes more than `trip flow` is reported: there it "
        "would shut. What the load gathers "
        "until it does is not shown. Common practice, no source."
    )
    example = "{kind: velocity fuse, trip flow: 40 L/min, drop: 3 bar at 40 L/min, rating: 250 bar}"
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: velocity fuse, trip flow: 40 L/min, drop: 3 bar at 40 L/min, rating: 250 bar}
  ram: {kind: single-acting cylinder, bore: 63 mm, stroke: 400 mm, rating: 210 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  lift: {route: valve.A > it.V, hose: two-wire, size: -6, length: 1 m}
  to ram: {route: it.load > ram.cap, direct: yes}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
plugged: [valve.B]
states:
  raising: {valve: A, loads: {ram: 20 kN compression}}
  hose lost, before it trips: {valve: B, loads: {ram: 20 kN compression}}
  tripped: {valve: B, it: tripped, stopped: [ram], loads: {ram: 20 kN compression}}
"""
    Params = VelocityFuseParams

    def ports(self, params: VelocityFuseParams) -> tuple[Port, ...]:
        return (
            Port("V", "work", ("valve",), doc="to the directional valve"),
            Port("load", "work", ("C",), doc="at the cylinder's port itself"),
        )

    def controls(self, params: VelocityFuseParams) -> tuple[Control, ...]:
        read = orders.choice(("open", "tripped"), "velocity fuse")
        return (Control("position", read, "open", "`open` or `tripped`"),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        tripped = np.array(b.orders("position")) == "tripped"
        lo = np.where(tripped, 0.0, -np.inf)
        b.branch("passage", b.node("V"), b.node("load"), b=full(params.drop), lo=lo)

    def trips(self, part: Part, r: Results) -> tuple[Bools, Mapping[str, Any]]:
        out = np.nan_to_num(-r.flow(part.name, "passage"), nan=0.0)
        return r.solved & (out > self.own(part).trip_flow), {"position": "tripped"}


KIND = VelocityFuse()
