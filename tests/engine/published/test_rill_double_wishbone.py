"""A double wishbone with rack-and-pinion steering, hard points in m as printed in a MATLAB listing.

The listing was read; its function names are those of Rill and Castro, Road Vehicle Dynamics, 2nd ed., ch. 5 (that
attribution is from memory, medium confidence). It prints no results: those here were computed by two other solvers,
Newton's method on five equations and a multibody library, which agreed to 5e-13 mm.
"""

import numpy as np
import pytest

from service.engine.linkage import (
    WishbonePoints,
    at_ground,
    camber_deg,
    caster_deg,
    contact_point_mm,
    kingpin_inclination_deg,
    lean_about_x_deg,
    outwards,
    solve_wishbone,
    steer_angle_deg,
    toe_deg,
)

WHEEL_RADIUS_MM = 285.0
DESIGN_CAMBER_RAD = np.radians(0.8)


def mm(*metres):
    return 1000.0 * np.array(metres)


POINTS = WishbonePoints(
    lower_arm_front=mm(0.148, 0.320, -0.094),
    lower_arm_rear=mm(-0.251, 0.320, -0.080),
    lower_ball_joint=mm(0.013, 0.737, -0.145),
    upper_arm_front=mm(0.122, 0.435, 0.230),
    upper_arm_rear=mm(-0.105, 0.435, 0.196),
    upper_ball_joint=mm(-0.025, 0.680, 0.162),
    rack_end=mm(-0.150, 0.380, -0.038),
    tie_rod_end=mm(-0.137, 0.690, -0.088),
    wheel_centre=mm(0.0, 0.768, 0.0),
    spin_axis=np.array([0.0, 1.0, -DESIGN_CAMBER_RAD]),
    # The listing has no strut; nothing here asks for it.
    strut_top=mm(0.0, 0.5, 0.5),
    strut_bottom=mm(0.0, 0.6, -0.1),
)

# lower arm deg: wheel centre x, y, z mm; turn about +z deg, lean about +x deg, upper arm deg
TABLE = {
    -10.0: (3.5668, 747.3893, -70.1986, 0.23856, 0.99892, -17.85500),
    -4.0: (1.4323, 762.0027, -28.5067, 0.07905, -0.37246, -6.89527),
    0.0: (0.0, 768.0, 0.0, 0.0, -0.79995, 0.0),
    4.0: (-1.4312, 771.2275, 28.8879, -0.06816, -0.93560, 6.71563),
    10.0: (-3.5576, 771.0588, 72.5918, -0.15952, -0.67197, 16.61910),
}


@pytest.mark.parametrize("lower_arm_deg", TABLE)
def test_the_table(lower_arm_deg):
    *centre_mm, about_z_deg, about_x_deg, upper_arm_deg = TABLE[lower_arm_deg]
    pose = solve_wishbone(POINTS, np.radians([lower_arm_deg]))
    assert pose.wheel_centre[0].tolist() == pytest.approx(centre_mm, abs=1e-4)
    assert steer_angle_deg(pose).tolist() == pytest.approx([about_z_deg], abs=1e-5)
    assert lean_about_x_deg(pose).tolist() == pytest.approx([about_x_deg], abs=1e-5)
    assert np.degrees(pose.upper_arm_angle_rad).tolist() == pytest.approx([upper_arm_deg], abs=1e-5)


@pytest.mark.parametrize("lower_arm_deg", TABLE)
def test_toe_and_camber_are_the_table_with_the_signs_of_a_left_wheel(lower_arm_deg):
    *_, about_z_deg, about_x_deg, _ = TABLE[lower_arm_deg]
    pose = solve_wishbone(POINTS, np.radians([lower_arm_deg]))
    assert toe_deg(pose).tolist() == pytest.approx([-about_z_deg], abs=1e-5)
    # Camber is the angle to the wheel plane, the lean its picture from the front: cos(0.24 deg) apart.
    assert camber_deg(pose).tolist() == pytest.approx([-about_x_deg], abs=2e-5)


def test_a_spin_axis_that_points_down_outside_leans_the_top_outwards():
    """The listing's (toe, 1, -camber) with a camber of +0.8 deg: camber as ISO 8855 counts it."""
    bottom = contact_point_mm(POINTS.wheel_centre, POINTS.spin_axis, np.array(WHEEL_RADIUS_MM))
    assert bottom[1] < POINTS.wheel_centre[1]
    assert camber_deg(solve_wishbone(POINTS, 0.0)).item() == pytest.approx(np.degrees(np.arctan(DESIGN_CAMBER_RAD)))


def test_steering_axis():
    lower, upper, outward = POINTS.lower_ball_joint, POINTS.upper_ball_joint, outwards(POINTS.spin_axis)
    contact = contact_point_mm(POINTS.wheel_centre, POINTS.spin_axis, np.array(WHEEL_RADIUS_MM))
    offset_mm, scrub_mm = at_ground(lower, upper, contact, outward)
    assert kingpin_inclination_deg(lower, upper, outward).item() == pytest.approx(10.51821, abs=1e-5)
    assert caster_deg(lower, upper).item() == pytest.approx(7.05610, abs=1e-5)
    assert offset_mm.item() == pytest.approx(30.32555, abs=1e-4)
    assert scrub_mm.item() == pytest.approx(1.03271, abs=1e-4)


@pytest.mark.parametrize("lower_arm_deg", TABLE)
def test_upright_and_tie_rod_keep_their_length(lower_arm_deg):
    pose = solve_wishbone(POINTS, np.radians([lower_arm_deg]))
    upright_mm = np.linalg.norm(pose.upper_ball_joint - pose.lower_ball_joint, axis=-1).item()
    tie_rod_mm = np.linalg.norm(pose.tie_rod_end - pose.rack_end, axis=-1).item()
    assert (upright_mm, tie_rod_mm) == pytest.approx((314.55047, 314.27536), abs=1e-5)
