"""Heat in the oil: where it comes from, how fast the oil warms, where it settles. SI units; temperatures in K.

One body of oil (and what warms with it) of heat capacity C, heated by a steady power P, giving off G (T - ambient).
"""

from __future__ import annotations

import numpy as np

from .values import Value, plain


def throttled(pressure_drop: Value, flow: Value) -> Value:
    """Heat [W] of a flow [m^3/s] that loses a pressure [Pa] without doing work (relief valve, orifice, line).

    >>> round(throttled(150e5, 22.3 / 60e3))
    5575
    """
    return pressure_drop * flow


def throttle_rise(pressure_drop: Value, rho: Value, specific_heat: Value) -> Value:
    """Warming [K] of oil that is throttled by a pressure [Pa]: dp/(rho c).

    Parameters
    ----------
    pressure_drop : float or array
        [Pa]
    rho : float or array
        Density, [kg/m^3]
    specific_heat : float or array
        [J/(kg K)]

    Returns
    -------
    dT : float or array
        [K]; expansion of the oil, which takes about a tenth off, is left out

    Examples
    --------
    >>> round(throttle_rise(150e5, 870.0, 1900.0), 1)
    9.1
    """
    return pressure_drop / (rho * specific_heat)


def flow_rise(power: Value, flow: Value, rho: Value, specific_heat: Value) -> Value:
    """Warming [K] of a flow [m^3/s] that takes up a power [W].

    >>> round(flow_rise(5575.0, 22.3 / 60e3, 870.0, 1900.0), 1)
    9.1
    """
    return power / (flow * rho * specific_heat)


def capacity(volume: Value, rho: Value, specific_heat: Value) -> Value:
    """Heat capacity [J/K] of a volume [m^3] of oil.

    >>> round(capacity(0.040, 870.0, 1900.0))
    66120
    """
    return volume * rho * specific_heat


def given_off(coefficient: Value, area: Value, difference: Value) -> Value:
    """Heat [W] given off by an area [m^2] at a coefficient [W/(m^2 K)] and temperature difference [K].

    >>> round(given_off(12.0, 0.8, 40.0), 1)
    384.0
    """
    return coefficient * area * difference


def area_for(power: Value, coefficient: Value, difference: Value) -> Value:
    """Area [m^2] that gives off a power [W]; the inverse of `given_off`.

    >>> area_for(384.0, 12.0, 40.0)
    0.8
    """
    return power / (coefficient * difference)


def steady_temperature(power: Value, conductance: Value, ambient: Value) -> Value:
    """Temperature [K] at which the oil settles: ambient + P/G; infinite if nothing cools it.

    Parameters
    ----------
    power : float or array
        Heat put in, [W]
    conductance : float or array
        G, heat given off per kelvin: coefficient times area, plus coolers, [W/K]
    ambient : float or array
        [K]

    Returns
    -------
    T : float or array
        [K]

    Examples
    --------
    >>> steady_temperature(384.0, 9.6, 293.15)
    333.15
    """
    p, g = np.broadcast_arrays(np.asarray(power, dtype=float), np.asarray(conductance, dtype=float))
    with np.errstate(over="ignore"):  # next to no cooling: hotter than any float is infinite as well
        rise = np.divide(p, g, out=np.where(p > 0, np.inf, 0.0), where=g > 0)
    return plain(ambient + rise)


def temperature_after(
    time: Value, start: Value, power: Value, conductance: Value, ambient: Value, heat_capacity: Value
) -> Value:
    """Temperature [K] of the oil after a time [s] of steady heating.

    Parameters
    ----------
    time : float or array
        [s]
    start : float or array
        Temperature at the beginning, [K]
    power, conductance, ambient : float or array
        As for `steady_temperature`
    heat_capacity : float or array
        C, of all the oil that warms together, [J/K]

    Returns
    -------
    T : float or array
        [K]

    Examples
    --------
    >>> round(temperature_after(600.0, 293.15, 5575.0, 9.6, 293.15, 66120.0) - 273.15, 1)
    68.4
    """
    t, g, c = (np.asarray(x, dtype=float) for x in (time, conductance, heat_capacity))
    x = g * t / c
    # time that counts: C/G (1 - exp(-G t/C)), which is t where nothing cools
    counted = np.where(x > 1e-9, -np.expm1(-x) * c / np.where(g > 0, g, 1.0), t)
    return plain(start + (power - g * (np.asarray(start, dtype=float) - ambient)) * counted / c)


def time_to(
    limit: Value, start: Value, power: Value, conductance: Value, ambient: Value, heat_capacity: Value
) -> Value:
    """Time [s] until the oil reaches a limit [K]; the inverse of `temperature_after`.

    Returns
    -------
    t : float or array
        [s]; 0 if the oil is as warm already, infinite if it never gets there

    Examples
    --------
    >>> round(time_to(355.15, 293.15, 5575.0, 9.6, 293.15, 66120.0) / 60, 1)
    13.0
    >>> float(time_to(355.15, 293.15, 100.0, 9.6, 293.15, 66120.0))
    inf
    """
    top, low, p, g, amb, c = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (limit, start, power, conductance, ambient, heat_capacity))
    )
    at_start = p - g * (low - amb)  # net heating at the beginning and at the limit, W
    at_limit = p - g * (top - amb)
    reached = (at_start > 0) & (at_limit > 0)
    safe_start = np.where(reached, at_start, 1.0)
    ratio = np.where(reached, (at_start - at_limit) / safe_start, 0.0)  # G (limit - start)/net heating
    small = ratio < 1e-9
    factor = np.where(small, 1.0, -np.log1p(-np.where(small, 0.5, ratio)) / np.where(small, 1.0, ratio))
    time = c * (top - low) / safe_start * factor
    return plain(np.where(top <= low, 0.0, np.where(reached, time, np.inf)))
