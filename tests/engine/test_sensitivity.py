"""First-order propagation against an independent library and against random draws."""

import numpy as np
import pytest
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from service.engine.reading import Reading
from service.engine.sensitivity import combined_standard_uncertainty, spread

READINGS = {"a": (412.0, 2.0), "b": (226.0, 1.0), "c": (0.58, 0.02), "exact": (7.0, 0.0)}


def formula(a, b, c, root):
    return (a - b) / c + root(a * b)


def ours():
    columns = spread(READINGS)
    moved = columns.moved
    result = formula(moved["a"], moved["b"], moved["c"], np.sqrt) + moved["exact"]
    return result, columns


def test_agrees_with_the_uncertainties_package():
    a, b, c = (ufloat(READINGS[name][0], READINGS[name][1] / 3**0.5) for name in "abc")
    oracle = formula(a, b, c, usqrt) + 7.0
    result, columns = ours()
    assert result[0] == pytest.approx(oracle.nominal_value)
    spread_of_result = combined_standard_uncertainty(result[None, None, :].copy(), columns.weights)[0, 0]
    assert spread_of_result == pytest.approx(oracle.std_dev, rel=1e-5)


def test_agrees_with_random_draws():
    random = np.random.default_rng(20261125)
    draws = {name: random.uniform(value - half, value + half, 200_000) for name, (value, half) in READINGS.items()}
    drawn = formula(draws["a"], draws["b"], draws["c"], np.sqrt)
    result, columns = ours()
    expected = combined_standard_uncertainty(result[None, None, :].copy(), columns.weights)[0, 0]
    assert drawn.std() == pytest.approx(expected, rel=0.01)  # 200,000 draws: a standard deviation is good to 0.2 %


def test_what_is_shared_cancels_exactly():
    columns = spread({"droop": (612.0, 2.0), "ride": (533.0, 2.0)})
    difference = columns.moved["droop"] - columns.moved["droop"]
    assert combined_standard_uncertainty(difference[None, None, :].copy(), columns.weights)[0, 0] == 0.0


def test_whole_numbers_are_moved_like_any_other():
    assert spread({"gap": (300, 2)}).moved["gap"][1] > 300.0


def test_half_widths():
    assert Reading(5.0).half_width(2.0) == 2.0
    assert Reading(5.0, 0.0).half_width(2.0) == 0.0
