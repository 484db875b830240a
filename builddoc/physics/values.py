"""The type of the numbers in this package.

Every law takes plain floats or numpy arrays in any mix and broadcasts them as numpy does; it gives back a float if all
that it was given were floats. A static type for that would need two overloads of every law; `Value` says it in words.
"""

from __future__ import annotations

from typing import Any, TypeAlias

Value: TypeAlias = Any
"""A float, or an array of floats."""

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s2 (ISO 80000-3)."""

ABSOLUTE_ZERO = 273.15
"""0 degC in kelvin."""

ATMOSPHERE = 101325.0
"""Standard atmosphere, Pa."""


def plain(value: Value) -> Value:
    """A zero-dimensional array as a float, anything else as it is."""
    return float(value) if getattr(value, "shape", None) == () else value
