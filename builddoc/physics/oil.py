"""Hydraulic oil: viscosity and density at temperature, stiffness, static head. SI units."""

from __future__ import annotations

import numpy as np

from .values import ABSOLUTE_ZERO, GRAVITY, Value, plain

EXPANSION = 0.0007
"""Volumetric thermal expansion of mineral oil, 1/K, as printed in [1]_ of `density` (another source: 0.00063)."""

LOWEST_VISCOSITY = 0.21e-6
HIGHEST_VISCOSITY = 2e-2


def _z(centistokes: Value) -> Value:
    """Z of ASTM D341, below 2 cSt with its correction."""
    return centistokes + 0.7 + np.exp(-1.47 - 1.84 * centistokes - 0.51 * centistokes**2)


def _centistokes(z: Value) -> Value:
    """Kinematic viscosity from Z, the inverse that ASTM D341 gives."""
    x = z - 0.7
    return x - np.exp(-0.7487 - 3.295 * x + 0.6119 * x**2 - 0.3193 * x**3)


def walther(nu40: Value, nu100: Value) -> tuple[Value, Value]:
    r"""Constants A and B of the viscosity-temperature line through the values at 40 and 100 degC.

    .. math:: \log_{10} \log_{10} Z = A - B \log_{10} T

    Parameters
    ----------
    nu40, nu100 : float or array
        Kinematic viscosity at 40 and at 100 degC, [m^2/s]

    Returns
    -------
    A, B : float or array
        Constants for T in kelvin and Z in cSt, [-]

    Raises
    ------
    ValueError
        If the oil does not thin as it warms (nu100 >= nu40), or a viscosity is not positive.

    Examples
    --------
    >>> A, B = walther(32e-6, 5.4e-6)
    >>> round(float(A), 3), round(float(B), 3)
    (9.531, 3.747)
    """
    if np.any(np.asarray(nu100) <= 0) or np.any(np.asarray(nu100) >= np.asarray(nu40)):
        raise ValueError("the viscosity at 100 degC must be positive and less than the viscosity at 40 degC")
    t40, t100 = np.log10(40 + ABSOLUTE_ZERO), np.log10(100 + ABSOLUTE_ZERO)
    w40 = np.log10(np.log10(_z(np.asarray(nu40, dtype=float) * 1e6)))
    w100 = np.log10(np.log10(_z(np.asarray(nu100, dtype=float) * 1e6)))
    b = (w40 - w100) / (t100 - t40)
    return plain(w40 + b * t40), plain(b)


def viscosity(nu40: Value, nu100: Value, temperature_K: Value) -> Value:
    r"""Kinematic viscosity of an oil at a temperature, two-point method of ASTM D341 [1]_.

    Parameters
    ----------
    nu40, nu100 : float or array
        Kinematic viscosity at 40 and at 100 degC, [m^2/s]
    temperature_K : float or array
        Temperature of the oil, [K]

    Returns
    -------
    nu : float or array
        Kinematic viscosity, [m^2/s]

    Raises
    ------
    ValueError
        See `walther`.

    Notes
    -----
    Valid for liquid petroleum products from 0.21 cSt upwards. At 2 cSt and more the method is the plain Z = nu + 0.7;
    below 2 cSt the correction terms of the standard act. Below the cloud point, and near the pour point, real oil is
    thicker than the line says. Use `in_range` to see whether a result may be trusted.

    References
    ----------
    .. [1] ASTM D341, Standard Practice for Viscosity-Temperature Equations and Charts for Liquid Petroleum or
       Hydrocarbon Products. Seen: a public worksheet after the standard (plain form), a public page that reproduces the
       equations with the terms below 2 cSt. The text of the standard itself was not seen.

    Examples
    --------
    ISO VG 32 oil at 80 degC (worksheet after the standard: 8.5 cSt)

    >>> round(viscosity(32e-6, 5.4e-6, 353.15) * 1e6, 2)
    8.53
    """
    a, b = walther(nu40, nu100)
    z = 10.0**10.0 ** (a - b * np.log10(temperature_K))
    return plain(_centistokes(z) * 1e-6)


def in_range(nu: Value) -> Value:
    """True where a kinematic viscosity [m^2/s] lies in the range of ASTM D341 as used here (0.21 to 20 000 cSt).

    Thicker than 20 000 cSt no oil is pumped, and the line is far outside the two points it was drawn through.

    >>> bool(in_range(46e-6))
    True
    """
    return (np.asarray(nu) >= LOWEST_VISCOSITY) & (np.asarray(nu) <= HIGHEST_VISCOSITY)


def density(rho15: Value, temperature_K: Value, expansion: Value = EXPANSION) -> Value:
    r"""Density of oil at a temperature, at the pressure of the reservoir.

    .. math:: \rho = \frac{\rho_{15}}{1 + \beta (T - 288.15)}

    Parameters
    ----------
    rho15 : float or array
        Density at 15 degC, [kg/m^3]
    temperature_K : float or array
        Temperature, [K]
    expansion : float or array, optional
        Volumetric thermal expansion, [1/K]

    Returns
    -------
    rho : float or array
        Density, [kg/m^3]

    Notes
    -----
    For -20 to 100 degC. Compression is left out: below 2 % at 350 bar.

    References
    ----------
    .. [1] Fluid Power Engineering, McGraw-Hill, 2009, p. 37: 0.0007 1/K.

    Examples
    --------
    >>> round(density(870.0, 318.15), 1)
    852.1
    """
    return plain(rho15 / (1.0 + expansion * (np.asarray(temperature_K, dtype=float) - 288.15)))


def dynamic_viscosity(nu: Value, rho: Value) -> Value:
    """Dynamic viscosity [Pa s] from kinematic viscosity [m^2/s] and density [kg/m^3]; definition.

    >>> round(dynamic_viscosity(46e-6, 870.0), 5)
    0.04002
    """
    return nu * rho


def head(rho: Value, height: Value) -> Value:
    """Pressure [Pa] of a column of `height` [m] of a liquid of density `rho` [kg/m^3]; elementary hydrostatics.

    >>> round(head(870.0, 0.5))
    4266
    """
    return rho * GRAVITY * height


def height(rho: Value, pressure: Value) -> Value:
    """Height [m] of the column that makes a pressure [Pa]: the inverse of `head`.

    >>> round(height(870.0, 1e5), 2)
    11.72
    """
    return pressure / (rho * GRAVITY)
