"""Gas-charged accumulators. Pressures are absolute here, in Pa (gauge + 101 325 Pa), temperatures in K.

p V^n = constant: n = 1 slow (isothermal, more than about 3 minutes), n = 1.4 fast (adiabatic nitrogen up to about
200 bar); both figures on a maker's page.
"""

from __future__ import annotations

import numpy as np

from .values import ATMOSPHERE, Value, plain


def absolute(gauge: Value, atmosphere: Value = ATMOSPHERE) -> Value:
    """Absolute pressure [Pa] from a gauge pressure [Pa].

    >>> absolute(100e5)
    10101325.0
    """
    return gauge + atmosphere


def gauge(absolute_pressure: Value, atmosphere: Value = ATMOSPHERE) -> Value:
    """Gauge pressure [Pa] from an absolute pressure [Pa].

    >>> gauge(10101325.0)
    10000000.0
    """
    return absolute_pressure - atmosphere


def gas_volume(volume: Value, pressure: Value, new_pressure: Value, n: Value = 1.0) -> Value:
    """Volume [m^3] of a gas that goes from one pressure to another [Pa absolute].

    >>> round(gas_volume(10e-3, 100e5, 200e5) * 1e3, 2)
    5.0
    """
    return volume * (pressure / new_pressure) ** (1.0 / n)


def gas_pressure(
    pressure: Value, volume: Value, new_volume: Value, temperature: Value = 1.0, new_temperature: Value = 1.0
) -> Value:
    """Pressure [Pa absolute] of a gas at a new volume [m^3] and temperature [K]: p V/T constant.

    >>> round(gas_pressure(100e5, 10e-3, 10e-3, 300.0, 330.0) / 1e5, 1)
    110.0
    """
    return pressure * volume / new_volume * new_temperature / temperature


def usable(size: Value, precharge: Value, low: Value, high: Value, n: Value = 1.0, efficiency: Value = 1.0) -> Value:
    """Oil [m^3] that an accumulator gives between a high and a low pressure [Pa absolute].

    Parameters
    ----------
    size : float or array
        Gas volume at the precharge, [m^3]
    precharge, low, high : float or array
        Precharge and the lowest and highest working pressure, [Pa absolute]
    n : float or array, optional
        Exponent, [-]
    efficiency : float or array, optional
        Share that is counted on, [-]

    Returns
    -------
    V : float or array
        [m^3]

    Notes
    -----
    Precharged at the lowest pressure and charged slowly, discharged slowly (n = 1); for a fast discharge after a fast
    charge use n = 1.4.

    Examples
    --------
    >>> round(usable(10e-3, 90e5, 100e5, 200e5) * 1e3, 2)
    4.5
    """
    return efficiency * (gas_volume(size, precharge, low, n) - gas_volume(size, precharge, high, n))


def size_for(volume: Value, precharge: Value, low: Value, high: Value, n: Value = 1.0) -> Value:
    """Gas volume [m^3] at the precharge that gives a volume of oil [m^3]; the inverse of `usable`.

    >>> round(size_for(4.5e-3, 90e5, 100e5, 200e5) * 1e3, 2)
    10.0
    """
    return volume / usable(1.0, precharge, low, high, n)


def held(size: Value, precharge: Value, pressure: Value, n: Value = 1.0) -> Value:
    """Oil [m^3] in an accumulator at a pressure [Pa absolute]; none at or below the precharge.

    >>> round(held(10e-3, 100e5, 200e5) * 1e3, 2), held(10e-3, 100e5, 90e5)
    (5.0, 0.0)
    """
    return plain(size - gas_volume(size, precharge, np.maximum(pressure, precharge), n))


def energy(size: Value, precharge: Value, pressure: Value, n: float = 1.0) -> Value:
    """Energy [J] that the gas gives back from a pressure down to its precharge [Pa absolute], against vacuum.

    Parameters
    ----------
    size : float or array
        Gas volume at the precharge, [m^3]
    precharge, pressure : float or array
        [Pa absolute]
    n : float, optional
        Exponent of p V^n = constant, [-]

    Returns
    -------
    E : float or array
        The integral of p dV: p0 V0 ln(p/p0) for n = 1, else p0 V0 ((p/p0)^((n-1)/n) - 1)/(n - 1), [J]; elementary

    Examples
    --------
    >>> round(energy(1e-3, 100e5, 200e5))
    6931
    """
    ratio = np.maximum(pressure, precharge) / precharge
    if n == 1.0:
        return plain(precharge * size * np.log(ratio))
    return plain(precharge * size * (ratio ** ((n - 1.0) / n) - 1.0) / (n - 1.0))
