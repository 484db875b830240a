"""Flow in hoses, tubes and pipes: velocity, Reynolds number, friction from laminar to turbulent, fittings. SI units."""

from __future__ import annotations

import numpy as np

from .values import Value, plain

TRANSITION = (1300.0, 4000.0)
"""Between these Reynolds numbers the friction is uncertain. Formulas differ by some 40 % from 2000 to 4000, and a
published chart of hoses with their couplings leaves the laminar line near 1300 and lies a half above it by 2000."""

UNCERTAIN = (
    f"between Reynolds numbers {TRANSITION[0]:.0f} and {TRANSITION[1]:.0f} friction is uncertain: from 2000 on "
    "it lies up "
    "to 38 % (smooth bore) or 46 % (rough) off the usual pair of formulas, and up to 35 % below a published chart of "
    "hoses with their couplings"
)
"""The zone in words, for every place that prints it. The chart: tests/outside/hose_chart.yaml."""

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


def velocity_through(flow: Value, section: Value) -> Value:
    """Mean velocity [m/s] of a flow [m^3/s] through a section [m^2] of any shape.

    >>> round(velocity_through(40 / 60e3, 126.7e-6), 2)
    5.26
    """
    return flow / section


def flow_at(speed: Value, bore: Value) -> Value:
    """Flow [m^3/s] in a bore [m] at a mean velocity [m/s]; the inverse of `velocity`.

    >>> round(flow_at(5.263, 0.0127) * 60e3, 1)
    40.0
    """
    return speed * area(bore)


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


def poiseuille(flow: Value, length: Value, bore: Value, mu: Value) -> Value:
    """Laminar drop [Pa] of a round line, 128 mu L Q/(pi d^4), from the dynamic viscosity mu [Pa s].

    >>> round(poiseuille(2e-5, 10.0, 0.020, 0.4))
    20372
    """
    return 128.0 * mu * length * flow / (np.pi * bore**4)


def laminar_flow(drop: Value, length: Value, bore: Value, mu: Value) -> Value:
    """Laminar flow [m^3/s] under a drop [Pa]: the inverse of `poiseuille`.

    >>> round(laminar_flow(90e3, 60.0, 0.126, 1.2), 5)
    0.00773
    """
    return drop * np.pi * bore**4 / (128.0 * mu * length)


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
    below, Colebrook above) it differs by 0.1 % below Re 2000; up to 1.7 % (smooth) or 3 % (roughness 1 % of the bore)
    from 4000 to 10 000; 0.7 % (smooth) or 2 % above. Between 2000 and 4000, where no formula is certain, it lies up to
    38 % (smooth) or 46 % off. For the zone in which a result is uncertain see `TRANSITION`.

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


def darcy(f: Value, length: Value, bore: Value, rho: Value, speed: Value) -> Value:
    """Darcy-Weisbach drop [Pa] of a straight line from a Darcy friction factor f: f (L/d) rho v^2/2.

    >>> round(darcy(0.02, 10.0, 0.02, 870.0, 3.0))
    39150
    """
    return f * length / bore * rho * speed**2 / 2.0


def three_k(re: Value, bore: Value, constants: tuple[float, float, float]) -> Value:
    """Loss coefficient of a fitting at a Reynolds number, 3-K method: K = K1/Re + Ki (1 + Kd/D^0.3), D in inches [1]_.

    Parameters
    ----------
    re : float or array
        Reynolds number, not zero, [-]
    bore : float or array
        Inside diameter, [m]
    constants : tuple
        (K1, Ki, Kd) of the form of fitting, see `standards.loss`

    Returns
    -------
    K : float or array
        [-]

    Notes
    -----
    A constant K, as in tables for water, under-states the loss of a fitting below a Reynolds number of about 1000.

    References
    ----------
    .. [1] After Darby, as in the open library `fluids` 1.3.1 and a public copy of the table of constants.

    Examples
    --------
    Threaded elbow, 1 in, Re 1000

    >>> round(three_k(1000.0, 0.0254, (800.0, 0.14, 4.0)), 2)
    1.5
    """
    k1, ki, kd = constants
    return plain(k1 / np.abs(re) + ki * (1.0 + kd / (bore / 0.0254) ** 0.3))


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
    """True where the Reynolds number lies in the uncertain zone, see `TRANSITION`.

    >>> bool(in_transition(2500.0)), bool(in_transition(900.0))
    (True, False)
    """
    size = np.abs(np.asarray(re))
    return (size > TRANSITION[0]) & (size < TRANSITION[1])
