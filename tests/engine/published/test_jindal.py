"""Jindal, Machine Design. Inputs from a worked companion; the book itself was not read.

Misprint: the companion's answers to 8-1 (1.0000, 1.1025, 16.0 N/mm, 18.000 mm) suffer integer division. Those below
are worked out from its inputs.
"""

import pytest

from service.engine.springs import direct_shear_factor, rate_n_per_mm, wahl_factor


def test_8_1_factors_rate_and_deflection():
    assert direct_shear_factor(6.0) == pytest.approx(1.083333, abs=1e-6)
    assert wahl_factor(6.0) / direct_shear_factor(6.0) == pytest.approx(1.156154, abs=1e-6)
    rate = rate_n_per_mm(5.0, 30.0, 15.0, 84_000.0)
    assert rate == pytest.approx(16.203704, abs=1e-6)
    assert 300.0 / rate == pytest.approx(18.514286, abs=1e-6)
