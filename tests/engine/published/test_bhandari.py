"""Bhandari, Design of Machine Elements, ch. 10. From a worked companion; the book itself was not read."""

import numpy as np
import pytest

from service.engine.springs import (
    SegmentTable,
    force_n,
    rate_n_per_mm,
    solid_length_mm,
    table_of_points,
    uncorrected_shear_stress_mpa,
    wahl_factor,
)

SHEAR_MODULUS_MPA = 81_370.0


def test_10_2_rate_solid_and_free_length():
    assert wahl_factor(5.0) == pytest.approx(1.3105, abs=1e-5)
    rate = rate_n_per_mm(11.0, 55.0, 5.0, SHEAR_MODULUS_MPA)
    assert rate == pytest.approx(179.014, abs=1e-4)
    solid = solid_length_mm(11.0, 7.0, "closed_ground", "cold")
    assert solid == 77.0
    gaps_mm = (7 - 1) * 0.5  # the book's clearance between adjacent coils
    assert solid + gaps_mm + 3_500.0 / rate == pytest.approx(99.55154, abs=1e-4)


def test_10_3_active_coils_of_a_suspension_sized_spring():
    # The rate falls with one over the coils: those that give 75 N/mm.
    assert rate_n_per_mm(21.0, 150.0, 1.0, SHEAR_MODULUS_MPA) / 75.0 == pytest.approx(7.8147748, abs=1e-6)


def test_10_19_two_nested_springs_of_unequal_length():
    outer = rate_n_per_mm(6.0, 36.0, 10.0, SHEAR_MODULUS_MPA)
    inner = rate_n_per_mm(5.0, 30.0, 8.0, SHEAR_MODULUS_MPA)
    both = table_of_points([[15.0, 15.0 * outer], [35.0, 35.0 * outer + 20.0 * inner]])
    assert force_n([[24.98884]], both) == pytest.approx(1_000.0, abs=1e-3)
    shares = force_n([[24.98884], [24.98884]], SegmentTable(np.array([[0.0], [15.0]]), np.array([[outer], [inner]])))
    assert shares[:, 0] == pytest.approx([706.0215, 293.9785], abs=1e-3)
    stresses = wahl_factor(6.0) * uncorrected_shear_stress_mpa(shares[:, 0], [6.0, 5.0], [36.0, 30.0])
    assert stresses == pytest.approx([375.305, 225.032], abs=1e-2)
