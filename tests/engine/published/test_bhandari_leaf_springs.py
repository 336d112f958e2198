"""Bhandari, Design of Machine Elements, ch. 10, leaf springs. From a worked companion; the book itself was not read."""

import pytest

from service.engine.springs import leaf_rate_n_per_mm


def test_10_25_rate_and_deflection():
    # 15 kN at each of the two eyes.
    rate = leaf_rate_n_per_mm(60.0, 12.0, 600.0, 2.0, 10.0, 207_000.0)
    assert 30_000.0 / rate == pytest.approx(69.6767, abs=1e-4)
    assert rate == pytest.approx(430.56, abs=5e-3)
