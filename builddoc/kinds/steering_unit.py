"""Orbital steering unit: meters oil to the left or right in proportion to the turning of the wheel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import Displacement, DropAtFlow, Efficiency, PositivePressure, PressureDrop, RatingField
from ..network import Array, Bools
from . import limiting, orders
from .base import Control, Kind, Parameters, Port, Relief, assumed, assumptions_of
from .compensating import BAND
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder

STILL = 0.01
"""rad/s (0.1 rpm); a wheel that turns slower than this stands."""
ALWAYS_OPEN = -1e12
"""Pa; balance of the centre passage while the wheel stands."""


class SteeringUnitParams(Parameters):
    displacement: Displacement = Field(description="Oil to the cylinder for one turn of the wheel.")
    centre: Literal["open", "closed"] = Field(
        description="Way of the oil from P while the wheel stands: `open` = through the unit to T, `closed` = blocked."
    )
    power_beyond: bool = Field(False, description="What it does not need goes on to a port PB instead of T.")
    load_reaction: bool = Field(
        False, description="L and R stay joined to the metering set while the wheel stands: forces on the wheels turn "
        "the steering wheel. With it a state may say `let go`."
    )
    volumetric_efficiency: Efficiency = assumed(0.95, "Oil that reaches the cylinder over displacement times turns.")
    metering_drop: PositivePressure = assumed(8e5, "Pressure drop from P to the cylinder port at the metered flow.")
    return_drop: DropAtFlow = assumed(at_40(8.0), "Pressure drop from the other cylinder port to T at a flow.")
    centre_drop: DropAtFlow = assumed(at_40(6.0), "Pressure drop of the open centre at a flow.")
    relief: limiting.ReliefField | None = Field(None, description="Built-in relief from P to T.")
    port_reliefs: limiting.ReliefField | None = Field(
        None, description="Shock reliefs of L and R to T, both with this setting."
    )
    make_up: bool = Field(False, description="A check from T to L and to R lets oil follow (anti-cavitation).")
    cracking: PressureDrop = assumed(0.2e5, "Opening pressure of the make-up checks.")
    make_up_drop: DropAtFlow = assumed(at_40(2.0), "Pressure drop of a make-up check at a flow, beyond its cracking.")
    tank_port_rating: RatingField | None = Field(None, description="Rated pressure of the tank port T.")

    def reliefs(self) -> dict[str, tuple[str, limiting.ReliefSetting]]:
        """Role -> port, relief."""
        found = {"relief": ("P", self.relief)} if self.relief else {}
        if self.port_reliefs:
            found |= {f"relief of {side}": (side, self.port_reliefs) for side in "LR"}
        return found


class SteeringUnit(Kind[SteeringUnitParams]):
    name = "steering unit"
    aliases = ("orbital steering unit",)
    group = "valves"
    symbol = "steering unit"
    summary = "Steering wheel valve: meters oil to L or R in proportion to the turning of the wheel."
    equations = (
        f"""
- **Metered flow** `Q_m = displacement × hand speed × volumetric efficiency`.
- **P to the port that is steered to**: `dp = metering drop × (Q / Q_m)^2`, Q from 0 to Q_m: with too little oil it gets
  what there is, and the wheel cannot be turned that fast by the pump alone.
- **The other port to T**: `dp = return drop × (Q / flow)^2`.
- **Open centre**: what is not needed leaves through a passage of `centre drop`, throttled so that P stands by the
  metering drop above the steered port (band {BAND:g} Pa); fully open while the wheel stands.
- **Wheel standing**: L and R blocked; let go with load reaction: joined by one passage of `return drop`.
- **Make-up**: a check from T to each port, `cracking + make up drop × (Q / flow)^2`.
- **Steering by hand without a pump** is left out.

Common practice, no source. Its reliefs: """
        + limiting.LAW
    )
    example = (
        "{kind: steering unit, displacement: 100 cc/rev, centre: open, power beyond: yes, relief: {setting: 100 bar, "
        "override: 5 bar at 15 L/min}, port reliefs: 160 bar, make up: yes, rating: 175 bar, tank port rating: 20 bar}"
    )
    demo = """
parts:
  $supply
  it: {kind: steering unit, displacement: 100 cc/rev, centre: open, power beyond: yes,
       relief: {setting: 100 bar, override: 5 bar at 15 L/min}, port reliefs: 160 bar, make up: yes, rating: 175 bar,
       tank port rating: 20 bar}
  ram: {kind: cylinder, bore: 40 mm, rod: 20 mm, stroke: 200 mm, rating: 175 bar}
  rest: {kind: orifice, drop: 10 bar at 18 L/min, rating: 210 bar}
lines:
  $feed
  to unit: {route: block.branch > it.P, direct: yes}
  left: {route: it.L > ram.cap, hose: two-wire, size: -6, length: 1 m}
  right: {route: it.R > ram.rod, hose: two-wire, size: -6, length: 1 m}
  onward: {route: it.PB > rest.A, hose: two-wire, size: -8, length: 1 m}
  rest home: {route: rest.B > tank, hose: one-wire, size: -8, length: 1 m}
  home: {route: it.T > tank, hose: one-wire, size: -8, length: 1 m}
states:
  wheel stands: {stopped: [ram]}
  to the left: {it: 60 rpm left, loads: {ram: 3 kN compression}}
"""
    Params = SteeringUnitParams

    def ports(self, params: SteeringUnitParams) -> tuple[Port, ...]:
        sleeve = (Port("PB", "pressure", ("EF",), doc="what it does not need goes on"),) if params.power_beyond else ()
        return (
            Port("P", "pressure", doc="from the pump"),
            Port("T", "return", doc="to the reservoir"),
            *sleeve,
            Port("L", "work", doc="to the side of the cylinder that steers left"),
            Port("R", "work", doc="to the side of the cylinder that steers right"),
        )

    def controls(self, params: SteeringUnitParams) -> tuple[Control, ...]:
        doc = "hand speed, as `40 rpm right` or `40 rpm left`; `held` = the wheel stands"
        free = "; `let go`" if params.load_reaction else ""
        read = orders.wheel(params.load_reaction)
        return (Control("position", read, 0.0, doc + free, lever=True, said=orders.wheel_words),)

    def port_ratings(self, params: SteeringUnitParams) -> Mapping[str, Rating | None]:
        return {p.name: params.tank_port_rating if p.name == "T" else params.rating for p in self.ports(params)}

    def reliefs(self, params: SteeringUnitParams) -> tuple[Relief, ...]:
        return tuple(Relief(role, port, limit.setting) for role, (port, limit) in params.reliefs().items())

    def expand(self, part: Part, b: Builder) -> None:
        params = self.own(part)
        P, T = b.node("P"), b.node("T")
        given = b.orders("position")
        free = np.array([order == orders.LET_GO for order in given])
        hand = np.array([0.0 if order == orders.LET_GO else float(order) for order in given])
        turns = np.abs(hand) >= STILL
        self._metering(params, b, hand, turns)
        for role, (port, limit) in params.reliefs().items():
            limiting.add(b, role, b.node(port), T, limit)
        back = full(params.return_drop)
        for side, gives in (("L", hand > 0), ("R", hand < 0)):
            b.branch(f"{side} to T", b.node(side), T, b=back, shut=~(turns & gives))
            if params.make_up:
                loss = full(params.make_up_drop)
                b.branch(f"make-up to {side}", T, b.node(side), c0=params.cracking, b=loss, lo=0.0)
        if params.load_reaction:
            b.branch("L to R", b.node("L"), b.node("R"), b=back, shut=~free)
        if params.power_beyond and params.centre == "closed":
            b.branch("carry-over", P, b.node("PB"), b=full(params.centre_drop))

    def _metering(self, params: SteeringUnitParams, b: Builder, hand: Array, turns: Bools) -> None:
        """P through the metering set to L or R; and the open centre, which its pressures throttle."""
        P, T, metered = b.node("P"), b.node("T"), b.inner("metered")
        flow = np.where(turns, params.displacement * np.abs(hand) * params.volumetric_efficiency, 1.0)
        b.branch("metered", P, metered, b=params.metering_drop / flow**2, lo=0.0, hi=flow, shut=~turns)
        for side, gets in (("L", hand < 0), ("R", hand > 0)):
            b.branch(f"to {side}", metered, b.node(side), shut=~(turns & gets))
        b.branch("sensing at rest", metered, T, shut=turns)
        if params.centre == "open":
            end = b.node("PB") if params.power_beyond else T
            z0 = np.where(turns, params.metering_drop, ALWAYS_OPEN)
            z = weights((P, 1.0), (metered, -1.0))
            b.pilot("centre", P, end, b=full(params.centre_drop), z=z, z0=z0, droop=BAND)

    def assumptions(self, part: Part) -> tuple[str, ...]:
        params = self.own(part)
        unused = [] if params.make_up else ["cracking", "make up drop"]
        unused += [] if params.centre == "open" or params.power_beyond else ["centre drop"]
        found = [
            text for text in assumptions_of(part.name, params)
            if not text.startswith(tuple(f"{part.name}: {key} " for key in unused))
        ]  # fmt: skip
        for port, limit in params.reliefs().values():
            found += limit.assumed(f"relief of {part.name}.{port}")
        return tuple(found)


KIND = SteeringUnit()
