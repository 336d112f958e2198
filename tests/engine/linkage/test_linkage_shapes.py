"""One code path for one geometry and for many: shapes, and the same numbers either way."""

from dataclasses import replace

import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, row_of, scattered

from service.engine.linkage import camber_deg, solve_macpherson, solve_wishbone, strut_length_mm, toe_deg

LAYOUTS = [(WISHBONE, solve_wishbone), (MACPHERSON, solve_macpherson)]
EACH_LAYOUT = pytest.mark.parametrize(("about", "solve"), LAYOUTS)
POSITIONS = len(TRAVEL_RAD)
VECTORS = "lower_ball_joint", "tie_rod_end", "rack_end", "wheel_centre", "spin_axis"
BODIES = "upright", "lower_arm", "tie_rod"


def shapes_of(pose):
    arrays = [getattr(pose, name) for name in VECTORS]
    return {array.shape for array in arrays}, {pose.body(name).rotation.shape for name in BODIES}


@EACH_LAYOUT
@pytest.mark.parametrize(
    ("rows", "driven", "leading"),
    [
        (None, (TRAVEL_RAD,), (POSITIONS,)),
        (None, (0.1,), (1,)),
        (4, (TRAVEL_RAD,), (4, POSITIONS)),
        (4, (np.tile(TRAVEL_RAD, (4, 1)),), (4, POSITIONS)),
        (4, (TRAVEL_RAD, np.full((4, 1), 5.0)), (4, POSITIONS)),
        (4, (TRAVEL_RAD, np.linspace(-5.0, 5.0, POSITIONS)), (4, POSITIONS)),
        (4, (TRAVEL_RAD[:1], np.full((4, POSITIONS), 5.0)), (4, POSITIONS)),
        (None, (TRAVEL_RAD, np.full((4, 1), 5.0)), (4, POSITIONS)),
        (1, (TRAVEL_RAD,), (1, POSITIONS)),
    ],
)
def test_every_array_has_the_rows_and_the_positions(about, solve, rows, driven, leading):
    points = about if rows is None else scattered(about, rows, seed=2, half_width_mm=5.0)
    pose = solve(points, *driven)
    vectors, rotations = shapes_of(pose)
    assert vectors == {(*leading, 3)}
    assert rotations == {(*leading, 3, 3)}
    assert pose.reachable.shape == leading
    assert pose.reachable.all()
    assert pose.lower_arm_angle_rad.shape == leading
    for of_pose in (camber_deg(pose), toe_deg(pose), strut_length_mm(points, pose)):
        assert of_pose.shape == leading


@EACH_LAYOUT
@pytest.mark.parametrize("name", ["lower_ball_joint", "rack_end", "wheel_centre", "spin_axis", "tie_rod_end"])
def test_rows_in_one_point_are_rows_in_all(about, solve, name):
    points = replace(about, **{name: getattr(scattered(about, 4, seed=3), name)})
    vectors, _ = shapes_of(solve(points, TRAVEL_RAD))
    assert vectors == {(4, POSITIONS, 3)}


@EACH_LAYOUT
def test_many_at_once_are_each_alone(about, solve):
    points, angles = scattered(about, 30, seed=9), np.linspace(-1.2, 1.2, 80)
    many = solve(points, angles)
    assert many.reachable.any()
    assert not many.reachable.all()
    for row in range(30):
        one = solve(row_of(points, row), angles)
        assert (one.reachable == many.reachable[row]).all()
        # Sums may be done in another order, and next to a toggle the last digit is worth more.
        np.testing.assert_allclose(one.wheel_centre, many.wheel_centre[row], atol=1e-6)
        np.testing.assert_allclose(one.upright.rotation, many.upright.rotation[row], atol=1e-8)


def test_a_strut_has_no_upper_arm():
    pose = solve_macpherson(MACPHERSON, 0.0)
    assert (pose.upper_arm, pose.upper_ball_joint, pose.upper_arm_angle_rad) == (None, None, None)
    with pytest.raises(ValueError, match="no upper_arm"):
        pose.body("upper_arm")
