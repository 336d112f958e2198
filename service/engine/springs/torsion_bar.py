"""A torsion bar twisted by a swing arm: its stiffness and stress, and what they make at the wheel.

bar, end on  o- - - - - - -  horizontal
              `.  ) arm angle, positive below the horizontal
          arm   `.
                  x  wheel end: the wheel force pushes it straight up
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def polar_second_moment_mm4(diameter_mm: ArrayLike, inner_diameter_mm: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Polar second moment of area J = pi (d^4 - d_i^4) / 32 of a round bar or tube, mm^4.

    ``diameter_mm`` d, ``inner_diameter_mm`` d_i (0 for a solid bar). Shapes: any that broadcast. NaN where the hole is
    not smaller than the bar, or negative.

    Source: elementary; used so in Beer, Johnston and DeWolf, Mechanics of Materials, 3.01, from a worked companion.

    >>> round(float(polar_second_moment_mm4(60.0, 40.0)), 1)
    1021017.6
    """
    outer, inner = np.asarray(diameter_mm, np.float64), np.asarray(inner_diameter_mm, np.float64)
    hollow = (inner >= 0.0) & (inner < outer)
    return np.where(hollow, np.pi / 32.0 * (outer**4 - inner**4), np.nan)


def torsional_stiffness_n_mm_per_rad(
    diameter_mm: ArrayLike,
    active_length_mm: ArrayLike,
    shear_modulus_mpa: ArrayLike,
    inner_diameter_mm: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Torque per twist k_theta = G J / L of a round bar or tube, N mm/rad.

    ``diameter_mm`` d, ``active_length_mm`` L > 0, ``shear_modulus_mpa`` G > 0, ``inner_diameter_mm`` d_i (0 for a solid
    bar). Shapes: any that broadcast. NaN where the hole is not smaller than the bar.

    Valid for elastic twist of a constant section. L is what twists: the splined ends do not count, and how much of
    their tapers does is the maker's to say.

    Source: elementary; Beer, Johnston and DeWolf, Mechanics of Materials, 3.02, from a worked companion.

    >>> round(float(torsional_stiffness_n_mm_per_rad(26.0, 1_200.0, 78_500.0)))
    2934822
    """
    moment = polar_second_moment_mm4(diameter_mm, inner_diameter_mm)
    return np.asarray(np.asarray(shear_modulus_mpa, np.float64) * moment / np.asarray(active_length_mm, np.float64))


def shear_stress_of_bar_mpa(
    torque_n_mm: ArrayLike, diameter_mm: ArrayLike, inner_diameter_mm: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Greatest shear stress T d / (2 J), at the outside of the bar, MPa; for a solid one 16 T / (pi d^3).

    ``torque_n_mm`` T (the stress takes its sign), ``diameter_mm`` d > 0, ``inner_diameter_mm`` d_i (0 for a solid bar).
    Shapes: any that broadcast. NaN where the hole is not smaller than the bar. Elastic; no stress raiser at the spline.

    Source: elementary; Beer, Johnston and DeWolf, Mechanics of Materials, 3.01, from a worked companion.

    >>> round(float(shear_stress_of_bar_mpa(4.08407e6, 60.0, 40.0)), 2)
    120.0
    """
    radius = np.asarray(diameter_mm, np.float64) / 2.0
    moment = polar_second_moment_mm4(diameter_mm, inner_diameter_mm)
    return np.asarray(np.asarray(torque_n_mm, np.float64) * radius / moment)


def _lever_mm(arm_length_mm: ArrayLike, arm_angle_rad: ArrayLike) -> NDArray[np.float64]:
    """Horizontal reach r cos(delta) of the arm; NaN where it hangs straight down, stands straight up, or is past it."""
    angle = np.asarray(arm_angle_rad, np.float64)
    outwards = np.abs(angle) < np.pi / 2.0
    return np.where(outwards, np.asarray(arm_length_mm, np.float64) * np.cos(angle), np.nan)


def wheel_force_n(torque_n_mm: ArrayLike, arm_length_mm: ArrayLike, arm_angle_rad: ArrayLike) -> NDArray[np.float64]:
    """Upward force F = T / (r cos(delta)) on the end of the arm that holds the torque of its bar, N.

    ``torque_n_mm`` T, ``arm_length_mm`` r > 0, ``arm_angle_rad`` delta, below the horizontal. Shapes: any that
    broadcast. NaN unless the arm reaches outwards, |delta| < pi/2.

    Valid for a rigid arm, square to its bar, with a vertical force at its end.

    Source: equilibrium of the arm.

    >>> float(wheel_force_n(2.0e6, 400.0, 0.0))
    5000.0
    """
    return np.asarray(np.asarray(torque_n_mm, np.float64) / _lever_mm(arm_length_mm, arm_angle_rad))


def arm_angle_rad(
    arm_angle_at_ride_rad: ArrayLike, drop_below_ride_mm: ArrayLike, arm_length_mm: ArrayLike
) -> NDArray[np.float64]:
    """Angle of the arm below the horizontal, rad, once its end has dropped: r sin(delta) = r sin(delta_ride) + drop.

    ``arm_angle_at_ride_rad`` delta_ride, below the horizontal and within a quarter turn of it, ``drop_below_ride_mm``
    drop (negative when the wheel rises), ``arm_length_mm`` r > 0. Shapes: any that broadcast. NaN where the arm is too
    short to reach that drop (|sin(delta)| >= 1).

    Source: geometry.

    >>> round(float(arm_angle_rad(0.1, [80.0], 400.0)[0]), 4)
    0.3045
    >>> float(arm_angle_rad(0.1, 400.0, 400.0))
    nan
    """
    at_ride = np.asarray(arm_angle_at_ride_rad, np.float64)
    sine = np.sin(at_ride) + np.asarray(drop_below_ride_mm, np.float64) / np.asarray(arm_length_mm, np.float64)
    reached = (np.abs(sine) < 1.0) & (np.abs(at_ride) < np.pi / 2.0)
    return np.asarray(np.arcsin(np.where(reached, sine, np.nan)))


def wheel_rate_n_per_mm(
    torsional_stiffness_n_mm_per_rad: ArrayLike,
    torque_n_mm: ArrayLike,
    arm_length_mm: ArrayLike,
    arm_angle_rad: ArrayLike,
) -> NDArray[np.float64]:
    """Growth of the wheel force per rise of the wheel, (k_theta - T tan(delta)) / (r cos(delta))^2, N/mm.

    ``torsional_stiffness_n_mm_per_rad`` k_theta, ``torque_n_mm`` T at that angle, ``arm_length_mm`` r > 0,
    ``arm_angle_rad`` delta, below the horizontal. Shapes: any that broadcast. NaN unless |delta| < pi/2.

    The second term is the lever's: an arm that hangs gets a longer lever as the wheel rises, and so a softer wheel; one
    that stands above the horizontal a harder one. Valid as ``wheel_force_n``.

    Source: T / (r cos(delta)) differentiated by the travel r sin(delta), here; no published source.

    >>> float(wheel_rate_n_per_mm(4.0e6, 2.0e6, 400.0, 0.0))
    25.0
    >>> wheel_rate_n_per_mm(4.0e6, 2.0e6, 400.0, [-0.2, 0.2]).round(2)
    array([28.67, 23.39])
    """
    softening = np.asarray(torque_n_mm, np.float64) * np.tan(np.asarray(arm_angle_rad, np.float64))
    stiffness = np.asarray(torsional_stiffness_n_mm_per_rad, np.float64)
    return np.asarray((stiffness - softening) / _lever_mm(arm_length_mm, arm_angle_rad) ** 2)
