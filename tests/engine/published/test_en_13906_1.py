"""EN 13906-1:2013. The standard itself was not read: its formulas come from a public second-hand copy for hot-coiled
springs that quotes the clauses, or from memory where a test says so. The results are worked out by hand from them.
"""

import numpy as np
import pytest

from service.engine.springs import (
    active_coils_of,
    bergstraesser_factor,
    buckling_deflection_ratio,
    coil_growth_at_solid_mm,
    permissible_stress_at_solid_mpa,
    shear_modulus_at_mpa,
    solid_length_mm,
    sum_of_minimum_gaps_mm,
    surge_frequency_hz,
)


def test_8_2_shear_modulus_at_80_degrees():
    assert shear_modulus_at_mpa(1.0, 80.0) == 0.985


def test_figure_3_stress_correction():
    assert bergstraesser_factor(6.0) == pytest.approx(1.238095, abs=1e-6)


def test_9_8_and_9_10_hot_coiled_solid_length():
    assert active_coils_of(8.0, "hot", "closed_ground") == 6.5
    assert solid_length_mm(14.0, 8.0, "closed_ground", "hot") == pytest.approx(107.8, abs=1e-9)


def test_9_9_hot_coiled_sum_of_minimum_gaps_and_least_working_length():
    gaps = sum_of_minimum_gaps_mm(14.0, 120.0, 6.5, "hot", dynamic=False)
    assert gaps == pytest.approx(17.42, abs=1e-9)
    assert solid_length_mm(14.0, 8.0, "closed_ground", "hot") + gaps == pytest.approx(125.22, abs=1e-9)


def test_sums_of_minimum_gaps_from_memory():
    # From memory (high confidence): the dynamic factors, and the cold-coiled form (DIN 2095 has it too).
    assert sum_of_minimum_gaps_mm(14.0, 120.0, 6.5, "hot", dynamic=True) == pytest.approx(34.84, abs=1e-9)
    assert sum_of_minimum_gaps_mm(12.0, 100.0, 7.0, "cold", dynamic=False) == pytest.approx(17.15, abs=1e-9)
    assert sum_of_minimum_gaps_mm(12.0, 100.0, 7.0, "cold", dynamic=True) == pytest.approx(25.725, abs=1e-9)


def test_solid_lengths_from_memory():
    # From memory (high confidence): ends that are not ground.
    assert solid_length_mm(14.0, 8.0, "closed_unground", "hot") == pytest.approx(9.1 * 14.0)
    assert solid_length_mm(14.0, 8.0, "closed_unground", "cold") == pytest.approx(9.5 * 14.0)


def test_9_11_coil_growth_at_solid():
    assert coil_growth_at_solid_mm(380.0 - 107.8, 14.0, 120.0, 6.5) == pytest.approx(2.04767, abs=1e-4)


def test_9_12_surge_constant_against_the_wave_equation():
    # A rod held at both ends: half the root of rate over mass, both written out for a coil.
    wire_mm, mean_diameter_mm, coils, modulus_mpa, density_kg_per_dm3 = 14.0, 120.0, 6.5, 78_500.0, 7.85
    rate_n_per_m = modulus_mpa * wire_mm**4 / (8.0 * mean_diameter_mm**3 * coils) * 1e3
    mass_kg = np.pi * mean_diameter_mm * coils * np.pi / 4.0 * wire_mm**2 * density_kg_per_dm3 * 1e-6
    frequency = surge_frequency_hz(wire_mm, mean_diameter_mm, coils, modulus_mpa, density_kg_per_dm3)
    assert frequency == pytest.approx(0.5 * np.sqrt(rate_n_per_m / mass_kg), rel=5e-4)


def test_9_14_buckling():
    ratios = buckling_deflection_ratio(380.0, 120.0, [0.5, 0.7, 1.0, 2.0], 206_000.0, 78_500.0)
    assert ratios == pytest.approx([np.inf, np.inf, 0.35907, 0.07313], abs=1e-5)


def test_permissible_stress_at_solid_of_hot_coiled_bar():
    # Digitised from the standard's figure by the second-hand copy's author, +-1 %.
    bars_mm = [7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.6]
    stresses_mpa = [955.0, 925.0, 896.9, 874.4, 840.2, 813.1, 794.6, 761.3, 735.8, 716.5]
    assert permissible_stress_at_solid_mpa(bars_mm, "hot", np.nan) == pytest.approx(stresses_mpa)


def test_permissible_stress_at_solid_of_cold_coiled_wire_from_memory():
    assert permissible_stress_at_solid_mpa(12.0, "cold", 1_700.0) == pytest.approx(952.0)  # 0.56 of the strength
