"""Shigley, Mechanical Engineering Design, ch. 10: from memory (high confidence), arithmetic done again.

The formulas are free of units, so inches, pounds-force and psi go in and come out.
"""

import numpy as np
import pytest

from service.engine.springs import (
    bergstraesser_factor,
    buckling_deflection_ratio,
    corrected_shear_stress_mpa,
    rate_n_per_mm,
    solid_length_mm,
)


def test_example_10_1_music_wire_spring():
    assert bergstraesser_factor(10.8) == pytest.approx(1.124378, abs=1e-6)
    assert rate_n_per_mm(0.037, 0.400, 10.5, 11.85e6) == pytest.approx(4.1311, rel=1e-3)
    assert corrected_shear_stress_mpa(6.4572, 0.037, 0.400) == pytest.approx(146_000.0, rel=1e-3)


def test_example_10_1_solid_length_is_not_longer_than_ours():
    # The book has 0.4995 in, (nt + 1) d for squared ends; the European row adds another half coil.
    assert solid_length_mm(0.037, 12.5, "closed_unground", "cold") - 0.4995 == pytest.approx(0.5 * 0.037)
    assert solid_length_mm(0.037, 12.5, "closed_unground", "hot") > 0.4995


@pytest.mark.parametrize("seating", [0.5, 0.7, 1.0, 2.0])
def test_absolute_stability_below_2_63_diameters_over_the_end_constant(seating):
    longest_mm = 2.63 * 120.0 / seating
    ratios = buckling_deflection_ratio(longest_mm * np.array([0.999, 1.01]), 120.0, seating, 206_000.0, 78_500.0)
    assert list(np.isinf(ratios)) == [True, False]
