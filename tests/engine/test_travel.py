"""Travel curves against SciPy's PCHIP, and there and back again."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from service.engine.travel import curve_set, curve_through, hermite, pchip_slopes

ZERO = np.zeros(1)
COLUMN = np.zeros(1, dtype=np.intp)


@st.composite
def stations(draw, least=2):
    """Knots from bump to droop with plausible, and some implausible, changes of motion ratio."""
    count = draw(st.integers(least, 7))
    gaps = draw(st.lists(st.floats(4.0, 90.0), min_size=count - 1, max_size=count - 1))
    ratios = draw(st.lists(st.floats(0.1, 2.0), min_size=count - 1, max_size=count - 1))
    knots = 400.0 + np.concatenate([[0.0], np.cumsum(gaps)])
    return knots, 200.0 + np.concatenate([[0.0], np.cumsum(np.multiply(gaps, ratios))])


def curve(knots, spans):
    return curve_through(knots[None, :], spans[None, :], ZERO, ZERO)


@given(stations(least=3))
@settings(derandomize=True, deadline=None, max_examples=150)
def test_inside_the_stations_it_is_scipys_pchip(taped):
    knots, spans = taped
    oracle = PchipInterpolator(knots, spans)
    where = np.linspace(knots[0], knots[-1], 41)
    on = curve(knots, spans).at(where[:, None], COLUMN)
    assert on.span_mm[:, 0] == pytest.approx(oracle(where), abs=1e-9)
    # At the very ends the straight piece begins, whose slope may be lifted.
    assert on.motion_ratio[1:-1, 0] == pytest.approx(oracle.derivative()(where[1:-1]), abs=1e-9)
    between = np.setdiff1d(where, knots)
    curvature = curve(knots, spans).at(between[:, None], COLUMN).ratio_change_per_mm[:, 0]
    assert curvature == pytest.approx(oracle.derivative(2)(between), abs=1e-8)


@given(stations())
@settings(derandomize=True, deadline=None, max_examples=200)
def test_where_is_the_inverse_of_at_even_outside_of_the_stations(taped):
    knots, spans = taped
    drawn = curve(knots, spans)
    wanted = np.linspace(spans[0] - 40.0, spans[-1] + 40.0, 60)
    back = drawn.at(drawn.where(wanted[:, None], COLUMN), COLUMN).span_mm[:, 0]
    assert back == pytest.approx(wanted, abs=1e-9)


@given(stations())
@settings(derandomize=True, deadline=None, max_examples=100)
def test_the_curve_never_turns_back(taped):
    knots, spans = taped
    where = np.linspace(knots[0] - 100.0, knots[-1] + 100.0, 300)
    assert (np.diff(curve(knots, spans).at(where[:, None], COLUMN).span_mm[:, 0]) >= -1e-9).all()


def test_two_stations_are_a_straight_line_that_goes_on():
    line = curve(np.array([450.0, 600.0]), np.array([220.0, 310.0]))
    on = line.at(np.array([[400.0], [500.0], [700.0]]), COLUMN)
    assert on.span_mm[:, 0].tolist() == pytest.approx([190.0, 250.0, 370.0])
    assert on.motion_ratio[:, 0].tolist() == pytest.approx([0.6, 0.6, 0.6])


def test_the_error_of_the_extrapolated_part_is_its_share_and_nothing_inside():
    knots, spans = np.array([[450.0, 600.0]] * 2), np.array([[220.0, 310.0]] * 2)
    moved = curve_through(knots, spans, np.array([0.0, 0.0]), np.array([0.0, 0.10]))
    on = moved.at(np.array([[500.0, 500.0], [650.0, 650.0]]), np.arange(2)).span_mm
    assert on[0, 1] - on[0, 0] == pytest.approx(0.0)
    assert on[1, 1] - on[1, 0] == pytest.approx(0.10 * 50.0 * 0.6)  # 10 % of the 30 mm that were extrapolated


def test_not_a_number_stays_not_a_number():
    drawn = curve(np.array([450.0, 520.0, 600.0]), np.array([220.0, 260.0, 310.0]))
    assert np.isnan(drawn.at(np.array([[np.nan]]), COLUMN).span_mm).all()
    assert np.isnan(drawn.where(np.array([[np.nan]]), COLUMN)).all()


def test_slopes_of_two_knots_are_the_secant():
    assert pchip_slopes(np.array([[0.0, 2.0]]), np.array([[1.0, 2.0]])).tolist() == [[0.5, 0.5]]


def test_each_of_a_set_is_the_curve_itself_also_where_columns_lie_on_different_pieces():
    own, extra, builds = 4, 3, 40
    rng = np.random.default_rng(5)
    knots = np.linspace(400.0, 640.0, 9) + 0.05 * rng.normal(size=(own, 1))
    slopes = rng.normal(size=(3, own, 9))
    straight = np.zeros(own)
    curves = [hermite(knots, 50.0 * rng.normal(size=(own, 9)), each, (straight, straight)) for each in slopes]
    heights = rng.uniform(350.0, 700.0, size=(2, builds, 1)) + 0.05 * rng.normal(size=(2, builds, own + extra))
    heights[:, :18] = np.repeat(knots[0], 2)[:, None] + 0.05 * rng.normal(size=(2, 18, own + extra))
    heights[0, 20], heights[1, 21, 3] = np.nan, np.nan
    at_column_0 = np.searchsorted(knots[0], heights[..., :1])
    assert (np.searchsorted(knots[0], heights) != at_column_0).any(
        axis=-1
    ).sum() > 20  # columns on both sides of a knot
    asked, places = np.array([2, 0, 1, 0]), np.array([1, 0, 0, 1])
    told = curve_set(dict(zip("abc", curves, strict=True))).each(asked, places, heights, own)
    columns = np.array([0, 1, 2, 3, 0, 0, 0])
    assert told.shape == (4, builds, own + extra)
    for row, which, place in zip(told, asked, places, strict=True):
        np.testing.assert_array_equal(row, curves[which].at(heights[place], columns).span_mm)
