"""What the standard for springs asks of the coil: stress at full bump, and the gap that it recommends to keep."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import Finding, Label, Situation
from service.engine.parts import Forming
from service.engine.places import BUMP_CONTACT, FULL_BUMP
from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.springs import (
    buckling_deflection_ratio,
    corrected_shear_stress_mpa,
    permissible_stress_at_solid_mpa,
    sum_of_minimum_gaps_mm,
)

SPRING_STRESS = Label("spring_stress", "full_bump", "shear_stress_mpa", required=False)
COIL_GAP_RECOMMENDED = Label("coil_gap_recommended", "bump_contact", "coil_gap_mm", required=False)
SPRING_BUCKLING = Label(
    "spring_buckling",
    "full_bump",
    "spring_deflection_mm",
    required=False,
    why_not="How the spring's ends are guided is not known: give its seating coefficient.",
)
YOUNGS_MODULUS_MPA = 206_000.0  # spring steel, EN 10089, known second-hand
FORMINGS: tuple[Forming, Forming] = ("hot", "cold")


def spring_stress(at: Situation) -> list[Finding]:
    """Permissible shear stress less the corrected stress at full bump, MPa; advisory.

    The permissible stress holds for uncorrected stress at solid: holding the corrected one against it errs on the safe
    side.
    """
    rows, force = at.rows, at.build.spring_force_n[FULL_BUMP]
    if rows.axle.axle.traits.spring != "coil":
        return []
    stress = corrected_shear_stress_mpa(force, rows["wire"], rows["mean_diameter"])
    hot, cold = (permissible_stress_at_solid_mpa(rows["wire"], f, rows["tensile_strength"]) for f in FORMINGS)
    permissible = _by_forming(rows, hot, cold, np.minimum(hot, cold))
    return [
        Finding(
            SPRING_STRESS,
            value=stress,
            limit=permissible,
            margin=permissible - stress,
            details={"spring_force_n": force},
        )
    ]


def coil_gap_recommended(at: Situation) -> list[Finding]:
    """Coil gap at bump contact less the sum of minimum gaps S_a of a spring that works, mm; advisory."""
    rows = at.rows
    if rows.axle.axle.traits.spring != "coil":
        return []
    left = at.build.seat_gap_mm[BUMP_CONTACT] - rows.solid_length
    size = (rows["wire"], rows["mean_diameter"], rows["active_coils"])
    hot, cold = (sum_of_minimum_gaps_mm(*size, forming, dynamic=True) for forming in FORMINGS)
    recommended = _by_forming(rows, hot, cold, np.maximum(hot, cold))
    return [Finding(COIL_GAP_RECOMMENDED, value=left, limit=recommended, margin=left - recommended)]


def spring_buckling(at: Situation) -> list[Finding]:
    """Deflection at which the coil would buckle less its deflection at full bump, mm; advisory.

    Where the guidance of its ends, and so its seating coefficient, is known. A coil that never buckles has no margin.
    """
    rows, seating = at.rows, at.rows["seating_coefficient"]
    if rows.axle.axle.traits.spring != "coil":
        return []
    free, youngs = rows["free_length"], np.float64(YOUNGS_MODULUS_MPA)
    ratio = buckling_deflection_ratio(free, rows["mean_diameter"], seating, youngs, rows["shear_modulus"])
    deflection = free - at.build.seat_gap_mm[FULL_BUMP]
    buckles = np.where(np.isfinite(ratio), ratio * free, np.nan)
    return [
        Finding(
            SPRING_BUCKLING,
            value=deflection,
            limit=buckles,
            margin=np.where(np.isposinf(ratio), free, buckles) - deflection,
            applies=~rows.unknown("seating_coefficient"),
        )
    ]


def _by_forming(rows: Rows, hot: Array, cold: Array, unknown: Array) -> Array:
    formed = rows["hot_formed"]
    return np.where(np.isnan(formed), unknown, np.where(formed > 0.5, hot, cold))
