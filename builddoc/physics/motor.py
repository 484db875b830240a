"""Hydraulic motors: speed, flow, torque, efficiencies. SI units: displacement m^3/rad, speed rad/s."""

from __future__ import annotations

from .values import Value


def speed(flow: Value, displacement: Value, volumetric_efficiency: Value = 1.0) -> Value:
    """Speed [rad/s] from the flow [m^3/s] into a motor of a displacement [m^3/rad].

    >>> round(speed(22.3 / 60e3, 100e-6 / 6.283185, 0.9) * 9.549297)
    201
    """
    return flow * volumetric_efficiency / displacement


def flow(displacement: Value, shaft_speed: Value, volumetric_efficiency: Value = 1.0) -> Value:
    """Flow [m^3/s] that a motor takes at a speed [rad/s].

    >>> round(flow(100e-6 / 6.283185, 21.017, 0.9) * 60e3, 1)
    22.3
    """
    return displacement * shaft_speed / volumetric_efficiency


def torque(displacement: Value, drop: Value, mechanical_efficiency: Value = 1.0) -> Value:
    """Torque [N m] from the pressure drop [Pa] across a motor, T = D dp eta_m.

    >>> round(torque(100e-6 / 6.283185, 100e5, 0.9), 1)
    143.2
    """
    return displacement * drop * mechanical_efficiency


def drop(displacement: Value, shaft_torque: Value, mechanical_efficiency: Value = 1.0) -> Value:
    """Pressure drop [Pa] that a torque [N m] takes; the inverse of `torque`.

    >>> round(drop(100e-6 / 6.283185, 143.24, 0.9) / 1e5)
    100
    """
    return shaft_torque / (displacement * mechanical_efficiency)


def displacement_for(inflow: Value, shaft_speed: Value, volumetric_efficiency: Value = 1.0) -> Value:
    """Displacement [m^3/rad] that turns at a speed [rad/s] on a flow [m^3/s].

    >>> round(displacement_for(22.3 / 60e3, 21.017, 0.9) * 6.283185e6)
    100
    """
    return inflow * volumetric_efficiency / shaft_speed


def torque_from_flow(inflow: Value, pressure_drop: Value, shaft_speed: Value) -> Value:
    """Torque [N m] of a loss-free motor that takes a flow at a pressure drop and turns at a speed: p Q/w.

    >>> round(torque_from_flow(22.3 / 60e3, 100e5, 23.352), 1)
    159.2
    """
    return inflow * pressure_drop / shaft_speed


def flow_for(shaft_torque: Value, shaft_speed: Value, pressure_drop: Value) -> Value:
    """Flow [m^3/s] that a loss-free motor takes to give a torque [N m] at a speed [rad/s] from a drop [Pa].

    >>> round(flow_for(159.15, 23.352, 100e5) * 60e3, 1)
    22.3
    """
    return shaft_torque * shaft_speed / pressure_drop


def volumetric_efficiency(displacement: Value, shaft_speed: Value, inflow: Value) -> Value:
    """Displacement times speed over the flow taken [-].

    >>> round(volumetric_efficiency(100e-6 / 6.283185, 21.017, 22.3 / 60e3), 2)
    0.9
    """
    return displacement * shaft_speed / inflow


def mechanical_efficiency(shaft_torque: Value, displacement: Value, pressure_drop: Value) -> Value:
    """Torque given over displacement times pressure drop [-].

    >>> round(mechanical_efficiency(143.24, 100e-6 / 6.283185, 100e5), 2)
    0.9
    """
    return shaft_torque / (displacement * pressure_drop)


def overall_efficiency(shaft_torque: Value, shaft_speed: Value, pressure_drop: Value, inflow: Value) -> Value:
    """Shaft power given over hydraulic power taken [-].

    >>> round(overall_efficiency(143.24, 21.017, 100e5, 22.3 / 60e3), 2)
    0.81
    """
    return shaft_torque * shaft_speed / (pressure_drop * inflow)


def vane_actuator_displacement(vane_radius: Value, rotor_radius: Value, length: Value) -> Value:
    """Displacement [m^3/rad] of a rotary vane actuator with one vane; geometry.

    Parameters: radius of the vane tip, radius of the rotor, length of the vane, [m].

    >>> round(vane_actuator_displacement(0.0381, 0.0127, 0.0254) * 6.283185e6, 1)
    103.0
    """
    return (vane_radius**2 - rotor_radius**2) * length / 2.0
