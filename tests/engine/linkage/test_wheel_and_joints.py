"""What a pose says about wheel, joints, shaft and hose: on a parallelogram, where it can be told in one's head.

Both arms and the tie rod are 400 mm long, level and parallel at design, so the upright moves without turning: down the
arms' angle t by 400 (cos t - 1) to the side and 400 sin t up.
"""

import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, mirrored, mm, scattered

from service.engine.linkage import (
    DriveShaft,
    WishbonePoints,
    arch_to_hub_mm,
    at_ground,
    ball_joint_angle_deg,
    camber_deg,
    caster_deg,
    contact_point_mm,
    hose_span_mm,
    kingpin_inclination_deg,
    lean_about_x_deg,
    outwards,
    solve_macpherson,
    solve_wishbone,
    span_mm,
    steer_angle_deg,
    strut_length_mm,
    toe_deg,
)

ARM_MM, STEERING_ARM_MM = 400.0, 120.0
PARALLELOGRAM = WishbonePoints(
    lower_arm_front=mm(150, 300, 0),
    lower_arm_rear=mm(-150, 300, 0),
    lower_ball_joint=mm(0, 700, 0),
    upper_arm_front=mm(150, 300, 300),
    upper_arm_rear=mm(-150, 300, 300),
    upper_ball_joint=mm(0, 700, 300),
    rack_end=mm(-STEERING_ARM_MM, 300, 100),
    tie_rod_end=mm(-STEERING_ARM_MM, 700, 100),
    wheel_centre=mm(0, 760, 150),
    spin_axis=mm(0, 1, 0),
    strut_top=mm(0, 500, 600),
    strut_bottom=mm(0, 500, 0),
)
ANGLES_DEG = np.array([-20.0, 0.0, 12.0, 30.0])
ANGLES = np.radians(ANGLES_DEG)
ASIDE_MM, UP_MM = ARM_MM * (np.cos(ANGLES) - 1.0), ARM_MM * np.sin(ANGLES)
POSE = solve_wishbone(PARALLELOGRAM, ANGLES)
SHAFT = DriveShaft(inner_cv=mm(0, 200, 150), outer_cv=mm(0, 700, 150), output_axis=mm(0, 2, 0))


def rack_for(steer_rad):
    """Rack shift that steers a level parallelogram by ``steer_rad`` about +z, the tie rod being behind."""
    forward = STEERING_ARM_MM * (1.0 - np.cos(steer_rad))
    return -STEERING_ARM_MM * np.sin(steer_rad) + ARM_MM - np.sqrt(ARM_MM**2 - forward**2)


def test_arch_to_hub_grows_as_the_wheel_drops():
    assert arch_to_hub_mm(POSE, mm(10, 800, 700)).tolist() == pytest.approx(700.0 - 150.0 - UP_MM)


@pytest.mark.parametrize("pin_axis", [mm(0, 0, 1), mm(0, 3, 4)])
@pytest.mark.parametrize("arm", ["lower_arm", "upper_arm", "tie_rod"])
def test_a_joint_turns_as_much_as_its_arm_does_from_neutral(arm, pin_axis):
    neutral = solve_wishbone(PARALLELOGRAM, np.radians([10.0]))
    angle_deg = ball_joint_angle_deg(POSE, neutral, pin_axis, arm)
    assert angle_deg.tolist() == pytest.approx(np.abs(ANGLES_DEG - 10.0))


def test_a_pin_along_the_arms_axis_only_spins():
    neutral = solve_wishbone(PARALLELOGRAM, [0.0])
    assert ball_joint_angle_deg(POSE, neutral, mm(1, 0, 0), "lower_arm").tolist() == pytest.approx([0.0] * 4, abs=1e-9)


def test_each_geometry_has_its_own_neutral_position():
    points = scattered(WISHBONE, 5, seed=1)
    neutral_rad = np.linspace(-0.1, 0.1, 5)[:, None]
    neutral = solve_wishbone(points, neutral_rad)
    pose = solve_wishbone(points, neutral_rad + np.array([0.0, 0.05]))
    angle_deg = ball_joint_angle_deg(pose, neutral, mm(0, 0, 1), "lower_arm")
    assert angle_deg[:, 0].tolist() == pytest.approx([0.0] * 5, abs=1e-6)
    assert (angle_deg[:, 1] > 1.0).all()


def test_drive_shaft():
    along = 500.0 + ASIDE_MM
    assert SHAFT.length_mm(POSE).tolist() == pytest.approx(np.hypot(along, UP_MM))
    leaning_deg = np.abs(np.degrees(np.arctan2(UP_MM, along)))
    assert SHAFT.inner_cv_angle_deg(POSE).tolist() == pytest.approx(leaning_deg)
    assert SHAFT.outer_cv_angle_deg(POSE).tolist() == pytest.approx(leaning_deg)


@pytest.mark.parametrize("steer_deg", [-30.0, -5.0, 0.0, 20.0, 35.0])
def test_lock_bends_the_outer_joint_by_the_steer_angle(steer_deg):
    pose = solve_wishbone(PARALLELOGRAM, 0.0, rack_for(np.radians(steer_deg)))
    assert steer_angle_deg(pose).item() == pytest.approx(steer_deg, abs=1e-9)
    assert toe_deg(pose).item() == pytest.approx(-steer_deg, abs=1e-9)  # a left wheel that points left toes out
    assert SHAFT.outer_cv_angle_deg(pose).item() == pytest.approx(abs(steer_deg), abs=1e-9)
    assert SHAFT.inner_cv_angle_deg(pose).item() == pytest.approx(0.0, abs=1e-9)
    assert SHAFT.length_mm(pose).item() == pytest.approx(500.0)


def test_spans():
    on_body, on_upright = mm(0, 400, 500), mm(0, 640, 180)
    expected = np.hypot(240.0 + ASIDE_MM, -320.0 + UP_MM)
    assert hose_span_mm(POSE, on_body, on_upright).tolist() == pytest.approx(expected)
    plate, stop = mm(0, 500, 80), mm(0, 500, 0)  # the stop sits half-way along the arm
    room = np.hypot(200.0 * (np.cos(ANGLES) - 1.0), 80.0 - 200.0 * np.sin(ANGLES))
    assert span_mm(POSE, plate, stop, "lower_arm").tolist() == pytest.approx(room)
    strut = np.hypot(200.0 * (np.cos(ANGLES) - 1.0), 600.0 - 200.0 * np.sin(ANGLES))
    assert strut_length_mm(PARALLELOGRAM, POSE).tolist() == pytest.approx(strut)


@pytest.mark.parametrize("rack_mm", [-40.0, 0.0, 40.0])
def test_camber_is_the_angle_of_the_wheel_plane_to_the_vertical_even_when_steered(rack_mm):
    points = scattered(WISHBONE, 6, seed=12)
    pose = solve_wishbone(points, TRAVEL_RAD, rack_mm)
    lowest = contact_point_mm(pose.wheel_centre, pose.spin_axis, np.array(300.0)) - pose.wheel_centre
    tilt_deg = np.degrees(np.arccos(-lowest[..., 2] / 300.0))
    # The bottom further in than the centre, seen along the wheel's own outward direction, is a top that leans out.
    inwards = np.sign(-(lowest[..., :2] * pose.spin_axis[..., :2]).sum(axis=-1))
    np.testing.assert_allclose(camber_deg(pose), tilt_deg * inwards, atol=1e-6)
    tangents = np.tan(np.radians(camber_deg(pose))) / np.cos(np.radians(steer_angle_deg(pose)))
    np.testing.assert_allclose(np.tan(np.radians(lean_about_x_deg(pose))), -tangents, atol=1e-12)


@pytest.mark.parametrize(("about", "solve"), [(WISHBONE, solve_wishbone), (MACPHERSON, solve_macpherson)])
def test_the_right_wheel_leans_and_steers_the_other_way(about, solve):
    left, right = solve(about, TRAVEL_RAD), solve(mirrored(about), TRAVEL_RAD)
    np.testing.assert_allclose(lean_about_x_deg(right), -lean_about_x_deg(left), atol=1e-9)
    np.testing.assert_allclose(steer_angle_deg(right), -steer_angle_deg(left), atol=1e-9)


def test_steering_axis_of_the_right_wheel_has_the_signs_of_the_left():
    told = []
    for points in (WISHBONE, mirrored(WISHBONE)):
        lower, upper, outward = points.lower_ball_joint, points.upper_ball_joint, outwards(points.spin_axis)
        contact = contact_point_mm(points.wheel_centre, points.spin_axis, np.array(340.0))
        inclination = kingpin_inclination_deg(lower, upper, outward), caster_deg(lower, upper)
        told.append([float(value) for value in (*inclination, *at_ground(lower, upper, contact, outward))])
    assert told[0] == pytest.approx(told[1])
    assert min(told[0]) > 0.0  # leans in and back, meets the ground ahead and inboard


def test_the_tie_rod_does_not_spin_about_itself():
    points = scattered(WISHBONE, 4, seed=13)
    turned = solve_wishbone(points, TRAVEL_RAD).tie_rod.rotation
    axis = np.stack([turned[..., i, j] - turned[..., j, i] for i, j in ((2, 1), (0, 2), (1, 0))], axis=-1)
    rod = points.tie_rod_end - points.rack_end
    assert np.abs(np.vecdot(axis, rod[:, None, :])).max() < 1e-9
    assert np.linalg.norm(axis, axis=-1).max() > 0.1
