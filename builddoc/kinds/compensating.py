"""The three-port compensated metering that priority divider, three-port flow control and steering unit share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from ..fields import DropAtFlow, Flow, Pair, PositivePressure
from ..network import Array
from .base import Keys, assumed
from .passages import at_40, full
from .piloting import weights

if TYPE_CHECKING:
    from ..assemble import Builder

BAND = 100.0
"""Pa of metering drop over which the spool goes from shut to open."""

LAW = (
    "Inlet to controlled: `dp = metering drop × (Q / set flow)^2`, Q from 0 to `set flow`. Inlet to excess: `Q = x "
    "U(dp)`, `dp = excess drop × (U / flow)^2`, the spool opening x from 0 to 1 so that `p_inlet - p_controlled = "
    "metering drop` while there is oil for both (band of the spool: 100 Pa). A blocked controlled port shuts the "
    "excess port: a relief on that side must let the oil go. Common practice, no source."
)


class Metering(Keys):
    """Keys of a three-port metering valve."""

    set_flow: Flow = Field(description="Flow that the controlled port gets first.")
    metering_drop: PositivePressure = assumed(7e5, "Pressure drop of its metering orifice at the set flow.")
    excess_drop: DropAtFlow = assumed(at_40(3.0), "Pressure drop to the excess port, fully open, at a flow.")
    excess_port_takes_pressure: bool = Field(
        True, description="The excess port may feed something that works; `no` = it must go to the tank freely. For "
        "the rules: the equations are those of one that may."
    )


def meter(b: Builder, inlet: int, controlled: int, excess: int, flow: float | Array, drop: float, loss: Pair) -> None:
    """Passages `controlled` and `excess`. flow: m3/s, > 0, scalar or (S,). drop: Pa. loss: of the excess passage."""
    b.branch("controlled", inlet, controlled, b=drop / (flow * flow), lo=0.0, hi=flow)
    z = weights((inlet, 1.0), (controlled, -1.0))
    b.pilot("excess", inlet, excess, b=full(loss), z=z, z0=drop, droop=BAND)
