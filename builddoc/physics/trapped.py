"""Oil that cannot get out: compression, and the pressure that warming makes. SI units."""

from __future__ import annotations

from .oil import EXPANSION
from .values import Value

BULK_MODULUS = 1.6e9
"""Bulk modulus of oil with a little air, Pa: between the textbook figures 1.2 and 2.4 GPa; common practice."""


def compression(volume: Value, pressure_rise: Value, bulk_modulus: Value = BULK_MODULUS) -> Value:
    """Volume [m^3] by which oil shrinks under a pressure rise [Pa]: V dp/K.

    Parameters
    ----------
    volume : float or array
        [m^3]
    pressure_rise : float or array
        [Pa]
    bulk_modulus : float or array, optional
        [Pa]

    Returns
    -------
    dV : float or array
        [m^3], positive

    Examples
    --------
    >>> round(compression(1.0e-3, 160e5) * 1e6, 1)
    10.0
    """
    return volume * pressure_rise / bulk_modulus


def pressure_rise(volume: Value, squeezed: Value, bulk_modulus: Value = BULK_MODULUS) -> Value:
    """Pressure rise [Pa] of a trapped volume [m^3] that is made smaller by `squeezed` [m^3], in stiff walls.

    >>> round(pressure_rise(1.0e-3, 10e-6) / 1e5)
    160
    """
    return bulk_modulus * squeezed / volume


def thermal_rise(warming: Value, expansion: Value = EXPANSION, bulk_modulus: Value = BULK_MODULUS) -> Value:
    """Pressure rise [Pa] of oil shut in stiff walls that is warmed [K]: beta K dT [1]_.

    Parameters
    ----------
    warming : float or array
        [K]
    expansion : float or array, optional
        Volumetric thermal expansion of the oil, [1/K]
    bulk_modulus : float or array, optional
        [Pa]

    Returns
    -------
    dp : float or array
        [Pa]

    Notes
    -----
    On the high side: hoses and steel give way a little.

    References
    ----------
    .. [1] Fluid Power Engineering, McGraw-Hill, 2009, p. 37; a trade page prints 11 bar/K.

    Examples
    --------
    >>> round(thermal_rise(20.0) / 1e5)
    224
    """
    return expansion * bulk_modulus * warming


def stored_energy(volume: Value, pressure: Value, bulk_modulus: Value = BULK_MODULUS) -> Value:
    """Energy [J] stored in a volume [m^3] of oil under a pressure [Pa], V p^2/(2 K); elementary.

    >>> round(stored_energy(5e-3, 200e5))
    625
    """
    return volume * pressure**2 / (2.0 * bulk_modulus)
