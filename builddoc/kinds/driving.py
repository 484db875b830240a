"""What turns a pump: the law that engine and electric motor share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from pydantic import Field

from ..circuit import Part, Rating
from ..fields import Efficiency, Torque
from ..network import Array
from . import orders
from .base import Control, Kind, Parameters, Port, assumed

if TYPE_CHECKING:
    from ..assemble import Builder

FOR_HOURS = " For hours it gives its `continuous share` of that."

D = TypeVar("D", bound="DriverParams")

LAW = (
    "At and above the speed of its rating it gives its rated power; below, power falls in proportion to speed (the "
    "torque stays that of the rating). An assumption: real torque curves differ."
)


class DriverParams(Parameters):
    continuous_share: Efficiency = assumed(0.85, "Share of its power that it can give for hours.")
    torque: Torque | None = Field(
        None, description="Torque that it surely gives at every speed at which it is run, idle among them."
    )

    def rated(self) -> tuple[float, float]:
        """Rated power, W, at speed, rad/s."""
        raise NotImplementedError

    def nominal(self) -> float:
        """rad/s at which it runs where a state says nothing."""
        raise NotImplementedError


class Driver(Kind[D]):
    """Shared by engine and electric motor: no ports, one control (speed), a power that depends on speed."""

    group = "energy"

    def ports(self, params: D) -> tuple[Port, ...]:
        return ()

    def port_ratings(self, params: D) -> Mapping[str, Rating | None]:
        return {}

    def controls(self, params: D) -> tuple[Control, ...]:
        return (Control("speed", orders.speed, params.nominal(), "shaft speed, as `1200 rpm`; 0 rpm = stopped"),)

    def expand(self, part: Part, b: Builder) -> None:
        """No equations of its own: pumps ask for its speed."""

    def nominal_speed(self, params: D) -> float:
        return params.nominal()

    def shaft_supply(self, part: Part, speed: Array) -> Array:
        params = self.own(part)
        power, at = params.rated()
        share: Array = np.minimum(np.asarray(speed, dtype=float) / at, 1.0)
        return params.continuous_share * power * share
