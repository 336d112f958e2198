"""Wentzell, ch. 8. From a worked companion; the book itself was not read. In US units throughout."""

import pytest

from service.engine.springs import rate_n_per_mm


def test_8_2_active_coils_for_35_lbf_over_half_an_inch():
    rate_lbf_per_in = 35.0 / 0.5
    assert rate_n_per_mm(0.105, 0.62, 1.0, 11.85e6) / rate_lbf_per_in == pytest.approx(10.79226, abs=1e-4)
