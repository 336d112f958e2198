"""Automotive Chassis Engineering, p. 209 (read): a quarter car of 317.5 and 45.4 kg on 22 and 192 N/mm."""

import pytest

from service.engine.loads import ride_frequency_hz


def test_quarter_car_sprung_mass_with_the_tyre_in_series():
    # The book's two-mass answer is 1.25 Hz (1.2539 unrounded); one mass on both springs in series comes close.
    assert ride_frequency_hz(22.0 * 192.0 / (22.0 + 192.0), 317.5) == pytest.approx(1.2539, rel=5e-3)
