"""Elementary vibration theory, from memory (high confidence): a linear spring sags by g / (2 pi f)^2 under its mass."""

import numpy as np
import pytest

from service.engine.loads import STANDARD_GRAVITY, ride_frequency_hz


def test_static_deflection_at_1_1_5_and_2_hz():
    mass_kg = 300.0
    rate_n_per_mm = mass_kg * STANDARD_GRAVITY / np.array([248.405, 110.402, 62.101])
    assert ride_frequency_hz(rate_n_per_mm, mass_kg) == pytest.approx([1.0, 1.5, 2.0], rel=1e-5)
