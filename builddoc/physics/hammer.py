"""Water hammer: the pressure that a suddenly stopped flow makes. SI units."""

from __future__ import annotations

import numpy as np

from .values import GRAVITY, Value, plain


def wave_speed(bulk_modulus: Value, rho: Value, bore: Value = 0.0, wall: Value = 1.0, modulus: Value = np.inf) -> Value:
    """Speed of a pressure wave in a line, sqrt(K/rho)/sqrt(1 + K d/(E t)) [1]_.

    Parameters
    ----------
    bulk_modulus : float or array
        Of the liquid, [Pa]
    rho : float or array
        Density, [kg/m^3]
    bore, wall : float or array, optional
        Inside diameter and wall of the line, [m]
    modulus : float or array, optional
        Modulus of elasticity of the wall, infinite = stiff, [Pa]

    Returns
    -------
    c : float or array
        [m/s]

    References
    ----------
    .. [1] 1000 Solved Problems in Fluid Mechanics, Tata McGraw-Hill, 2005, Ex 14.12.

    Examples
    --------
    >>> round(wave_speed(1.6e9, 870.0))
    1356
    """
    return plain(np.sqrt(bulk_modulus / rho) / np.sqrt(1.0 + bulk_modulus * bore / (modulus * wall)))


def surge(rho: Value, wave: Value, change: Value) -> Value:
    """Pressure rise [Pa] of a flow whose velocity changes [m/s] faster than the wave returns: rho c dv (Joukowsky).

    Parameters
    ----------
    rho : float or array
        Density, [kg/m^3]
    wave : float or array
        Wave speed, see `wave_speed`, [m/s]
    change : float or array
        Change of velocity, [m/s]

    Returns
    -------
    dp : float or array
        [Pa]

    Examples
    --------
    >>> round(surge(870.0, 1200.0, 4.0) / 1e5, 1)
    41.8
    """
    return rho * wave * change


def surge_head(wave: Value, change: Value) -> Value:
    """The same as a height [m] of the liquid, c dv/g.

    >>> round(surge_head(1200.0, 4.0))
    489
    """
    return wave * change / GRAVITY


def return_time(length: Value, wave: Value) -> Value:
    """Time [s] in which a wave runs to the end of a line [m] and back; closing faster than this is sudden.

    >>> round(return_time(6.0, 1200.0), 3)
    0.01
    """
    return 2.0 * length / wave


def full_surge_length(length: Value, wave: Value, closing: Value) -> Value:
    """Length [m] of line, from the valve on, that sees the full surge when the valve closes in a time [s].

    >>> round(full_surge_length(3500.0, 1484.7, 4.0), 1)
    530.6
    """
    return plain(np.maximum(length - wave * closing / 2.0, 0.0))


def surge_at(full: Value, length: Value, closing: Value, wave: Value, from_reservoir: Value) -> Value:
    """Surge [Pa] at a distance [m] from the reservoir: the full one, or in proportion where the wave returns sooner.

    Parameters
    ----------
    full : float or array
        Full surge, [Pa]
    length : float or array
        Length of the line, [m]
    closing : float or array
        Time in which the valve closes, [s]
    wave : float or array
        Wave speed, [m/s]
    from_reservoir : float or array
        Distance from the reservoir, [m]

    Returns
    -------
    dp : float or array
        [Pa]

    Notes
    -----
    Textbook treatment of a valve that closes evenly; common practice, no source.

    Examples
    --------
    >>> round(surge_at(41.8e5, 6.0, 0.005, 1200.0, 1.5) / 1e5, 1)
    20.9
    """
    reach = np.minimum(wave * closing / 2.0, length)
    return plain(full * np.minimum(np.asarray(from_reservoir, dtype=float) / reach, 1.0))
