"""Helical compression springs: rate, stress, solid length, minimum gaps, force over deflection; torsion bars; leaves.

All functions are NumPy functions of arrays or scalars that broadcast, but for those of one spring's points; lengths in
mm, forces in N, stresses and moduli in MPa. NaN in gives NaN out. Letters in a cited formula: ``d`` wire, ``D`` mean
coil diameter, ``w = D/d`` spring index, ``n`` active and ``nt`` total coils, ``G`` shear modulus, ``F`` force, ``s``
deflection, ``L0`` free length.

No primary text of a spring standard has been read: each source says what stands in for it.
"""

from service.engine.springs.coil import (
    active_coils_of,
    buckling_deflection_ratio,
    coil_growth_at_solid_mm,
    rate_n_per_mm,
    shear_modulus_at_mpa,
    surge_frequency_hz,
)
from service.engine.springs.force import (
    SegmentTable,
    force_n,
    linear_table,
    stack_tables,
    stiffness_n_per_mm,
    table_of_points,
)
from service.engine.springs.leaf import leaf_rate_n_per_mm, leaf_stress_mpa
from service.engine.springs.solid_length import (
    SOLID_LENGTH_COILS,
    common_practice_solid_length_mm,
    solid_length_mm,
    sum_of_minimum_gaps_mm,
)
from service.engine.springs.stress import (
    bergstraesser_factor,
    corrected_shear_stress_mpa,
    direct_shear_factor,
    permissible_stress_at_solid_mpa,
    uncorrected_shear_stress_mpa,
    wahl_factor,
)
from service.engine.springs.torsion_bar import (
    arm_angle_rad,
    polar_second_moment_mm4,
    shear_stress_of_bar_mpa,
    torsional_stiffness_n_mm_per_rad,
    wheel_force_n,
    wheel_rate_n_per_mm,
)
from service.engine.springs.zones import points_of_zones

__all__ = [
    "SOLID_LENGTH_COILS",
    "SegmentTable",
    "active_coils_of",
    "arm_angle_rad",
    "bergstraesser_factor",
    "buckling_deflection_ratio",
    "coil_growth_at_solid_mm",
    "common_practice_solid_length_mm",
    "corrected_shear_stress_mpa",
    "direct_shear_factor",
    "force_n",
    "leaf_rate_n_per_mm",
    "leaf_stress_mpa",
    "linear_table",
    "permissible_stress_at_solid_mpa",
    "points_of_zones",
    "polar_second_moment_mm4",
    "rate_n_per_mm",
    "shear_modulus_at_mpa",
    "shear_stress_of_bar_mpa",
    "solid_length_mm",
    "stack_tables",
    "stiffness_n_per_mm",
    "sum_of_minimum_gaps_mm",
    "surge_frequency_hz",
    "table_of_points",
    "torsional_stiffness_n_mm_per_rad",
    "uncorrected_shear_stress_mpa",
    "wahl_factor",
    "wheel_force_n",
    "wheel_rate_n_per_mm",
]
