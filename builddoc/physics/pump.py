"""Pumps of fixed displacement: flow, torque, efficiencies, displacement from measured parts. SI units.

Displacement is in m^3/rad, speed in rad/s (10 cm^3/rev = 1.5915e-6 m^3/rad).
"""

from __future__ import annotations

import numpy as np

from .values import Value, plain


def flow(displacement: Value, speed: Value, volumetric_efficiency: Value = 1.0) -> Value:
    """Delivered flow [m^3/s] from displacement [m^3/rad] and speed [rad/s], Q = D w eta_v.

    >>> round(flow(10e-6 / 6.283185, 251.327, 0.93) * 60e3, 2)
    22.32
    """
    return displacement * speed * volumetric_efficiency


def torque(displacement: Value, pressure_rise: Value, mechanical_efficiency: Value = 1.0) -> Value:
    """Torque [N m] that the pump takes, T = D dp/eta_m.

    >>> round(torque(10e-6 / 6.283185, 150e5, 0.9), 1)
    26.5
    """
    return displacement * pressure_rise / mechanical_efficiency


def volumetric_efficiency(delivered: Value, displacement: Value, speed: Value) -> Value:
    """Delivered flow over displacement times speed [-].

    >>> round(volumetric_efficiency(22.32 / 60e3, 10e-6 / 6.283185, 251.327), 2)
    0.93
    """
    return delivered / (displacement * speed)


def mechanical_efficiency(overall: Value, volumetric: Value) -> Value:
    """Mechanical efficiency [-] from the overall and the volumetric one.

    >>> round(mechanical_efficiency(0.837, 0.93), 2)
    0.9
    """
    return overall / volumetric


def gear_displacement(outside: Value, root: Value, width: Value) -> Value:
    """Displacement [m^3/rad] of an external gear pump from its gears, pi/4 (Do^2 - Di^2) L per turn [1]_.

    Parameters
    ----------
    outside, root, width : float or array
        Outside diameter, inside (root) diameter and width of the gears, [m]

    Returns
    -------
    D : float or array
        [m^3/rad]

    Notes
    -----
    An estimate for a pump without a plate: it takes the tooth spaces as large as the teeth.

    References
    ----------
    .. [1] Fluid Power with Applications, Ex 5-1.

    Examples
    --------
    >>> round(gear_displacement(0.040, 0.028, 0.020) * 6.283185e6, 2)
    12.82
    """
    return (outside**2 - root**2) * width / 8.0


def vane_displacement(cam: Value, rotor: Value, eccentricity: Value, width: Value) -> Value:
    """Displacement [m^3/rad] of a vane pump, pi/2 (Dc + Dr) e L per turn (Fluid Power with Applications, Ex 5-3).

    Parameters: diameter of cam ring and rotor, eccentricity, width, [m].

    >>> round(vane_displacement(0.075, 0.050, 0.008, 0.050) * 6.283185e6, 2)
    78.54
    """
    return (cam + rotor) * eccentricity * width / 4.0


def piston_displacement(pistons: Value, bore: Value, stroke: Value) -> Value:
    """Displacement [m^3/rad] of a piston pump from the number, bore and stroke [m] of its pistons; geometry.

    >>> round(piston_displacement(5, 0.028575, 0.0254) * 6.283185e6, 2)
    81.45
    """
    return pistons * bore**2 / 4.0 * stroke / 2.0


def swash_stroke(circle: Value, angle: Value) -> Value:
    """Stroke [m] of axial pistons on a circle [m] under a swash or offset angle [rad]; geometry.

    >>> round(swash_stroke(0.125, 0.174533), 5)
    0.02204
    """
    return plain(circle * np.tan(angle))
