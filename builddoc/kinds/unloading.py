"""Shared by the parts with an unloader inside: what a state may order of it, and what may go wrong with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import orders
from .base import Control, Fault

if TYPE_CHECKING:
    from ..assemble import Builder
    from ..network import Array

NEVER = 1e12
"""Pa at the pilot: a setting that is never reached."""
STUCK = "stuck shut"
CONTROL = Control(
    "unloader", orders.choice(("works", STUCK), "unloader"), "works",
    f"`works`, or `{STUCK}`: it does not open", faults=(Fault("unloader stuck shut", STUCK, "stuck unloaders"),),
)  # fmt: skip


def opens_at(setting: float, b: Builder) -> Array:
    """Pilot pressure (S,), Pa, at which the unloader of the part being expanded opens."""
    stuck = np.array([order == STUCK for order in b.orders(CONTROL.name)])
    return np.where(stuck, NEVER, setting)
