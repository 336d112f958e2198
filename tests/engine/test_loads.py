"""Loads by moments, and the simple masses on springs, beyond the published values."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.engine.loads import (
    STANDARD_GRAVITY,
    axle_shares,
    gas_rod_force_n,
    mass_centre_behind_front_axle_mm,
    ride_frequency_hz,
    wheel_load_n,
)

masses_kg = st.floats(0.0, 5_000.0)
places_mm = st.floats(-2_000.0, 8_000.0)
wheelbases_mm = st.floats(1_500.0, 5_000.0)


@given(masses_kg, places_mm, wheelbases_mm)
@example(0.1, -2_000.0, 2_000.0)
def test_nothing_of_a_mass_is_lost(mass, place, wheelbase):
    front, rear = axle_shares(mass, place, wheelbase)
    last_digit = np.spacing(max(mass, abs(front), abs(rear)))  # no two floats can do better once one exceeds the mass
    assert abs((front + rear) - mass) <= last_digit


@given(masses_kg, places_mm, wheelbases_mm)
def test_moments_balance_about_both_axles(mass, place, wheelbase):
    front, rear = axle_shares(mass, place, wheelbase)
    assert rear * wheelbase == pytest.approx(mass * place, rel=1e-9, abs=1e-6)
    assert front * wheelbase == pytest.approx(mass * (wheelbase - place), rel=1e-9, abs=1e-6)


def test_mass_ahead_of_the_front_axle_lifts_the_rear_and_behind_the_rear_axle_lifts_the_front():
    front, rear = axle_shares(100.0, [-800.0, 0.0, 1_600.0, 3_200.0, 4_000.0], 3_200.0)
    assert rear.tolist() == [-25.0, 0.0, 50.0, 100.0, 125.0]
    assert front.tolist() == [125.0, 100.0, 50.0, 0.0, -25.0]


@given(st.floats(1.0, 5_000.0), st.floats(0.0, 1.0), wheelbases_mm)
def test_mass_centre_gives_back_the_place_of_the_mass(mass, fraction, wheelbase):
    front, rear = axle_shares(mass, fraction * wheelbase, wheelbase)
    place = mass_centre_behind_front_axle_mm(front, rear, wheelbase)
    assert place == pytest.approx(fraction * wheelbase, rel=1e-9, abs=1e-6)


def test_each_wheel_carries_half_of_its_axle():
    assert wheel_load_n([1_000.0, np.nan]) == pytest.approx([500.0 * STANDARD_GRAVITY, np.nan], nan_ok=True)


def test_ride_frequency_doubles_with_four_times_the_rate():
    assert ride_frequency_hz(80.0, 300.0) == pytest.approx(2.0 * ride_frequency_hz(20.0, 300.0))


@pytest.mark.parametrize(
    "result",
    [
        lambda x: axle_shares(x, 1_000.0, 3_000.0)[0],
        lambda x: axle_shares(500.0, x, 3_000.0)[1],
        wheel_load_n,
        lambda x: mass_centre_behind_front_axle_mm(x, 900.0, 3_000.0),
        lambda x: gas_rod_force_n(2.0, x),
        lambda x: ride_frequency_hz(x, 300.0),
    ],
)
def test_unknown_in_unknown_out_and_the_known_beside_it_unharmed(result):
    both = result(np.array([22.0, np.nan]))
    assert list(np.isnan(both)) == [False, True]
    assert both[0] == result(22.0)
