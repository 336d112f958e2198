"""Torsion bars beyond the published values: energy and central differences as another road, unknowns, limits."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from service.engine import springs

diameters_mm = st.floats(15.0, 50.0)
bores = st.floats(0.0, 0.9)
stiffnesses = st.floats(5e5, 1e7)
arms_mm = st.floats(200.0, 600.0)
angles_rad = st.floats(-1.0, 1.0)
twists_rad = st.floats(-0.2, 1.2)


@given(diameters_mm, bores)
def test_polar_moment_against_rings_of_the_section(diameter_mm, bore):
    rings, _ = quad(lambda radius: 2.0 * np.pi * radius**3, bore * diameter_mm / 2.0, diameter_mm / 2.0)
    assert springs.polar_second_moment_mm4(diameter_mm, bore * diameter_mm) == pytest.approx(rings, rel=1e-9)


@given(diameters_mm, bores, st.floats(500.0, 1_500.0), st.floats(1e4, 1e7))
def test_stiffness_against_the_strain_energy_of_the_stress(diameter_mm, bore, length_mm, torque_n_mm):
    # Shear stress grows with the radius; its energy tau^2 / (2 G) over the bar's volume is that of the torque's work.
    modulus_mpa, inner_mm = 78_500.0, bore * diameter_mm
    outside = springs.shear_stress_of_bar_mpa(torque_n_mm, diameter_mm, inner_mm)
    per_length, _ = quad(
        lambda radius: (outside * 2.0 * radius / diameter_mm) ** 2 / (2.0 * modulus_mpa) * 2.0 * np.pi * radius,
        inner_mm / 2.0,
        diameter_mm / 2.0,
    )
    stiffness = springs.torsional_stiffness_n_mm_per_rad(diameter_mm, length_mm, modulus_mpa, inner_mm)
    assert per_length * length_mm == pytest.approx(torque_n_mm**2 / (2.0 * stiffness), rel=1e-9)


@given(diameters_mm, st.floats(1e4, 1e7))
def test_stress_of_a_solid_bar_in_its_usual_form(diameter_mm, torque_n_mm):
    stress = springs.shear_stress_of_bar_mpa(torque_n_mm, diameter_mm)
    assert stress == pytest.approx(16.0 * torque_n_mm / (np.pi * diameter_mm**3))


@given(angles_rad, arms_mm, st.floats(-1.0, 1.0))
def test_arm_angle_puts_its_end_where_the_wheel_has_gone(at_ride_rad, arm_mm, share):
    drop_mm = share * 0.9 * arm_mm * (1.0 - abs(np.sin(at_ride_rad)))
    angle = springs.arm_angle_rad(at_ride_rad, drop_mm, arm_mm)
    assert arm_mm * (np.sin(angle) - np.sin(at_ride_rad)) == pytest.approx(drop_mm, abs=1e-9)


def swung(stiffness, twist_at_ride_rad, at_ride_rad, arm_mm):
    """Torque and arm angle at a rise of the wheel above ride: the bar is wound up by what the arm turns."""

    def at(rise_mm):
        angle = springs.arm_angle_rad(at_ride_rad, -np.asarray(rise_mm), arm_mm)
        return stiffness * (twist_at_ride_rad + at_ride_rad - angle), angle

    return at


@settings(deadline=None)
@given(stiffnesses, twists_rad, angles_rad, arms_mm)
@example(3e6, 0.5, 0.3, 400.0)
def test_wheel_force_is_the_slope_of_the_energy_in_the_bar(stiffness, twist_rad, at_ride_rad, arm_mm):
    at = swung(stiffness, twist_rad, at_ride_rad, arm_mm)
    energies = 0.5 * at(np.array([-0.01, 0.01]))[0] ** 2 / stiffness
    force = springs.wheel_force_n(at(0.0)[0], arm_mm, at_ride_rad)
    assert force == pytest.approx(np.diff(energies)[0] / 0.02, rel=1e-5, abs=0.1)


@settings(deadline=None)
@given(stiffnesses, twists_rad, angles_rad, arms_mm)
@example(3e6, 0.5, 0.3, 400.0)
@example(3e6, 0.5, -0.3, 400.0)
def test_wheel_rate_against_central_differences_of_the_wheel_force(stiffness, twist_rad, at_ride_rad, arm_mm):
    at = swung(stiffness, twist_rad, at_ride_rad, arm_mm)
    torques, angles = at(np.array([-0.05, 0.0, 0.05]))
    forces = springs.wheel_force_n(torques, arm_mm, angles)
    rate = springs.wheel_rate_n_per_mm(stiffness, torques[1], arm_mm, angles[1])
    assert rate == pytest.approx((forces[2] - forces[0]) / 0.1, rel=1e-5, abs=1e-5 * stiffness / arm_mm**2)


@given(stiffnesses, st.floats(0.1, 1.2), st.floats(0.01, 1.0), arms_mm)
def test_hanging_arm_is_softer_at_the_wheel_than_one_that_stands(stiffness, twist_rad, angle_rad, arm_mm):
    hanging, level, standing = springs.wheel_rate_n_per_mm(
        stiffness, stiffness * twist_rad, arm_mm, [angle_rad, 0.0, -angle_rad]
    )
    assert level == pytest.approx(stiffness / arm_mm**2)
    assert standing > max(hanging, level)


def test_arm_straight_down_or_up_is_past_what_it_reaches():
    assert np.isnan(springs.arm_angle_rad(0.0, [400.0, -400.0], 400.0)).all()


def test_arm_that_cannot_reach_is_unknown_and_harms_no_row_beside_it():
    angles = springs.arm_angle_rad([0.1, 0.1, 0.1, 2.0], [500.0, -500.0, 40.0, 0.0], 400.0)
    assert list(np.isnan(angles)) == [True, True, False, True]
    assert np.isnan(springs.wheel_force_n(2e6, 400.0, angles)).tolist() == [True, True, False, True]
    assert np.isnan(springs.wheel_rate_n_per_mm(3e6, 2e6, 400.0, angles)).tolist() == [True, True, False, True]


@pytest.mark.parametrize("angle_rad", [np.pi / 2.0, -np.pi / 2.0, 2.0, -3.0])
def test_arm_that_does_not_reach_outwards_has_neither_force_nor_rate(angle_rad):
    assert np.isnan(springs.wheel_force_n(2e6, 400.0, angle_rad))
    assert np.isnan(springs.wheel_rate_n_per_mm(3e6, 2e6, 400.0, angle_rad))


@pytest.mark.parametrize("inner_mm", [26.0, 30.0, -5.0])
def test_hole_that_leaves_no_bar_is_unknown_not_a_small_stress(inner_mm):
    assert np.isnan(springs.polar_second_moment_mm4(26.0, inner_mm))
    assert np.isnan(springs.torsional_stiffness_n_mm_per_rad(26.0, 1_200.0, 78_500.0, inner_mm))
    assert np.isnan(springs.shear_stress_of_bar_mpa(2e6, 26.0, inner_mm))


@pytest.mark.parametrize(
    "result",
    [
        springs.polar_second_moment_mm4,
        lambda x: springs.polar_second_moment_mm4(26.0, x),
        lambda x: springs.torsional_stiffness_n_mm_per_rad(x, 1_200.0, 78_500.0),
        lambda x: springs.torsional_stiffness_n_mm_per_rad(26.0, x, 78_500.0),
        lambda x: springs.shear_stress_of_bar_mpa(x, 26.0),
        lambda x: springs.wheel_force_n(x, 400.0, 0.1),
        lambda x: springs.wheel_force_n(2e6, 400.0, x / 100.0),
        lambda x: springs.arm_angle_rad(0.1, x, 400.0),
        lambda x: springs.arm_angle_rad(x / 100.0, 20.0, 400.0),
        lambda x: springs.wheel_rate_n_per_mm(x, 2e6, 400.0, 0.1),
        lambda x: springs.wheel_rate_n_per_mm(3e6, 2e6, x, 0.1),
    ],
)
def test_unknown_in_unknown_out_and_the_known_beside_it_unharmed(result):
    both = result(np.array([11.0, np.nan]))
    assert list(np.isnan(both)) == [False, True]
    assert both[0] == result(11.0)


def test_rows_against_positions_broadcast():
    stiffness = springs.torsional_stiffness_n_mm_per_rad([[24.0], [26.0]], 1_200.0, 78_500.0)
    rate = springs.wheel_rate_n_per_mm(stiffness, 0.5 * stiffness, [[380.0], [400.0]], [0.3, 0.1, -0.1])
    assert rate.shape == (2, 3)
    assert rate[1, 2] == springs.wheel_rate_n_per_mm(stiffness[1, 0], 0.5 * stiffness[1, 0], 400.0, -0.1)
