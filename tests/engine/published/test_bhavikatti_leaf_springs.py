"""Bhavikatti, Strength of Materials, leaf springs. From a worked companion; the book itself was not read."""

import pytest

from service.engine.springs import leaf_stress_mpa


def test_4_4_15_load_that_five_leaves_bear_at_250_mpa():
    # Span 800 mm, all five graduated, 60 mm x 10 mm; the stress is proportional to the load.
    assert 250.0 / leaf_stress_mpa(1.0, 60.0, 10.0, 400.0, 0.0, 5.0) == pytest.approx(6_250.0, rel=1e-12)
