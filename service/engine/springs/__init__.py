"""Helical compression springs: rate, stress, solid length, minimum gaps, and force over deflection.

All functions are NumPy functions of arrays or scalars that broadcast; lengths in mm, forces in N, stresses and moduli
in MPa. NaN in gives NaN out. Letters in a cited formula: ``d`` wire, ``D`` mean coil diameter, ``w = D/d`` spring
index, ``n`` active and ``nt`` total coils, ``G`` shear modulus, ``F`` force, ``s`` deflection, ``L0`` free length.

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

__all__ = [
    "SOLID_LENGTH_COILS",
    "SegmentTable",
    "active_coils_of",
    "bergstraesser_factor",
    "buckling_deflection_ratio",
    "coil_growth_at_solid_mm",
    "common_practice_solid_length_mm",
    "corrected_shear_stress_mpa",
    "direct_shear_factor",
    "force_n",
    "linear_table",
    "permissible_stress_at_solid_mpa",
    "rate_n_per_mm",
    "shear_modulus_at_mpa",
    "solid_length_mm",
    "stack_tables",
    "stiffness_n_per_mm",
    "sum_of_minimum_gaps_mm",
    "surge_frequency_hz",
    "table_of_points",
    "uncorrected_shear_stress_mpa",
    "wahl_factor",
]
