"""Power and efficiency; elementary mechanics. SI units."""

from __future__ import annotations

from .values import Value


def hydraulic(pressure: Value, flow: Value) -> Value:
    """Power [W] of a flow [m^3/s] at a pressure difference [Pa], P = p Q.

    >>> round(hydraulic(150e5, 22.3 / 60e3))
    5575
    """
    return pressure * flow


def shaft(torque: Value, speed: Value) -> Value:
    """Power [W] of a shaft from torque [N m] and angular speed [rad/s], P = T w.

    >>> round(shaft(50.0, 100.0))
    5000
    """
    return torque * speed


def linear(force: Value, speed: Value) -> Value:
    """Power [W] of a force [N] that moves at a speed [m/s], P = F v.

    >>> round(linear(20e3, 0.05))
    1000
    """
    return force * speed


def torque(power: Value, speed: Value) -> Value:
    """Torque [N m] of a shaft that gives a power [W] at an angular speed [rad/s].

    >>> round(torque(5000.0, 100.0))
    50
    """
    return power / speed


def pressure(power: Value, flow: Value) -> Value:
    """Pressure rise [Pa] that a hydraulic power [W] makes in a flow [m^3/s].

    >>> round(pressure(5575.0, 22.3 / 60e3) / 1e5)
    150
    """
    return power / flow


def taken(given: Value, efficiency: Value) -> Value:
    """Power [W] that a machine takes to give a power [W] at an efficiency [-].

    >>> taken(800.0, 0.8)
    1000.0
    """
    return given / efficiency


def lost(given: Value, efficiency: Value) -> Value:
    """Power [W] that becomes heat in a machine that gives a power [W] at an efficiency [-].

    >>> lost(800.0, 0.8)
    200.0
    """
    return given / efficiency - given


def efficiency(given: Value, taken_power: Value) -> Value:
    """Efficiency [-] from the power given and the power taken [W].

    >>> efficiency(800.0, 1000.0)
    0.8
    """
    return given / taken_power
