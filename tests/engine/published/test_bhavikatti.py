"""Bhavikatti, Strength of Materials. Inputs and answers from a worked companion; the book itself was not read."""

import pytest

from service.engine.springs import rate_n_per_mm, uncorrected_shear_stress_mpa


def test_6_6_22_rate_deflection_and_uncorrected_stress():
    rate = rate_n_per_mm(12.0, 150.0, 10.0, 80_000.0)
    assert rate == pytest.approx(6.144, rel=1e-9)
    assert 450.0 / rate == pytest.approx(73.2421875, rel=1e-9)
    assert uncorrected_shear_stress_mpa(450.0, 12.0, 150.0) == pytest.approx(99.4718, abs=1e-4)
