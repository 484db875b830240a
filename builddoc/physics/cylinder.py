"""Cylinders: areas, force, speed, pressure intensification, regeneration. SI units, gauge pressures.

Elementary mechanics; each function is checked against published worked examples in `tests/outside`.
"""

from __future__ import annotations

import numpy as np

from .values import Value, plain


def cap_area(bore: Value) -> Value:
    """Area [m^2] of the cap side (or of a rod) from its diameter [m].

    >>> round(cap_area(0.050) * 1e4, 2)
    19.63
    """
    return np.pi / 4.0 * bore**2


def annulus_area(bore: Value, rod: Value) -> Value:
    """Area [m^2] of the rod side from bore and rod diameter [m].

    >>> round(annulus_area(0.050, 0.030) * 1e4, 2)
    12.57
    """
    return np.pi / 4.0 * (bore**2 - rod**2)


def force(pressure: Value, area: Value, back_pressure: Value = 0.0, back_area: Value = 0.0) -> Value:
    """Force [N] of a pressure [Pa] on an area [m^2], less a back pressure on the other side.

    Parameters
    ----------
    pressure, area : float or array
        Driving pressure [Pa] and the area it acts on [m^2]
    back_pressure, back_area : float or array, optional
        Pressure [Pa] and area [m^2] of the other side

    Returns
    -------
    F : float or array
        [N], positive in the sense of the driving side; friction is not included

    Examples
    --------
    >>> round(force(150e5, cap_area(0.050)))
    29452
    """
    return pressure * area - back_pressure * back_area


def pressure(load: Value, area: Value, back_pressure: Value = 0.0, back_area: Value = 0.0) -> Value:
    """Pressure [Pa] on an area [m^2] that holds a load [N] and a back pressure [Pa] on the other side's area [m^2].

    >>> round(pressure(29452.0, cap_area(0.050)) / 1e5)
    150
    """
    return (load + back_pressure * back_area) / area


def area_for(load: Value, driving_pressure: Value) -> Value:
    """Area [m^2] that a load [N] needs at a pressure [Pa].

    >>> round(area_for(29452.0, 150e5) * 1e4, 2)
    19.63
    """
    return load / driving_pressure


def bore_for(load: Value, driving_pressure: Value) -> Value:
    """Bore [m] that a pushed load [N] needs at a pressure [Pa], without friction.

    >>> round(bore_for(29452.0, 150e5), 3)
    0.05
    """
    return plain(np.sqrt(4.0 * load / (np.pi * driving_pressure)))


def speed(flow: Value, area: Value, efficiency: Value = 1.0) -> Value:
    """Speed [m/s] from the flow [m^3/s] into a side of an area [m^2]; efficiency: share that does not leak past.

    >>> round(speed(22.3 / 60e3, cap_area(0.050)), 3)
    0.189
    """
    return flow * efficiency / area


def flow(rod_speed: Value, area: Value) -> Value:
    """Flow [m^3/s] of a side of an area [m^2] at a speed [m/s].

    >>> round(flow(0.1893, cap_area(0.050)) * 60e3, 1)
    22.3
    """
    return rod_speed * area


def swept(area: Value, stroke: Value) -> Value:
    """Volume [m^3] swept by an area [m^2] over a stroke [m].

    >>> round(swept(cap_area(0.050), 0.4) * 1e3, 3)
    0.785
    """
    return area * stroke


def cycle_volume(bore_area: Value, rod_area: Value, stroke: Value) -> Value:
    """Oil [m^3] that one stroke out and one back take: twice the cap side less the rod.

    >>> round(cycle_volume(cap_area(0.050), cap_area(0.030), 0.4) * 1e3, 3)
    1.288
    """
    return swept(bore_area, stroke) + swept(bore_area - rod_area, stroke)


def travel(volume: Value, area: Value) -> Value:
    """Travel [m] that a volume [m^3] makes on an area [m^2].

    >>> round(travel(0.785e-3, cap_area(0.050)), 3)
    0.4
    """
    return volume / area


def stroke_time(area: Value, stroke: Value, inflow: Value) -> Value:
    """Time [s] for a stroke [m] of an area [m^2] at a flow [m^3/s].

    >>> round(stroke_time(cap_area(0.050), 0.4, 22.3 / 60e3), 2)
    2.11
    """
    return area * stroke / inflow


def intensified(driving_pressure: Value, driving_area: Value, closed_area: Value) -> Value:
    """Pressure [Pa] on the smaller side when a larger one drives it with no load on the rod: p A1/A2.

    The rod side of a cylinder that is shut while the cap side is driven sees this, and so does an intensifier.

    >>> round(intensified(150e5, cap_area(0.050), annulus_area(0.050, 0.030)) / 1e5, 1)
    234.4
    """
    return driving_pressure * driving_area / closed_area


def regeneration_speed(pump_flow: Value, rod_area: Value) -> Value:
    """Speed [m/s] out while the rod side feeds the cap side: pump flow over rod area.

    >>> round(regeneration_speed(22.3 / 60e3, cap_area(0.030)), 3)
    0.526
    """
    return pump_flow / rod_area


def regeneration_force(driving_pressure: Value, rod_area: Value) -> Value:
    """Force [N] out while the same pressure stands on both sides: pressure times rod area.

    >>> round(regeneration_force(150e5, cap_area(0.030)))
    10603
    """
    return driving_pressure * rod_area
