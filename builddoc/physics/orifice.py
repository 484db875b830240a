"""Orifices, valve flow coefficients and narrow gaps. SI units."""

from __future__ import annotations

import math

import numpy as np

from .line import area as bore_area
from .values import Value, plain

SHARP = 0.62
"""Discharge coefficient of a sharp-edged orifice, turbulent: usual textbook figure, common practice, no source."""

_KV = 1.0 / 3600.0 / math.sqrt(1e5 / 1000.0)  # flow [m3/s] at 1 Pa and 1 kg/m3 of a valve of Kv 1 (m3/h, 1 bar, water)
_CV = 3.785411784e-3 / 60.0 / math.sqrt(6894.757293168 / 999.016)  # Cv 1: US gal/min, 1 psi, water of 60 degF


def flow(drop: Value, area: Value, rho: Value, cd: Value = SHARP) -> Value:
    r"""Flow through an orifice, turbulent: Q = Cd A sqrt(2 dp/rho).

    Parameters
    ----------
    drop : float or array
        Pressure drop, the flow has its sign, [Pa]
    area : float or array
        Open area, [m^2]
    rho : float or array
        Density, [kg/m^3]
    cd : float or array, optional
        Discharge coefficient, [-]

    Returns
    -------
    Q : float or array
        [m^3/s]

    Notes
    -----
    For sharp edges and a Reynolds number of the opening above about 1000.

    Examples
    --------
    >>> round(flow(50e5, 5e-6, 870.0) * 60e3, 1)
    19.9
    """
    return plain(cd * area * np.sign(drop) * np.sqrt(2.0 * np.abs(drop) / rho))


def resistance(area: Value, rho: Value, cd: Value = SHARP) -> Value:
    """Coefficient b [Pa s^2/m^6] of dp = b Q|Q| of an orifice, rho/(2 (Cd A)^2).

    >>> round(resistance(5e-6, 870.0) * (19.94 / 60e3) ** 2 / 1e5, 1)
    50.0
    """
    return rho / (2.0 * (cd * area) ** 2)


def drop(through: Value, area: Value, rho: Value, cd: Value = SHARP) -> Value:
    """Pressure drop [Pa] of a flow [m^3/s] through an orifice; the inverse of `flow`.

    >>> round(drop(19.94 / 60e3, 5e-6, 870.0) / 1e5, 1)
    50.0
    """
    return plain(resistance(area, rho, cd) * through * np.abs(through))


def discharge_coefficient(through: Value, area: Value, pressure_drop: Value, rho: Value) -> Value:
    """Discharge coefficient [-] from a measured flow [m^3/s], area [m^2], drop [Pa] and density [kg/m^3].

    >>> round(discharge_coefficient(19.94 / 60e3, 5e-6, 50e5, 870.0), 2)
    0.62
    """
    return plain(through / (area * np.sqrt(2.0 * pressure_drop / rho)))


def kv_flow(kv: Value, pressure_drop: Value, rho: Value) -> Value:
    """Flow [m^3/s] through a valve of flow coefficient Kv (m^3/h of water at 1 bar).

    >>> round(kv_flow(1.0, 1e5, 1000.0) * 3600, 6)
    1.0
    """
    return plain(kv * _KV * np.sqrt(pressure_drop / rho))


def cv_flow(cv: Value, pressure_drop: Value, rho: Value) -> Value:
    """Flow [m^3/s] through a valve of flow coefficient Cv (US gal/min of water at 1 psi).

    >>> round(cv_flow(1.0, 6894.757, 999.016) * 15850.3, 3)
    1.0
    """
    return plain(cv * _CV * np.sqrt(pressure_drop / rho))


def cv_for(through: Value, pressure_drop: Value, rho: Value) -> Value:
    """Flow coefficient Cv that passes a flow [m^3/s] at a drop [Pa]; the inverse of `cv_flow`.

    >>> round(cv_for(6.30902e-5, 6894.757, 999.016), 3)
    1.0
    """
    return plain(through / (_CV * np.sqrt(pressure_drop / rho)))


def kv_loss_coefficient(kv: Value, bore: Value) -> Value:
    """Loss coefficient K on the velocity head in a bore [m] of a valve of flow coefficient Kv.

    >>> round(kv_loss_coefficient(500.0, 0.154), 2)
    3.6
    """
    return 2.0 * (bore_area(bore) / (kv * _KV)) ** 2


def annular_leakage(pressure_drop: Value, diameter: Value, clearance: Value, length: Value, mu: Value) -> Value:
    """Laminar leakage through the gap around a piston or spool, concentric: Q = pi D c^3 dp/(12 mu L) [1]_.

    Parameters
    ----------
    pressure_drop : float or array
        [Pa]
    diameter, clearance, length : float or array
        Diameter, radial clearance and length of the gap, [m]
    mu : float or array
        Dynamic viscosity, [Pa s]

    Returns
    -------
    Q : float or array
        [m^3/s]; up to 2.5 times as much if the piston lies against one side

    References
    ----------
    .. [1] Introduction to Fluid Mechanics, 5th ed., Wiley, 2001, Ex 8.1.

    Examples
    --------
    >>> round(annular_leakage(19e6, 0.025, 5e-6, 0.015, 0.018) * 1e9, 1)
    57.6
    """
    return np.pi * diameter * clearance**3 * pressure_drop / (12.0 * mu * length)
