"""What a careful reading is worth before a difference from the prediction means anything. Common practice, no source;
what the instrument itself may be off comes on top."""

from __future__ import annotations

RULES: dict[str, tuple[float, float]] = {
    "pressure": (0.05, 2e5),
    "flow": (0.05, 0.0),
    "time": (0.10, 0.2),
    "velocity": (0.10, 0.0),
    "rotational speed": (0.05, 0.0),
    "force": (0.10, 0.0),
    "torque": (0.10, 0.0),
    "power": (0.10, 0.0),
    "temperature": (0.0, 8.0),
    "share": (0.05, 0.0),
}
"""Dimension -> share of the prediction, least in SI."""
OTHERS = (0.10, 0.0)
SUCTION = 5e3
"""Pa, in the place of the least of a pressure: a vacuum gauge tells more than a pressure gauge."""


def careful(dimension: str, value: float) -> float:
    """SI, either way of a predicted value."""
    share, least = RULES.get(dimension, OTHERS)
    if dimension == "pressure" and value < 0:
        least = SUCTION
    return max(share * abs(value), least)
