"""Buckling of rods. SI units."""

from __future__ import annotations

import numpy as np

from .values import Value, plain

STEEL = 210e9
"""Modulus of elasticity of steel, Pa (two cylinder makers' pages)."""


def round_inertia(diameter: Value) -> Value:
    """Second moment of area [m^4] of a round bar [m], pi d^4/64.

    >>> round(round_inertia(0.030) * 1e12)
    39761
    """
    return np.pi * diameter**4 / 64.0


def slenderness(length: Value, diameter: Value, end_factor: Value = 1.0) -> Value:
    """Slenderness [-] of a round bar: effective length over radius of gyration (d/4).

    >>> slenderness(30.0, 0.625)
    192.0
    """
    return 4.0 * end_factor * length / diameter


def column_constant(modulus: Value, yield_stress: Value) -> Value:
    """Slenderness [-] above which Euler's formula holds, sqrt(2 pi^2 E/Sy) [1]_.

    References
    ----------
    .. [1] Machine Design, Cengage Learning (Delmar), 2007, Ex 3.5.

    Examples
    --------
    >>> round(column_constant(30e6, 42000.0), 2)
    118.74
    """
    return plain(np.sqrt(2.0 * np.pi**2 * modulus / yield_stress))


def euler(modulus: Value, inertia: Value, length: Value, end_factor: Value = 1.0) -> Value:
    """Euler's buckling load, F = pi^2 E I/(K L)^2.

    Parameters
    ----------
    modulus : float or array
        Modulus of elasticity, [Pa]
    inertia : float or array
        Second moment of area, [m^4]
    length : float or array
        Length between the pins (or from the fixed end), [m]
    end_factor : float or array, optional
        K: 1 both ends pinned, 2 one end fixed and one free, 0.7 fixed and pinned, 0.5 both fixed, [-]

    Returns
    -------
    F : float or array
        [N], without safety factor (3 to 5 is usual for cylinders)

    Notes
    -----
    Holds for slender rods only; see `critical` for one that holds for all.

    Examples
    --------
    >>> round(euler(210e9, round_inertia(0.030), 0.9) / 1e3, 1)
    101.7
    """
    return np.pi**2 * modulus * inertia / (end_factor * length) ** 2


def critical(modulus: Value, yield_stress: Value, diameter: Value, length: Value, end_factor: Value = 1.0) -> Value:
    """Buckling load [N] of a round rod of any length: Euler where slender, else Johnson's parabola [1]_.

    Parameters are those of `euler`, with the yield stress [Pa] and the diameter [m] of the rod.

    References
    ----------
    .. [1] Johnson's parabola F = A Sy (1 - s^2/(2 C^2)), s slenderness, C column constant: from memory.

    Examples
    --------
    >>> round(critical(210e9, 350e6, 0.030, 0.3) / 1e3, 1)
    230.7
    """
    s = slenderness(length, diameter, end_factor)
    c = column_constant(modulus, yield_stress)
    section = np.pi / 4.0 * np.asarray(diameter, dtype=float) ** 2
    johnson = section * yield_stress * (1.0 - s**2 / (2.0 * c**2))
    return plain(np.where(s > c, euler(modulus, round_inertia(diameter), length, end_factor), johnson))
