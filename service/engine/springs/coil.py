"""What follows from wire, coil and material of a helical compression spring: rate, growth, surge, buckling."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from service.engine.parts import Ends, Forming

END_COILS: dict[tuple[Forming, Ends], float] = {
    ("cold", "closed_ground"): 2.0,  # EN 13906-1, n = nt - 2: from memory; the same in a handbook table that was read
    ("cold", "closed_unground"): 2.0,  # the same
    ("hot", "closed_ground"): 1.5,  # EN 13906-1:2013, 9.8, n = nt - 1.5: from a second-hand copy
    ("hot", "closed_unground"): 1.5,  # EN 13906-1, from memory
    ("cold", "open"): 0.0,  # handbook table, row "plain": every coil is active
    ("hot", "open"): 0.0,  # the same
}
"""Coils at the two ends together that do not deflect, by forming and ends."""


def rate_n_per_mm(
    wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, active_coils: ArrayLike, shear_modulus_mpa: ArrayLike
) -> NDArray[np.float64]:
    """Rate R = G d^4 / (8 D^3 n) of a cylindrical spring of round wire, N/mm.

    ``wire_mm`` d, ``mean_diameter_mm`` D (outside diameter less wire), ``active_coils`` n, ``shear_modulus_mpa`` G.
    Shapes: any that broadcast. All must be positive.

    Valid for a small pitch angle and constant d and D; cold coiled d <= 20 mm, n >= 2, 4 <= D/d <= 12 (scope of
    EN 13906-1, read on the publisher's page).

    Source: EN 13906-1:2013, 9.4, from a second-hand copy; primary text not read. The same in every textbook used here.

    >>> float(rate_n_per_mm(12.0, 150.0, 10.0, 80_000.0))
    6.144
    """
    wire, diameter = np.asarray(wire_mm, np.float64), np.asarray(mean_diameter_mm, np.float64)
    coils, modulus = np.asarray(active_coils, np.float64), np.asarray(shear_modulus_mpa, np.float64)
    return np.asarray(modulus * wire**4 / (8.0 * diameter**3 * coils))


def active_coils_of(total_coils: ArrayLike, forming: Forming | None, ends: Ends) -> NDArray[np.float64]:
    """Active coils n of a spring of ``total_coils`` nt: those between the dead end coils.

    ``forming`` None means unknown: the larger count of the two, since more active coils ask for more gap above solid.
    Shape: that of ``total_coils``. A pigtail or tangential end is covered by no row of the table.

    Source: ``END_COILS``, each row with its own.

    >>> float(active_coils_of(10.5, "cold", "closed_ground")), float(active_coils_of(10.5, None, "closed_ground"))
    (8.5, 9.0)
    """
    ways: tuple[Forming, ...] = ("cold", "hot") if forming is None else (forming,)
    return np.asarray(np.asarray(total_coils, np.float64) - min(END_COILS[way, ends] for way in ways))


def shear_modulus_at_mpa(modulus_at_20_c: ArrayLike, temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Shear modulus G of EN 10089 spring steel at a temperature, MPa: G20 (1 - 0.25e-3 (t - 20)).

    ``modulus_at_20_c`` G20 in MPa, ``temperature_c`` t in degrees Celsius. Shapes: any that broadcast.

    Source: EN 13906-1:2013, 8.2, from a second-hand copy; primary text not read.

    >>> float(shear_modulus_at_mpa(78_500.0, 20.0))
    78500.0
    """
    warming = np.asarray(temperature_c, np.float64) - 20.0
    return np.asarray(np.asarray(modulus_at_20_c, np.float64) * (1.0 - 0.25e-3 * warming))


def coil_growth_at_solid_mm(
    deflection_to_solid_mm: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, active_coils: ArrayLike
) -> NDArray[np.float64]:
    """Growth of the outside diameter when the spring is pressed solid, ends free to turn, mm.

    0.1 (m^2 - 0.8 m d - 0.2 d^2) / D with m = (s_c + n d) / n, the pitch of the free coil. ``deflection_to_solid_mm``
    s_c, ``wire_mm`` d, ``mean_diameter_mm`` D, ``active_coils`` n. Shapes: any that broadcast. All but s_c positive.

    Source: EN 13906-1:2013, 9.11, from a second-hand copy; primary text not read.

    >>> round(float(coil_growth_at_solid_mm(272.2, 14.0, 120.0, 6.5)), 3)
    2.048
    """
    wire = np.asarray(wire_mm, np.float64)
    pitch = np.asarray(deflection_to_solid_mm, np.float64) / np.asarray(active_coils, np.float64) + wire
    return np.asarray(0.1 * (pitch**2 - 0.8 * pitch * wire - 0.2 * wire**2) / np.asarray(mean_diameter_mm, np.float64))


def surge_frequency_hz(
    wire_mm: ArrayLike,
    mean_diameter_mm: ArrayLike,
    active_coils: ArrayLike,
    shear_modulus_mpa: ArrayLike,
    density_kg_per_dm3: ArrayLike = 7.85,  # spring steel, EN 13906-1 from a second-hand copy
) -> NDArray[np.float64]:
    """First surge frequency of a spring held at both ends, Hz: 3560 d / (n D^2) sqrt(G / rho).

    ``wire_mm`` d, ``mean_diameter_mm`` D, ``active_coils`` n, ``shear_modulus_mpa`` G, ``density_kg_per_dm3`` rho.
    Shapes: any that broadcast. All positive. The constant is the standard's rounding of sqrt(1e9) / (pi sqrt(8)).

    Source: EN 13906-1:2013, 9.12, from a second-hand copy; primary text not read.

    >>> round(float(surge_frequency_hz(14.0, 120.0, 6.5, 78_500.0)), 1)
    53.2
    """
    stiffness = np.asarray(shear_modulus_mpa, np.float64) / np.asarray(density_kg_per_dm3, np.float64)
    coil = np.asarray(wire_mm, np.float64) / np.asarray(mean_diameter_mm, np.float64) ** 2
    return np.asarray(3560.0 * coil / np.asarray(active_coils, np.float64) * np.sqrt(stiffness))


def buckling_deflection_ratio(
    free_length_mm: ArrayLike,
    mean_diameter_mm: ArrayLike,
    seating_coefficient: ArrayLike,
    youngs_modulus_mpa: ArrayLike,
    shear_modulus_mpa: ArrayLike,
) -> NDArray[np.float64]:
    """Deflection at which the spring buckles over its free length, s_K / L0; infinite where it never buckles.

    s_K / L0 = A (1 - sqrt(1 - B (pi D / (nu L0))^2)), A = 0.5 / (1 - G/E), B = (1 - G/E) / (0.5 + G/E).
    ``free_length_mm`` L0, ``mean_diameter_mm`` D, ``seating_coefficient`` nu (0.5 both ends guided and parallel, 0.7,
    1, 2 one end free), ``youngs_modulus_mpa`` E, ``shear_modulus_mpa`` G < E. Shapes: any that broadcast. All positive.

    Source: EN 13906-1:2013, about 9.14, from a second-hand copy (the clause number from memory); primary text not read.

    >>> [round(float(ratio), 4) for ratio in buckling_deflection_ratio(380.0, 120.0, [0.5, 1.0], 206_000.0, 78_500.0)]
    [inf, 0.3591]
    """
    moduli = np.asarray(shear_modulus_mpa, np.float64) / np.asarray(youngs_modulus_mpa, np.float64)
    slenderness = np.asarray(seating_coefficient, np.float64) * np.asarray(free_length_mm, np.float64)
    bow = (1.0 - moduli) / (0.5 + moduli) * (np.pi * np.asarray(mean_diameter_mm, np.float64) / slenderness) ** 2
    ratio = 0.5 / (1.0 - moduli) * (1.0 - np.sqrt(np.maximum(1.0 - bow, 0.0)))
    return np.where(bow > 1.0, np.inf, ratio)
