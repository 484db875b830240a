"""What a rod is meant for: parameters of every cylinder that change no figure, only what figures are held against."""

from __future__ import annotations

from pydantic import Field

from ..fields import Force, Length, Mass, PositivePressure, Velocity
from .base import Parameters


class RodLimits(Parameters):
    """Needs and limits of a rod and of what it is built into."""

    needed_push: Force | None = Field(None, description="Force that it must be able to push with, at the rod.")
    frame_rating: Force | None = Field(
        None, description="Force at the rod that the frame, jaw, pins and welds around it are built for, by your own "
        "reckoning, as `250 kN`."
    )
    moving_mass: Mass | None = Field(
        None, description="Mass that arrives at the end of the stroke, as felt at the rod (through a lever: times the "
        "square of its ratio)."
    )
    cushion: Length | None = Field(None, description="Length of its end cushion; left out: it has none.")
    highest_speed: Velocity | None = Field(None, description="Rod speed that must not be exceeded.")
    lowest_speed: Velocity | None = Field(None, description="Rod speed that is needed wherever it moves.")
    outside_push: Force | None = Field(
        None, description="Worst force from outside that can push the rod in while its ports are shut."
    )
    wall: Length | None = Field(None, description="Wall of the barrel, where it is home-made or unmarked.")
    tensile_strength: PositivePressure | None = Field(
        None, description="Tensile strength of the barrel's steel, as `450 MPa`."
    )


class DoubleRodLimits(RodLimits):
    """Those of a cylinder that oil moves both ways."""

    needed_pull: Force | None = Field(None, description="Force that it must be able to pull with, at the rod.")
    outside_pull: Force | None = Field(
        None, description="Worst force from outside that can pull the rod out while its ports are shut."
    )
