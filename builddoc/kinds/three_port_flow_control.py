"""Three-port flow control: holds an adjustable flow to the regulated port and sends the rest to the excess port."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..circuit import Part
from . import compensating, orders
from .base import Control, Kind, Parameters, Port

if TYPE_CHECKING:
    from ..assemble import Builder


class ThreePortParams(Parameters, compensating.Metering):
    pass


class ThreePortFlowControl(Kind[ThreePortParams]):
    name = "three-port flow control"
    aliases = ("bypass flow control", "adjustable priority flow control")
    group = "valves"
    symbol = "three-port flow control"
    summary = "Holds an adjustable flow to the regulated port, compensated; the rest leaves by the excess port."
    equations = (
        "Regulated port = controlled port below; the state orders a share of `set flow`. The pump works at the "
        "regulated port's pressure plus the metering drop, or at the excess port's if that is higher. "
        + compensating.LAW
    )
    example = (
        "{kind: three-port flow control, set flow: 30 L/min, metering drop: 6 bar, excess drop: 2 bar at 40 L/min, "
        "rating: 210 bar}"
    )
    demo = """
parts:
  $supply
  it: {kind: three-port flow control, set flow: 10 L/min, metering drop: 6 bar, excess drop: 2 bar at 40 L/min,
       rating: 210 bar}
  motor: {kind: hydraulic motor, displacement: 50 cc/rev, rating: 175 bar}
lines:
  $feed
  to control: {route: block.branch > it.inlet, direct: yes}
  to motor: {route: it.regulated > motor.A, hose: two-wire, size: -6, length: 1 m}
  home: {route: motor.B > tank, hose: one-wire, size: -8, length: 1 m}
  excess: {route: it.excess > tank, hose: one-wire, size: -8, length: 1 m}
states:
  light load: {loads: {motor: 10 N.m resisting}}
  heavy load: {loads: {motor: 60 N.m resisting}}
  slower: {it: 40 %, loads: {motor: 60 N.m resisting}}
"""
    Params = ThreePortParams

    def ports(self, params: ThreePortParams) -> tuple[Port, ...]:
        return (
            Port("inlet", "pressure", ("P",), doc="from the pump"),
            Port("regulated", "pressure", ("CF",), doc="gets its flow first"),
            Port("excess", "pressure", ("EF",), doc="gets the rest"),
        )

    def controls(self, params: ThreePortParams) -> tuple[Control, ...]:
        return (Control("position", orders.setting, orders.OPEN, "share of the set flow, as `40 %`; `open` = all"),)

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        flow = params.set_flow * np.array(b.orders("position"), dtype=float)
        compensating.meter(
            b, b.node("inlet"), b.node("regulated"), b.node("excess"), flow, params.metering_drop, params.excess_drop
        )


KIND = ThreePortFlowControl()
