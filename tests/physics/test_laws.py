"""Properties that the laws must have whatever the numbers: inverses, limits, monotony, broadcasting."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builddoc.physics import accumulator, buckling, cylinder, hammer, heat, line, motor, oil, orifice, pump, strength
from hypothesis import given, settings
from hypothesis import strategies as st

positive = st.floats(0.05, 20.0)


# ---- oil
@given(nu40=st.floats(8.0, 700.0), share=st.floats(0.05, 0.5))
@settings(max_examples=60, deadline=None)
def test_viscosity_goes_through_both_points(nu40: float, share: float) -> None:
    nu100 = max(1.5, nu40 * share)
    if nu100 >= nu40:
        return
    assert oil.viscosity(nu40 * 1e-6, nu100 * 1e-6, 313.15) == pytest.approx(nu40 * 1e-6, rel=2e-3)
    assert oil.viscosity(nu40 * 1e-6, nu100 * 1e-6, 373.15) == pytest.approx(nu100 * 1e-6, rel=2e-3)


def test_oil_thins_as_it_warms() -> None:
    temperature = np.linspace(253.15, 393.15, 141)
    nu = oil.viscosity(46e-6, 6.76e-6, temperature)
    assert nu.shape == temperature.shape
    assert np.all(np.diff(nu) < 0)
    assert np.all(np.diff(oil.density(870.0, temperature)) < 0)
    assert isinstance(oil.viscosity(46e-6, 6.76e-6, 318.15), float)


def test_correction_below_two_centistokes() -> None:
    """The inverse that ASTM D341 gives undoes its correction to 1 % down to 0.3 cSt; neither acts above 2 cSt."""
    for nu in (0.3, 0.5, 1.0, 1.5, 2.0, 5.0, 46.0):
        assert oil._centistokes(oil._z(nu)) == pytest.approx(nu, rel=0.012 if nu < 2 else 1e-3)
    assert oil._z(3.0) - 3.7 < 1e-5


def test_oil_that_does_not_thin_is_refused() -> None:
    with pytest.raises(ValueError, match="less than the viscosity at 40"):
        oil.viscosity(32e-6, 32e-6, 318.15)
    with pytest.raises(ValueError):
        oil.viscosity(32e-6, -1e-6, 318.15)


def test_range_of_the_viscosity_law() -> None:
    cold = oil.viscosity(680e-6, 41.1e-6, 243.15)
    assert not oil.in_range(cold)
    assert oil.in_range(oil.viscosity(46e-6, 6.76e-6, 263.15))


# ---- lines
def test_friction_is_finite_at_rest_and_continuous() -> None:
    assert line.friction_times_re(0.0) == 64.0
    re = np.array([199.999, 200.001])
    assert np.diff(line.friction_times_re(re, 1e-3))[0] == pytest.approx(0.0, abs=1e-6)
    assert line.friction_times_re(-5e4, 1e-3) == line.friction_times_re(5e4, 1e-3)
    assert np.all(np.diff(line.friction_times_re(np.geomspace(1, 1e7, 500), 1e-3)) >= -1e-9)


def test_laws_broadcast() -> None:
    q = np.array([1e-4, 2e-4, 3e-4])
    nu = np.array([20e-6, 46e-6, 500e-6])
    assert line.pressure_drop(q, 1.0, 0.0127, 870.0, nu).shape == (3,)
    assert line.minor_loss(np.array([1.0, 2.0]), 0.0127, 870.0).shape == (2,)
    assert orifice.flow(np.array([-1e5, 0.0, 1e5]), 1e-6, 870.0).tolist() == pytest.approx(
        [-orifice.flow(1e5, 1e-6, 870.0), 0.0, orifice.flow(1e5, 1e-6, 870.0)]
    )


def test_pressure_drop_adds_up() -> None:
    """Two lines in a row lose what one of their length loses; fittings add theirs."""
    q = 3e-4
    one = line.pressure_drop(q, 3.0, 0.0127, 870.0, 46e-6, 1e-5, 2.0)
    parts = (
        line.pressure_drop(q, 1.0, 0.0127, 870.0, 46e-6, 1e-5)
        + line.pressure_drop(q, 2.0, 0.0127, 870.0, 46e-6, 1e-5)
        + line.minor_loss(2.0, 0.0127, 870.0) * q**2
    )
    assert one == pytest.approx(parts)


# ---- heat
@given(
    power=st.floats(100.0, 1e4), conductance=st.floats(0.0, 50.0), minutes=st.floats(0.1, 200.0), above=st.floats(0, 30)
)
@settings(max_examples=100, deadline=None)
def test_time_to_a_temperature_is_the_inverse_of_the_temperature_after_a_time(
    power: float, conductance: float, minutes: float, above: float
) -> None:
    start, ambient, capacity = 293.15 + above, 293.15, 7e4
    if power - conductance * above <= 1.0:
        return
    after = heat.temperature_after(60 * minutes, start, power, conductance, ambient, capacity)
    if conductance and after > heat.steady_temperature(power, conductance, ambient) - 0.01:
        return  # settled: the time is not defined any more
    assert heat.time_to(after, start, power, conductance, ambient, capacity) == pytest.approx(60 * minutes, rel=1e-5)


def test_warming_against_numerical_integration() -> None:
    scipy = pytest.importorskip("scipy.integrate")
    run = scipy.solve_ivp(lambda t, T: (3000.0 - 15.0 * (T - 293.15)) / 8e4, (0, 1800.0), [283.15], rtol=1e-9)
    assert heat.temperature_after(1800.0, 283.15, 3000.0, 15.0, 293.15, 8e4) == pytest.approx(run.y[0, -1], abs=1e-4)


def test_limits_of_the_heat_balance() -> None:
    assert heat.time_to(355.15, 293.15, 100.0, 10.0, 293.15, 7e4) == math.inf  # settles at 30 degC
    assert heat.time_to(290.0, 293.15, 100.0, 10.0, 293.15, 7e4) == 0.0
    assert heat.time_to(355.15, 293.15, 0.0, 0.0, 293.15, 7e4) == math.inf
    assert heat.time_to(303.15, 293.15, 700.0, 0.0, 293.15, 7e4) == pytest.approx(1000.0)  # no cooling: C dT/P
    assert heat.steady_temperature(500.0, 0.0, 293.15) == math.inf
    assert heat.steady_temperature(0.0, 0.0, 293.15) == 293.15
    cooled = heat.temperature_after(1e9, 350.0, 0.0, 5.0, 293.15, 7e4)
    assert cooled == pytest.approx(293.15)
    both = heat.time_to(355.15, 293.15, np.array([100.0, 5000.0]), 10.0, 293.15, 7e4)
    assert both[0] == math.inf and 800 < both[1] < 1000


# ---- actuators and the rest
@given(bore=positive, share=st.floats(0.2, 0.9), pressure=positive, flow=positive)
@settings(max_examples=40, deadline=None)
def test_cylinder_conserves_power(bore: float, share: float, pressure: float, flow: float) -> None:
    area = cylinder.annulus_area(bore, share * bore)
    power = cylinder.force(pressure, area) * cylinder.speed(flow, area)
    assert power == pytest.approx(pressure * flow)
    out = cylinder.intensified(pressure, cylinder.cap_area(bore), area)
    assert out * area == pytest.approx(pressure * cylinder.cap_area(bore))


def test_rod_side_of_a_driven_shut_cylinder_is_above_the_drive() -> None:
    ratio = cylinder.intensified(1.0, cylinder.cap_area(0.05), cylinder.annulus_area(0.05, 0.03))
    assert ratio == pytest.approx(1 / (1 - 0.36))


@given(displacement=positive, speed=positive, eta=st.floats(0.5, 1.0))
@settings(max_examples=40, deadline=None)
def test_pump_drives_equal_motor_at_the_product_of_efficiencies(displacement: float, speed: float, eta: float) -> None:
    flow = pump.flow(displacement, speed, eta)
    assert motor.speed(flow, displacement, eta) == pytest.approx(speed * eta * eta)
    assert motor.flow(displacement, motor.speed(flow, displacement, eta), eta) == pytest.approx(flow)
    torque = motor.torque(displacement, 5.0, eta)
    assert motor.drop(displacement, torque, eta) == pytest.approx(5.0)


def test_orifice_forms_agree() -> None:
    q = orifice.flow(30e5, 4e-6, 860.0, 0.7)
    assert orifice.drop(q, 4e-6, 860.0, 0.7) == pytest.approx(30e5)
    assert orifice.discharge_coefficient(q, 4e-6, 30e5, 860.0) == pytest.approx(0.7)


def test_rod_of_any_length_buckles_at_one_smooth_load() -> None:
    diameter, modulus, yields = 0.03, 210e9, 350e6
    constant = buckling.column_constant(modulus, yields)
    turn = constant * diameter / 4
    loads = buckling.critical(modulus, yields, diameter, np.linspace(0.2, 3, 57) * turn)
    assert np.all(np.diff(loads) < 0)
    below, above = buckling.critical(modulus, yields, diameter, np.array([0.999999, 1.000001]) * turn)
    assert below == pytest.approx(above, rel=1e-4)
    crush = math.pi / 4 * diameter**2 * yields
    assert buckling.critical(modulus, yields, diameter, 1e-6) == pytest.approx(crush, rel=1e-6)


def test_wall_formulas_meet_for_thin_walls() -> None:
    """Barlow, Lame, thin wall and the pipe formula agree when the wall is thin, and thick walls order themselves."""
    thin = [f(0.1, 0.0005, 100e6) for f in (strength.barlow, strength.lame)]
    assert thin[0] == pytest.approx(thin[1], rel=0.01)
    assert strength.pipe(0.1, 0.0005, 100e6, mill=0.0) == pytest.approx(thin[0], rel=0.01)
    assert strength.lame(0.02, 0.004, 100e6) > strength.barlow(0.02, 0.004, 80e6)
    assert strength.lame_stress(0.02, 0.004, strength.lame(0.02, 0.004, 100e6)) == pytest.approx(100e6)
    assert strength.pipe(0.0103, 0.0010, 100e6, thread_depth=0.001) == 0.0


def test_accumulator_size_and_yield_are_inverse() -> None:
    size = accumulator.size_for(1e-3, 90e5, 100e5, 180e5, 1.4)
    assert accumulator.usable(size, 90e5, 100e5, 180e5, 1.4) == pytest.approx(1e-3)
    assert accumulator.usable(size, 90e5, 100e5, 180e5, 1.0) > 1e-3  # a slow discharge gives more


def test_surge_in_elastic_lines_is_lower() -> None:
    stiff = hammer.wave_speed(1.6e9, 870.0)
    assert hammer.wave_speed(1.6e9, 870.0, 0.02, 0.002, 210e9) < stiff
    assert hammer.surge_at(40e5, 6.0, 0.001, 1200.0, 6.0) == 40e5
    assert hammer.return_time(6.0, 1200.0) == pytest.approx(0.01)
