"""Hydraulic motor of fixed displacement."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import Displacement, Efficiency, Leakage, PositivePressure, PositiveShaftSpeed, RatingField, Torque
from ..network import Array
from . import orders
from .base import THICKER, Control, Kind, Motion, Parameters, Port, assumed, assumptions_of

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..results import Results

AT_REST = 1e-5
"""rad/s; a shaft slower than this stands."""
RPM = 0.10471975511965977
INF = float("inf")


class HydraulicMotorParams(Parameters):
    displacement: Displacement = Field(description="Oil per revolution.")
    leakage: Leakage | None = Field(
        None, description="Leakage flow at a pressure, as `0.5 L/min at 100 bar`; wins over the volumetric "
        "efficiency."
    )
    volumetric_efficiency: Efficiency = assumed(
        0.90, "Displacement times speed over flow, at `efficiency pressure` and `efficiency speed`."
    )
    efficiency_pressure: PositivePressure = assumed(
        140e5, "Pressure difference at which the volumetric efficiency holds; leakage grows in proportion to "
        "pressure."
    )
    efficiency_speed: PositiveShaftSpeed = assumed(300 * RPM, "Shaft speed at which the volumetric efficiency holds.")
    mechanical_efficiency: Efficiency = assumed(0.85, "Torque at the shaft over ideal torque.")
    idle_torque: Torque = Field(0.0, description="Torque that turns the motor without any load; left out: none.")
    case_drain: bool = Field(False, description="It has a drain port for its leakage; else leakage goes from "
    "port to port.")
    drain_rating: RatingField | None = Field(None, description="Rated pressure of the case, at the drain port.")

    def leak(self) -> float:
        """Leakage, m3/s per Pa."""
        if self.leakage is not None:
            return self.leakage
        through = self.displacement * self.efficiency_speed / self.volumetric_efficiency
        return through * (1.0 - self.volumetric_efficiency) / self.efficiency_pressure


class HydraulicMotor(Kind[HydraulicMotorParams]):
    name = "hydraulic motor"
    aliases = ("oil motor",)
    group = "actuators"
    symbol = "hydraulic motor"
    moves = "shaft"
    summary = "Motor of fixed displacement that turns both ways; oil from A to B is the positive sense."
    equations = """
- **Flow and torque**: `Q = D n + leakage`, `D (p_A - p_B) = load + losses`.
- **Leakage** grows in proportion to pressure, from `leakage` or so that the volumetric efficiency is met at
  `efficiency pressure` and `efficiency speed`; with a case drain all of it goes from either port to the drain.
- **Losses**: `(1 / mechanical efficiency - 1) × load torque + idle torque`, against the turning, so that a `resisting`
  load T needs `D dp = T / mechanical efficiency`.
- **A resisting load** acts like dry friction: against either sense, and holding at rest. A load that drives the shaft A
  to B (or B to A) is a torque in that sense whatever the shaft does.

Linear leakage, losses in proportion to the load: common practice, no source.""" + THICKER
    example = (
        "{kind: hydraulic motor, displacement: 160 cc/rev, volumetric efficiency: 90 %, efficiency pressure: "
        "120 bar, efficiency speed: 250 rpm, mechanical efficiency: 85 %, case drain: yes, drain rating: 5 "
        "bar, rating: 175 bar}"
    )
    demo = """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: hydraulic motor, displacement: 160 cc/rev, volumetric efficiency: 90 %, efficiency pressure: 120 bar,
       efficiency speed: 250 rpm, mechanical efficiency: 85 %, case drain: yes, drain rating: 5 bar, rating: 175 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  side a: {route: valve.A > it.A, hose: two-wire, size: -8, length: 1 m}
  side b: {route: valve.B > it.B, hose: two-wire, size: -8, length: 1 m}
  drain: {route: it.drain > tank, hose: one-wire, size: -4, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  turning: {valve: A, loads: {it: 150 N.m resisting}}
  stalled: {valve: A, loads: {it: 400 N.m resisting}}
"""
    more: ClassVar[Mapping[str, str]] = {
        "two in series, each with its drain": """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: hydraulic motor, displacement: 100 cc/rev, case drain: yes, drain rating: 5 bar, rating: 175 bar}
  second: {like: it}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  side a: {route: valve.A > it.A, hose: two-wire, size: -8, length: 1 m}
  between: {route: it.B > second.A, hose: two-wire, size: -8, length: 1 m}
  side b: {route: second.B > valve.B, hose: two-wire, size: -8, length: 1 m}
  drain: {route: it.drain > tank, hose: one-wire, size: -4, length: 1 m}
  second drain: {route: second.drain > tank, hose: one-wire, size: -4, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  both turn, pressures add up: {valve: A, loads: {it: 50 N.m resisting, second: 50 N.m resisting}}
  second one stands: {valve: A, loads: {it: 50 N.m resisting, second: 300 N.m resisting}}
""",
        "two in parallel": """
parts:
  $supply
  valve: {kind: directional valve, centre: open, rating: 250 bar}
  it: {kind: hydraulic motor, displacement: 100 cc/rev, case drain: yes, drain rating: 5 bar, rating: 175 bar}
  second: {like: it}
  fork: {kind: tee, rating: 250 bar}
  join: {kind: tee, rating: 250 bar}
lines:
  $feed
  to valve: {route: block.branch > valve.P, direct: yes}
  side a: {route: valve.A > fork, hose: two-wire, size: -8, length: 1 m}
  to first: {route: fork > it.A, hose: two-wire, size: -8, length: 0.5 m}
  to second: {route: fork > second.A, hose: two-wire, size: -8, length: 0.5 m}
  from first: {route: it.B > join, hose: two-wire, size: -8, length: 0.5 m}
  from second: {route: second.B > join, hose: two-wire, size: -8, length: 0.5 m}
  side b: {route: join > valve.B, hose: two-wire, size: -8, length: 1 m}
  drain: {route: it.drain > tank, hose: one-wire, size: -4, length: 1 m}
  second drain: {route: second.drain > tank, hose: one-wire, size: -4, length: 1 m}
  home: {route: valve.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  equal loads: {valve: A, loads: {it: 100 N.m resisting, second: 100 N.m resisting}}
  the lighter one takes the oil: {valve: A, loads: {it: 100 N.m resisting, second: 60 N.m resisting}}
""",
    }
    Params = HydraulicMotorParams

    def ports(self, params: HydraulicMotorParams) -> tuple[Port, ...]:
        work = (
            Port("A", "work", doc="oil in here and out of B: the positive sense"),
            Port("B", "work", doc="oil out here in the positive sense"),
        )
        drain = Port("drain", "drain", ("D", "case"), doc="leakage from the case")
        return (*work, drain) if params.case_drain else work

    def controls(self, params: HydraulicMotorParams) -> tuple[Control, ...]:
        return orders.SHAFT

    def port_ratings(self, params: HydraulicMotorParams) -> Mapping[str, Rating | None]:
        rated = {"A": params.rating, "B": params.rating}
        return {**rated, "drain": params.drain_rating} if params.case_drain else rated

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        A, B = b.node("A"), b.node("B")
        k = {A: params.displacement}
        k[B] = k.get(B, 0.0) - params.displacement
        held = np.array([stop == "held" for stop in b.orders("stop")])
        loads: list[orders.ShaftLoad] = b.orders("load")
        resisting = np.array([load.resisting for load in loads])
        b.actuator(
            "shaft",
            k,
            force=np.array([load.against for load in loads]),
            friction=resisting + self._losses(params, loads),
            lo=np.where(held, 0.0, -INF),
            hi=np.where(held, 0.0, INF),
        )
        if params.leak() > 0:
            resistance = 1.0 / params.leak()
            if params.case_drain:
                b.branch("leakage of A", A, b.node("drain"), a=resistance, leak=True)
                b.branch("leakage of B", B, b.node("drain"), a=resistance, leak=True)
            else:
                b.branch("leakage", A, B, a=resistance, leak=True)

    def _losses(self, params: HydraulicMotorParams, loads: list[Any]) -> Array:
        """Loss torque, N m, against the turning, (S,)."""
        size = np.array([load.resisting + abs(load.against) for load in loads])
        result: Array = (1.0 / params.mechanical_efficiency - 1.0) * size + params.idle_torque
        return result

    def motions(self, part: Part, r: Results) -> Mapping[str, Motion]:
        params = self.own(part)
        speed = r.speed(part.name, "shaft")
        torque = params.displacement * (r.pressure(part.name, "A") - r.pressure(part.name, "B"))
        losses = self._losses(params, r.orders(part.name, "load"))
        known = ~np.isnan(speed)
        turning = known & (np.abs(speed) > AT_REST)
        n = np.where(known, np.where(turning, speed, 0.0), np.nan)
        # While it turns its load and losses say what the oil gives, also where the pressures themselves are open.
        for shaft in (a for a in r.network.actuators if a.part == part.name):
            torque = np.where(np.isnan(torque) & turning, shaft.force + np.sign(n) * shaft.friction, torque)
        output = np.where(turning, torque * n - losses * np.abs(n), np.where(known, 0.0, np.nan))
        return {"shaft": Motion("shaft", n, torque, output=output)}

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        leak = ("volumetric efficiency", "efficiency pressure", "efficiency speed")
        dropped = leak if params.leakage is not None else leak[1:] if params.volumetric_efficiency == 1.0 else ()
        return tuple(
            text
            for text in assumptions_of(part.name, params)
            if not any(text.startswith(f"{part.name}: {key} ") for key in dropped)
        )


KIND = HydraulicMotor()
