"""Jindal, Machine Design, leaf springs. Inputs from a worked companion; the book itself was not read.

Misprint: the companion prints 52.0 mm in 8-11, which suffers integer division, and its line for the thickness leaves
the width out. The answers below are worked out from its inputs.
"""

import numpy as np
import pytest

from service.engine.springs import leaf_rate_n_per_mm, leaf_stress_mpa

HALF_SPAN_MM, LEAVES = 590.0, (2.0, 8.0)


def test_8_11_thickness_at_700_mpa_without_nip():
    # 40 kN over both eyes, 75 mm wide; the stress falls with the square of the thickness.
    stress_at_1_mm = leaf_stress_mpa(40_000.0, 75.0, 1.0, HALF_SPAN_MM, *LEAVES)
    assert np.sqrt(stress_at_1_mm / 700.0) == pytest.approx(13.561, abs=1e-3)


def test_8_11_deflection():
    rate = leaf_rate_n_per_mm(75.0, 14.0, HALF_SPAN_MM, *LEAVES, 207_000.0)
    assert 40_000.0 / rate == pytest.approx(52.5931, abs=1e-3)
