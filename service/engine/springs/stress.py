"""Shear stress in the wire of a helical compression spring, and what is permitted when it is pressed solid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from service.engine.parts import Forming

# Hot coiled, EN 10089 special-quality bar, ground and shot peened: uncorrected shear stress permitted at solid, by bar
# diameter. EN 13906-1:2013, digitised from its figure second-hand (+-1 %); primary text not read.
HOT_BAR_MM = (7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.6)
HOT_PERMISSIBLE_AT_SOLID_MPA = (955.0, 925.0, 896.9, 874.4, 840.2, 813.1, 794.6, 761.3, 735.8, 716.5)

COLD_PERMISSIBLE_OVER_TENSILE = 0.56  # EN 13906-1 / DIN 2089-1, cold coiled, at solid: from memory


def uncorrected_shear_stress_mpa(
    force_n: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike
) -> NDArray[np.float64]:
    """Torsional shear stress 8 F D / (pi d^3), the curvature of the wire left out, MPa: for static load and at solid.

    ``force_n`` F, ``wire_mm`` d > 0, ``mean_diameter_mm`` D > 0. Shapes: any that broadcast.

    Source: EN 13906-1:2013, from a second-hand copy; primary text not read. The same in every textbook used here.

    >>> round(float(uncorrected_shear_stress_mpa(450.0, 12.0, 150.0)), 2)
    99.47
    """
    moment = np.asarray(force_n, np.float64) * np.asarray(mean_diameter_mm, np.float64)
    return np.asarray(8.0 * moment / (np.pi * np.asarray(wire_mm, np.float64) ** 3))


def wahl_factor(spring_index: ArrayLike) -> NDArray[np.float64]:
    """Wahl's stress factor (4w - 1) / (4w - 4) + 0.615 / w for curvature and direct shear.

    ``spring_index`` w = D/d, dimensionless, about 3 to 20 and above 1 in any case. Shape kept.

    Source: Wahl, Mechanical Springs, as restated in the textbooks used here; primary text not read.

    >>> float(wahl_factor(6.0))
    1.2525
    """
    index = np.asarray(spring_index, np.float64)
    return np.asarray((4.0 * index - 1.0) / (4.0 * index - 4.0) + 0.615 / index)


def bergstraesser_factor(spring_index: ArrayLike) -> NDArray[np.float64]:
    """Bergstraesser's stress factor (w + 0.5) / (w - 0.75), within 1.3 % of Wahl's from w = 5 up.

    ``spring_index`` w = D/d, dimensionless, about 3 to 20 and above 0.75 in any case. Shape kept.

    Source: the correction of EN 13906-1:2013, figure 3, from a second-hand copy; primary text not read.

    >>> round(float(bergstraesser_factor(6.0)), 6)
    1.238095
    """
    index = np.asarray(spring_index, np.float64)
    return np.asarray((index + 0.5) / (index - 0.75))


def direct_shear_factor(spring_index: ArrayLike) -> NDArray[np.float64]:
    """Stress factor 1 + 0.5 / w for direct shear alone, the curvature ignored: static load only.

    ``spring_index`` w = D/d > 0, dimensionless. Shape kept.

    Source: textbooks (Jindal, Machine Design, 8-1; Sadhu Singh, Machine Design I, 8.12), from worked companions.

    >>> float(direct_shear_factor(5.0))
    1.1
    """
    return np.asarray(1.0 + 0.5 / np.asarray(spring_index, np.float64))


def corrected_shear_stress_mpa(
    force_n: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike
) -> NDArray[np.float64]:
    """Greatest shear stress, on the inside of the coil, MPa: the uncorrected stress times Bergstraesser's factor.

    ``force_n`` F, ``wire_mm`` d > 0, ``mean_diameter_mm`` D with D/d about 3 to 20. Shapes: any that broadcast.

    Source: EN 13906-1:2013, from a second-hand copy; primary text not read.

    >>> round(float(corrected_shear_stress_mpa(450.0, 12.0, 150.0)), 2)
    110.05
    """
    index = np.asarray(mean_diameter_mm, np.float64) / np.asarray(wire_mm, np.float64)
    return np.asarray(
        bergstraesser_factor(index) * uncorrected_shear_stress_mpa(force_n, wire_mm, mean_diameter_mm),
    )


def permissible_stress_at_solid_mpa(
    wire_mm: ArrayLike, forming: Forming | None, tensile_strength_mpa: ArrayLike
) -> NDArray[np.float64]:
    """Uncorrected shear stress that the wire may bear when pressed solid, MPa.

    ``wire_mm`` d, ``tensile_strength_mpa`` R_m (NaN where it is not known; only cold coiled springs need it). Shapes:
    any that broadcast. Cold coiled 0.56 R_m; hot coiled by bar diameter, linear between the tabled ones and NaN outside
    7.5 to 60.6 mm. ``forming`` None means unknown: the lower of the two, and NaN if either is not known.

    Source: EN 13906-1; cold from memory, hot from a second-hand copy (+-1 %); primary text not read.

    >>> round(float(permissible_stress_at_solid_mpa(12.0, "cold", 1_650.0)), 6)
    924.0
    >>> float(permissible_stress_at_solid_mpa(17.5, "hot", float("nan")))
    857.3
    """
    wire, strength = np.broadcast_arrays(
        np.asarray(wire_mm, np.float64),
        np.asarray(tensile_strength_mpa, np.float64),
    )
    if forming == "cold":
        return np.asarray(COLD_PERMISSIBLE_OVER_TENSILE * strength)
    hot = np.interp(wire, HOT_BAR_MM, HOT_PERMISSIBLE_AT_SOLID_MPA, left=np.nan, right=np.nan)
    return np.asarray(hot if forming == "hot" else np.minimum(hot, COLD_PERMISSIBLE_OVER_TENSILE * strength))
