"""Where a linkage locks: at the angle that elementary trigonometry says, and not beyond, without a warning."""

from dataclasses import replace

import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, mm, scattered, vectors_of

from service.engine.linkage import WishbonePoints, solve_macpherson, solve_wishbone

ALONG_X = mm(120, 0, 0)


def planar(lower_pivot, lower_ball_joint, upper_pivot, upper_ball_joint):
    """A wishbone that moves in a plane across the vehicle: its tie rod is a copy of the upper arm further back."""
    return WishbonePoints(
        lower_arm_front=lower_pivot + ALONG_X,
        lower_arm_rear=lower_pivot - ALONG_X,
        lower_ball_joint=lower_ball_joint,
        upper_arm_front=upper_pivot + ALONG_X,
        upper_arm_rear=upper_pivot - ALONG_X,
        upper_ball_joint=upper_ball_joint,
        rack_end=upper_pivot - ALONG_X,
        tie_rod_end=upper_ball_joint - ALONG_X,
        wheel_centre=lower_ball_joint,
        spin_axis=mm(0, 1, 0),
        strut_top=mm(0, 500, 500),
        strut_bottom=lower_ball_joint,
    )


def crank_rad(arm_mm, ground_mm, across_mm):
    """Angle of the lower arm to the line of the pivots where its end is ``across_mm`` from the upper pivot."""
    return np.arccos((arm_mm**2 + ground_mm**2 - across_mm**2) / (2.0 * arm_mm * ground_mm))


def links_mm(*joints):
    return [np.linalg.norm(b - a) for a, b in zip(joints, (*joints[1:], joints[0]), strict=True)]


def test_droop_ends_where_upright_and_upper_arm_are_in_line():
    joints = mm(0, 300, 0), mm(0, 700, -50), mm(0, 650, 260), mm(0, 400, 250)
    lower, upright, upper, ground = links_mm(*joints)
    now = crank_rad(lower, ground, np.linalg.norm(joints[1] - joints[3]))
    locked = crank_rad(lower, ground, upright + upper)
    # The upper pivot is above: the angle to it grows as the wheel drops.
    limit_rad = -(locked - now)
    around = limit_rad + np.array([1e-6, -1e-6])
    points = planar(joints[0], joints[1], joints[3], joints[2])
    assert solve_wishbone(points, around).reachable.tolist() == [True, False]
    stretched = solve_wishbone(points, around[:1])
    across = np.linalg.norm(stretched.lower_ball_joint - joints[3], axis=-1)
    assert across.item() == pytest.approx(upright + upper, abs=1e-3)


def test_it_does_not_come_back_beyond_a_toggle():
    """With a short upright the links would fit together again on the other side of the pivots' line."""
    crank_end = 80.0 * mm(0, np.cos(np.pi / 4), np.sin(np.pi / 4))
    points = planar(mm(0, 0, 0), crank_end, mm(0, 100, 0), crank_end + 30.0 * mm(0, np.cos(0.35), np.sin(0.35)))
    mirrored_rad = -np.pi / 2
    alone = solve_wishbone(points, [mirrored_rad])
    assert alone.reachable.all()  # nobody asked about the way there
    swept = solve_wishbone(points, np.linspace(mirrored_rad, 0.3, 200))
    assert not swept.reachable[0]
    assert np.isnan(swept.wheel_centre[0]).all()
    assert swept.reachable[-50]
    shuffled = np.random.default_rng(3).permutation(200)
    again = solve_wishbone(points, np.linspace(mirrored_rad, 0.3, 200)[shuffled])
    assert (again.reachable == swept.reachable[shuffled]).all()


@pytest.mark.parametrize(("about", "solve"), [(WISHBONE, solve_wishbone), (MACPHERSON, solve_macpherson)])
def test_a_rack_that_pulls_too_far_leaves_no_position(about, solve):
    pose = solve(scattered(about, 3, seed=1), TRAVEL_RAD, 5000.0)
    assert pose.reachable.shape == (3, len(TRAVEL_RAD))
    assert not pose.reachable.any()
    everything = [pose.wheel_centre, pose.upright.rotation, pose.lower_arm.origin, pose.tie_rod.origin, pose.spin_axis]
    if pose.upper_arm is not None:
        everything += [pose.upper_ball_joint, pose.upper_arm_angle_rad, pose.upper_arm.rotation]
    assert all(np.isnan(array).all() for array in everything)


@pytest.mark.parametrize(("about", "solve"), [(WISHBONE, solve_wishbone), (MACPHERSON, solve_macpherson)])
def test_with_a_rack_that_moves_each_position_stands_for_itself(about, solve):
    pose = solve(about, [0.0, 0.05, 0.1], [0.0, 5000.0, 0.0])
    assert pose.reachable.tolist() == [True, False, True]


def test_a_strut_cannot_be_nearer_to_the_pivot_than_its_axis_is_from_the_ball_joint():
    offset_mm = 40.0
    points = replace(
        MACPHERSON,
        strut_top=mm(0, 700 - offset_mm, 200),
        strut_bottom=mm(0, 700 - offset_mm, 0),
        pivot_shift=mm(0, 0, 0),
    )
    reach_mm = np.linalg.norm(points.strut_top - points.lower_ball_joint)
    towards = (points.lower_ball_joint - points.strut_top) / reach_mm
    shifts = [towards * (reach_mm - offset_mm * share) for share in (1.5, 0.5)]
    reached = [solve_macpherson(replace(points, pivot_shift=shift), 0.0).reachable.item() for shift in shifts]
    assert reached == [True, False]


BROKEN = [np.nan, np.inf, 1e308]


@pytest.mark.parametrize(("about", "solve"), [(WISHBONE, solve_wishbone), (MACPHERSON, solve_macpherson)])
@pytest.mark.parametrize("broken", BROKEN)
def test_points_that_are_no_points_are_not_reachable_and_do_not_raise(about, solve, broken):
    for name in sorted(set(vectors_of(about)) - {"strut_bottom", "strut_top", "wheel_centre", "spin_axis"}):
        points = replace(about, **{name: np.where([True, False, True], getattr(about, name), broken)})
        assert not solve(points, TRAVEL_RAD).reachable.any(), name


@pytest.mark.parametrize("broken", [np.nan, np.inf, -np.inf])
def test_an_angle_that_is_none_spoils_only_itself(broken):
    pose = solve_wishbone(WISHBONE, [-0.1, broken, 0.1])
    assert pose.reachable.tolist() == [True, False, True]
    assert np.isnan(pose.wheel_centre).all(axis=-1).tolist() == [False, True, False]


COINCIDENT = [
    (WISHBONE, solve_wishbone, "lower_arm_front", "lower_arm_rear"),
    (WISHBONE, solve_wishbone, "upper_arm_front", "upper_arm_rear"),
    (WISHBONE, solve_wishbone, "lower_ball_joint", "upper_ball_joint"),
    (WISHBONE, solve_wishbone, "tie_rod_end", "lower_ball_joint"),
    (MACPHERSON, solve_macpherson, "lower_arm_front", "lower_arm_rear"),
    (MACPHERSON, solve_macpherson, "strut_bottom", "strut_top"),
    (MACPHERSON, solve_macpherson, "lower_ball_joint", "strut_top"),
]


@pytest.mark.parametrize(("about", "solve", "one", "other"), COINCIDENT)
def test_points_that_coincide_make_no_linkage(about, solve, one, other):
    points = replace(about, **{one: getattr(about, other)})
    assert not solve(points, TRAVEL_RAD).reachable.any()
