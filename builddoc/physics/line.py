"""Flow in hoses, tubes and pipes: velocity, Reynolds number, friction from laminar to turbulent, fittings. SI units."""

from __future__ import annotations

import numpy as np

from .values import Value, plain

TRANSITION = (2000.0, 4000.0)
"""Between these Reynolds numbers the friction is uncertain: formulas differ by up to 38 %."""

_LAMINAR_BELOW = 200.0  # here Churchill equals 64/Re to 1e-12 and its powers would overflow further down


def area(bore: Value) -> Value:
    """Area [m^2] of a round bore [m].

    >>> round(area(0.0127) * 1e6, 2)
    126.68
    """
    return np.pi / 4.0 * bore**2


def velocity(flow: Value, bore: Value) -> Value:
    """Mean velocity of a flow in a round bore, v = 4 Q/(pi d^2).

    Parameters
    ----------
    flow : float or array
        Volume flow, [m^3/s]
    bore : float or array
        Inside diameter, [m]

    Returns
    -------
    v : float or array
        Mean velocity, [m/s]

    Examples
    --------
    >>> round(velocity(40 / 60e3, 0.0127), 2)
    5.26
    """
    return flow / area(bore)


def bore_for(flow: Value, speed: Value) -> Value:
    """Bore [m] in which a flow [m^3/s] runs at a mean velocity [m/s]; the inverse of `velocity`.

    >>> round(bore_for(40 / 60e3, 5.263) * 1e3, 2)
    12.7
    """
    return plain(np.sqrt(4.0 * flow / (np.pi * speed)))


def reynolds(speed: Value, bore: Value, nu: Value) -> Value:
    """Reynolds number [-] from mean velocity [m/s], bore [m] and kinematic viscosity [m^2/s]; definition.

    >>> round(reynolds(3.048, 0.0254, 100e-6), 3)
    774.192
    """
    return speed * bore / nu


def reynolds_per_flow(bore: Value, nu: Value) -> Value:
    """Reynolds number per flow, 4/(pi d nu).

    Parameters
    ----------
    bore : float or array
        Inside diameter, [m]
    nu : float or array
        Kinematic viscosity, [m^2/s]

    Returns
    -------
    ratio : float or array
        Re/Q, [s/m^3]

    Examples
    --------
    >>> round(reynolds_per_flow(0.0127, 46e-6) * 40 / 60e3)
    1453
    """
    return 4.0 / (np.pi * bore * nu)


def laminar_resistance(length: Value, bore: Value, rho: Value, nu: Value) -> Value:
    """Hagen-Poiseuille resistance of a straight round line, dp/Q = 128 mu L/(pi d^4).

    Parameters
    ----------
    length : float or array
        Length, [m]
    bore : float or array
        Inside diameter, [m]
    rho : float or array
        Density, [kg/m^3]
    nu : float or array
        Kinematic viscosity, [m^2/s]

    Returns
    -------
    resistance : float or array
        Pressure drop per flow, [Pa s/m^3]; holds for Re below 2000

    Examples
    --------
    >>> round(laminar_resistance(1.0, 0.0127, 870.0, 46e-6) / 1e6, 2)
    62.68
    """
    return 128.0 * nu * rho * length / (np.pi * bore**4)


def friction_times_re(re: Value, rel_rough: Value = 0.0) -> Value:
    """Darcy friction factor times Reynolds number after Churchill [1]_: finite at rest, 64 in laminar flow.

    Parameters
    ----------
    re : float or array
        Reynolds number (its sign is ignored), [-]
    rel_rough : float or array, optional
        Roughness over bore, [-]

    Returns
    -------
    f_re : float or array
        f Re, [-]

    Notes
    -----
    One smooth, rising curve for laminar, transition and turbulent flow. Against the usual pair of formulas (64/Re
    below, Colebrook above) it differs by 0.1 % below Re 2000, 1.7 % from 4000 to 10 000, 0.5 % above; between 2000 and
    4000 no formula is better than 38 % (see `TRANSITION`).

    References
    ----------
    .. [1] S. W. Churchill, Friction factor equation spans all fluid flow regimes, Chemical Engineering 84 (1977),
       as cited in the documentation of the open library `fluids`.

    Examples
    --------
    >>> float(friction_times_re(0.0)), round(float(friction_times_re(1e5, 2e-4)) / 1e5, 6)
    (64.0, 0.019003)
    """
    size = np.abs(np.asarray(re, dtype=float))
    laminar = size < _LAMINAR_BELOW
    r = np.where(laminar, _LAMINAR_BELOW, size)
    turbulent = (-2.457 * np.log((7.0 / r) ** 0.9 + 0.27 * np.asarray(rel_rough, dtype=float))) ** 16
    transition = (37530.0 / r) ** 16
    f = 8.0 * ((8.0 / r) ** 12 + (turbulent + transition) ** -1.5) ** (1.0 / 12.0)
    return plain(np.where(laminar, 64.0, f * r))


def friction_factor(re: Value, rel_rough: Value = 0.0) -> Value:
    """Darcy friction factor, all regimes, after Churchill (see `friction_times_re`).

    Parameters
    ----------
    re : float or array
        Reynolds number, not zero, [-]
    rel_rough : float or array, optional
        Roughness over bore, [-]

    Returns
    -------
    f : float or array
        Darcy friction factor (four times the Fanning factor), [-]

    Examples
    --------
    >>> round(friction_factor(774.192), 6)
    0.082667
    """
    return plain(friction_times_re(re, rel_rough) / np.abs(np.asarray(re, dtype=float)))


def minor_loss(K: Value, bore: Value, rho: Value) -> Value:
    """Coefficient b of dp = b Q|Q| for fittings of total loss coefficient K: b = K rho/(2 A^2).

    Parameters
    ----------
    K : float or array
        Sum of loss coefficients on the velocity head of the line, [-]
    bore : float or array
        Inside diameter of the line, [m]
    rho : float or array
        Density, [kg/m^3]

    Returns
    -------
    b : float or array
        [Pa s^2/m^6]

    Examples
    --------
    >>> round(minor_loss(0.9, 0.0127, 870.0) * (40 / 60e3) ** 2)
    10843
    """
    return K * rho / (2.0 * area(bore) ** 2)


def pressure_drop(
    flow: Value, length: Value, bore: Value, rho: Value, nu: Value, roughness: Value = 0.0, K: Value = 0.0
) -> Value:
    """Pressure drop of a line with its fittings, Darcy-Weisbach with Churchill's friction factor.

    Parameters
    ----------
    flow : float or array
        Volume flow, the drop has its sign, [m^3/s]
    length : float or array
        Length, [m]
    bore : float or array
        Inside diameter, [m]
    rho, nu : float or array
        Density [kg/m^3] and kinematic viscosity [m^2/s] at the temperature of the oil
    roughness : float or array, optional
        Absolute roughness, [m]
    K : float or array, optional
        Sum of the loss coefficients of the fittings, [-]

    Returns
    -------
    dp : float or array
        [Pa]

    Examples
    --------
    >>> round(pressure_drop(40 / 60e3, 1.0, 0.0127, 870.0, 46e-6))
    41786
    """
    re = reynolds_per_flow(bore, nu) * np.abs(flow)
    run = laminar_resistance(length, bore, rho, nu) * flow * friction_times_re(re, roughness / bore) / 64.0
    return plain(run + minor_loss(K, bore, rho) * flow * np.abs(flow))


def equivalent_length(K: Value, bore: Value, f: Value) -> Value:
    """Length [m] of straight line that loses as much as a fitting of loss coefficient K: L = K d/f.

    >>> round(equivalent_length(0.75, 0.0254, 0.083), 4)
    0.2295
    """
    return K * bore / f


def in_transition(re: Value) -> Value:
    """True where the Reynolds number lies in the uncertain zone 2000 to 4000.

    >>> bool(in_transition(2500.0)), bool(in_transition(900.0))
    (True, False)
    """
    size = np.abs(np.asarray(re))
    return (size > TRANSITION[0]) & (size < TRANSITION[1])
