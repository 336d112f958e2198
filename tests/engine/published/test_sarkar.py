"""Sarkar, Strength of Materials, ch. 8. From a worked companion; the book itself was not read."""

import numpy as np
import pytest

from service.engine.springs import leaf_rate_n_per_mm, leaf_stress_mpa, points_of_zones, rate_n_per_mm


def test_8_7_springs_in_series():
    # 720 N/m together, the first 0.0004 m/N: two zones of a coil that has those compliances. Once the first has closed,
    # what is left is the second spring.
    coil = (5.0, 80.0, 80_000.0)
    rate_of_one_coil = rate_n_per_mm(*coil[:2], 1.0, coil[2])
    first_coils, all_coils = float(rate_of_one_coil * 0.4), float(rate_of_one_coil / 0.720)
    points = points_of_zones(*coil, [(first_coils, 10.0), (all_coils - first_coils, 100.0)])
    steps = np.diff(points, axis=0)
    assert steps[:, 1] / steps[:, 0] * 1e3 == pytest.approx([720.0, 1_011.236], abs=1e-3)


def test_8_10_thickness_for_20_mm_at_200_mpa():
    # All leaves graduated, span 750 mm, E = 200 GPa. The stress at a given deflection grows with the thickness,
    # whatever the width (here 84 mm) and the number of leaves.
    half_span_mm, leaves = 375.0, (0.0, 11.0)
    load_at_20_mm = 20.0 * leaf_rate_n_per_mm(84.0, 1.0, half_span_mm, *leaves, 200_000.0)
    stress_per_thickness = leaf_stress_mpa(load_at_20_mm, 84.0, 1.0, half_span_mm, *leaves)
    thickness_mm = 200.0 / stress_per_thickness
    assert thickness_mm == pytest.approx(7.03125, abs=1e-4)
    load = 20.0 * leaf_rate_n_per_mm(84.0, thickness_mm, half_span_mm, *leaves, 200_000.0)
    assert leaf_stress_mpa(load, 84.0, thickness_mm, half_span_mm, *leaves) == pytest.approx(200.0, rel=1e-9)


def test_8_10_number_of_leaves():
    # 8 kN at 200 MPa; the stress falls with one over the number: those that it takes, 84 mm wide and 7 mm thick.
    assert leaf_stress_mpa(8_000.0, 84.0, 7.0, 375.0, 0.0, 1.0) / 200.0 == pytest.approx(10.9329, abs=1e-4)
