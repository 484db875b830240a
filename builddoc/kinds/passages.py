"""Shared by the kinds that oil just passes: square-law passages, their opening, their default drops."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from pydantic import BeforeValidator

from ..fields import DropAtFlow, Pair, PositivePressure
from ..network import Array, Bools
from .base import square_law

LEAST_OPENING = 1e-3
"""Openings below this share of the full area count as shut."""

SQUARE = "`dp = drop × (Q / flow)^2`"


def at_40(bar: float) -> Pair:
    """A drop, bar, at 40 L/min: the flow at which all default drops are stated."""
    return Pair(bar * 1e5, 40 / 6e4)


def full(drop: Pair) -> float:
    """b of the fully open passage with this drop at this flow."""
    return square_law(drop.value, drop.at)


def throttled(drop: Pair, share: float | Array) -> Array:
    """b of the passage when `share` of its area is open: area scaled, so b grows with 1/share^2. Finite at 0, where the
    passage must be shut besides."""
    result: Array = full(drop) / np.maximum(np.asarray(share, dtype=float), LEAST_OPENING) ** 2
    return result


def shut(share: float | Array) -> Bools:
    """True where a share of opening counts as shut."""
    result: Bools = np.asarray(share, dtype=float) < LEAST_OPENING
    return result


def _none(value: Any) -> Any:
    return None if isinstance(value, str) and value.strip().lower() in ("no", "none") else value


Bypass = Annotated[PositivePressure | None, BeforeValidator(_none)]
"""Opening pressure of a bypass check; `no` = there is none."""

__all__ = ["LEAST_OPENING", "SQUARE", "Bypass", "DropAtFlow", "at_40", "full", "shut", "throttled"]
