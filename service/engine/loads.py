"""Static loads on axles and wheels, the force of a gas-filled damper, and the ride frequency."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

STANDARD_GRAVITY = 9.80665  # m/s2, exact: 3rd General Conference on Weights and Measures, 1901 (from memory)
MM_PER_M = 1000.0


def axle_shares(
    mass_kg: ArrayLike, behind_front_axle_mm: ArrayLike, wheelbase_mm: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Front and rear axle's share of a mass on a level vehicle, by moments about the axles, kg.

         x
      |----->m        rear  = m x / L
      O-----------O   front = m - rear: nothing of the mass is lost
      |     L     |

    ``mass_kg`` m, ``behind_front_axle_mm`` x (negative ahead of the front axle, which lifts the rear: a negative
    share), ``wheelbase_mm`` L > 0. Shapes: any that broadcast. The height of the mass does not enter.

    Source: statics; Jazar, Vehicle Dynamics, ch. 2 (read).

    >>> front, rear = axle_shares(96.0, -720.0, 3_200.0)
    >>> round(float(front), 3), round(float(rear), 3)
    (117.6, -21.6)
    """
    mass = np.asarray(mass_kg, np.float64)
    rear = np.asarray(mass * np.asarray(behind_front_axle_mm, np.float64) / np.asarray(wheelbase_mm, np.float64))
    return np.asarray(mass - rear), rear


def wheel_load_n(axle_mass_kg: ArrayLike) -> NDArray[np.float64]:
    """Load on each wheel of an axle that carries ``axle_mass_kg``, both sides alike, N. Shape kept.

    >>> round(float(wheel_load_n(1_200.0)), 2)
    5883.99
    """
    return np.asarray(np.asarray(axle_mass_kg, np.float64) / 2.0 * STANDARD_GRAVITY)


def mass_centre_behind_front_axle_mm(
    front_kg: ArrayLike, rear_kg: ArrayLike, wheelbase_mm: ArrayLike
) -> NDArray[np.float64]:
    """Distance of the mass centre behind the front axle, mm, from what the axles carry.

    ``front_kg`` and ``rear_kg`` (their sum positive), ``wheelbase_mm``. Shapes: any that broadcast.

    Source: statics; Jazar, Vehicle Dynamics, ch. 2 (read).

    >>> float(mass_centre_behind_front_axle_mm(1_000.0, 1_000.0, 3_000.0))
    1500.0
    """
    front, rear = np.asarray(front_kg, np.float64), np.asarray(rear_kg, np.float64)
    return np.asarray(np.asarray(wheelbase_mm, np.float64) * (rear / (front + rear)))


def gas_rod_force_n(pressure_mpa: ArrayLike, rod_diameter_mm: ArrayLike) -> NDArray[np.float64]:
    """Force with which the gas of a damper pushes its rod out, N: pressure times the section of the rod.

    ``pressure_mpa`` over the outside air, ``rod_diameter_mm``. Shapes: any that broadcast.

    Source: Dixon, The Shock Absorber Handbook, 2nd ed. (the form, from memory).

    >>> round(float(gas_rod_force_n(2.5, 22.0)), 2)
    950.33
    """
    section_mm2 = np.pi / 4.0 * np.asarray(rod_diameter_mm, np.float64) ** 2
    return np.asarray(np.asarray(pressure_mpa, np.float64) * section_mm2)


def ride_frequency_hz(wheel_rate_n_per_mm: ArrayLike, sprung_mass_kg: ArrayLike) -> NDArray[np.float64]:
    """Undamped frequency of the sprung mass on one wheel, Hz: sqrt(k / m) / (2 pi).

    ``wheel_rate_n_per_mm`` k at the wheel, the tyre in series if it is to count; ``sprung_mass_kg`` m > 0 on that
    wheel. Shapes: any that broadcast. The unsprung mass is left out, which errs by less than 1 % on a car.

    Source: elementary; Automotive Chassis Engineering, p. 209 (read), for the two-mass figures it is tested against.

    >>> round(float(ride_frequency_hz(22.0, 317.5)), 4)
    1.3248
    """
    rate_n_per_m = np.asarray(wheel_rate_n_per_mm, np.float64) * MM_PER_M
    return np.asarray(np.sqrt(rate_n_per_m / np.asarray(sprung_mass_kg, np.float64)) / (2.0 * np.pi))
