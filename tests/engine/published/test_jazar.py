"""Jazar, Vehicle Dynamics, ch. 2: read. Its g is 9.81 m/s2, so forces are compared at that."""

import pytest

from service.engine.loads import axle_shares, mass_centre_behind_front_axle_mm

GRAVITY = 9.81


def test_wheel_loads_of_an_890_kg_car():
    front, rear = axle_shares(890.0, 780.0, 2_350.0)
    assert front * GRAVITY / 2.0 == pytest.approx(2_916.49, abs=0.05)
    assert rear * GRAVITY / 2.0 == pytest.approx(1_448.96, abs=0.05)


def test_example_40_mass_centre_from_wheel_loads():
    # Loads of one wheel each, in newtons: only their ratio counts.
    behind_front = mass_centre_behind_front_axle_mm(2_000.0, 1_800.0, 2_340.0)
    assert behind_front == pytest.approx(1_108.421, abs=1e-3)
    assert 2_340.0 - behind_front == pytest.approx(1_231.579, abs=1e-3)


def test_exercise_2_1_axle_loads():
    # The exercise was read; its answers are worked out.
    front, rear = axle_shares(1_765.0, 1_220.0, 1_220.0 + 1_620.0)
    assert front * GRAVITY == pytest.approx(9_876.667, abs=1e-3)
    assert rear * GRAVITY == pytest.approx(7_437.983, abs=1e-3)
