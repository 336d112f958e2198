"""What holds for any geometry: links keep their length, a mirror mirrors, a shift shifts, a branch is kept."""

from dataclasses import replace

import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, changed, mirrored, scattered, translated
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.linkage import camber_deg, solve_macpherson, solve_wishbone, strut_length_mm, toe_deg

LAYOUTS = {"wishbone": (WISHBONE, solve_wishbone), "macpherson": (MACPHERSON, solve_macpherson)}
EACH_LAYOUT = pytest.mark.parametrize("layout", LAYOUTS)
FAR_RAD = np.linspace(-1.5, 1.5, 151)
"""Past the toggles of most geometries."""
MIRROR = np.array([1.0, -1.0, 1.0])
SEEDS = st.integers(0, 2**32 - 1)
SPREADS_MM = st.sampled_from([5.0, 25.0, 60.0])
RACKS_MM = st.floats(-60.0, 60.0)
CHECKED = settings(derandomize=True, deadline=None, max_examples=60)


def apart_mm(one, other):
    return np.linalg.norm(one - other, axis=-1)


def changes_mm(pairs):
    """Largest change of the distances between points, of (now, now, at design, at design)."""
    return max(
        np.nanmax(np.abs(apart_mm(one, other) - apart_mm(p[..., None, :], q[..., None, :])))
        for one, other, p, q in pairs
    )


def links_of(points, pose):
    lower, outer = pose.lower_ball_joint, pose.tie_rod_end
    links = [
        (lower, points.lower_arm_front[..., None, :], points.lower_ball_joint, points.lower_arm_front),
        (lower, points.lower_arm_rear[..., None, :], points.lower_ball_joint, points.lower_arm_rear),
        (lower, outer, points.lower_ball_joint, points.tie_rod_end),
        (outer, pose.rack_end, points.tie_rod_end, points.rack_end),
        (pose.wheel_centre, outer, points.wheel_centre, points.tie_rod_end),
        (pose.wheel_centre, lower, points.wheel_centre, points.lower_ball_joint),
        (pose.tie_rod.of_point(points.tie_rod_end), outer, points.tie_rod_end, points.tie_rod_end),
        (pose.lower_arm.of_point(points.lower_ball_joint), lower, points.lower_ball_joint, points.lower_ball_joint),
        (pose.upright.of_point(points.tie_rod_end), outer, points.tie_rod_end, points.tie_rod_end),
    ]
    if pose.upper_arm is None:
        return links
    upper = pose.upper_ball_joint
    return [
        *links,
        (upper, points.upper_arm_front[..., None, :], points.upper_ball_joint, points.upper_arm_front),
        (upper, points.upper_arm_rear[..., None, :], points.upper_ball_joint, points.upper_arm_rear),
        (upper, lower, points.upper_ball_joint, points.lower_ball_joint),
        (upper, outer, points.upper_ball_joint, points.tie_rod_end),
        (pose.upright.of_point(points.upper_ball_joint), upper, points.upper_ball_joint, points.upper_ball_joint),
        (pose.upper_arm.of_point(points.upper_ball_joint), upper, points.upper_ball_joint, points.upper_ball_joint),
    ]


@EACH_LAYOUT
@given(SEEDS, SPREADS_MM)
@CHECKED
def test_links_keep_their_length(layout, seed, spread_mm):
    about, solve = LAYOUTS[layout]
    points = scattered(about, 3, seed, spread_mm)
    pose = solve(points, FAR_RAD)
    assert pose.reachable[:, np.abs(FAR_RAD) < 0.05].all()
    assert changes_mm(links_of(points, pose)) < 1e-9


@given(SEEDS, SPREADS_MM)
@CHECKED
def test_the_strut_axis_stays_in_the_pivot(seed, spread_mm):
    points = scattered(MACPHERSON, 3, seed, spread_mm)
    pose = solve_macpherson(points, FAR_RAD)
    to_pivot = points.strut_top[:, None, :] - pose.upright.of_point(points.strut_bottom)
    axis = pose.upright.of_direction(points.strut_top - points.strut_bottom)
    beside_mm = np.linalg.norm(np.cross(axis, to_pivot), axis=-1) / np.linalg.norm(axis, axis=-1)
    assert np.nanmax(beside_mm) < 1e-9


@given(SEEDS, st.floats(-2.0, 3.0).filter(lambda share: abs(share) > 0.1))
@CHECKED
def test_any_second_point_of_the_strut_axis_will_do(seed, share):
    """Even one above the pivot."""
    points = scattered(MACPHERSON, 3, seed)
    elsewhere = replace(points, strut_bottom=points.strut_top + share * (points.strut_bottom - points.strut_top))
    one, other = solve_macpherson(points, TRAVEL_RAD), solve_macpherson(elsewhere, TRAVEL_RAD)
    assert one.reachable.any()
    np.testing.assert_allclose(one.wheel_centre, other.wheel_centre, atol=1e-8)


@EACH_LAYOUT
@given(SEEDS, SPREADS_MM)
@CHECKED
def test_at_the_design_angle_nothing_has_moved(layout, seed, spread_mm):
    about, solve = LAYOUTS[layout]
    points = scattered(about, 4, seed, spread_mm)
    pose = solve(points, [0.0])
    assert apart_mm(pose.wheel_centre[:, 0], points.wheel_centre).max() < 1e-7
    assert np.abs(pose.upright.rotation - np.eye(3)).max() < 1e-9
    assert strut_length_mm(points, pose)[:, 0] == pytest.approx(apart_mm(points.strut_top, points.strut_bottom))


@EACH_LAYOUT
@given(SEEDS, RACKS_MM)
@CHECKED
def test_the_other_side_of_the_vehicle_is_the_mirror_image(layout, seed, rack_mm):
    about, solve = LAYOUTS[layout]
    points = scattered(about, 3, seed, 15.0)
    left, right = solve(points, TRAVEL_RAD, rack_mm), solve(mirrored(points), TRAVEL_RAD, -rack_mm)
    assert (left.reachable == right.reachable).all()
    assert left.reachable.any()
    for name in ("lower_ball_joint", "tie_rod_end", "rack_end", "wheel_centre", "spin_axis"):
        np.testing.assert_allclose(getattr(left, name), getattr(right, name) * MIRROR, atol=1e-9)
    np.testing.assert_allclose(camber_deg(left), camber_deg(right), atol=1e-9)
    np.testing.assert_allclose(toe_deg(left), toe_deg(right), atol=1e-9)


@EACH_LAYOUT
@given(SEEDS, st.tuples(*[st.floats(-3000.0, 3000.0)] * 3))
@CHECKED
def test_a_vehicle_that_stands_elsewhere_moves_alike(layout, seed, shift_mm):
    about, solve = LAYOUTS[layout]
    points = scattered(about, 3, seed, 15.0)
    here, there = solve(points, TRAVEL_RAD), solve(translated(points, np.array(shift_mm)), TRAVEL_RAD)
    assert here.reachable.all()
    assert there.reachable.all()
    np.testing.assert_allclose(there.wheel_centre - np.array(shift_mm), here.wheel_centre, atol=1e-9)
    np.testing.assert_allclose(there.upright.rotation, here.upright.rotation, atol=1e-11)


@EACH_LAYOUT
@given(SEEDS)
@CHECKED
def test_pivots_in_the_other_order_are_the_same_arm(layout, seed):
    about, solve = LAYOUTS[layout]
    points = scattered(about, 2, seed)
    swapped = changed(points, lambda name, value: getattr(points, SWAPPED.get(name, name), value))
    one, other = solve(points, TRAVEL_RAD), solve(swapped, TRAVEL_RAD)
    assert one.reachable.any()
    np.testing.assert_allclose(one.wheel_centre, other.wheel_centre, atol=1e-9)
    rising = np.diff(one.wheel_centre[..., 2], axis=-1)
    assert (rising[np.isfinite(rising)] > 0.0).all()


SWAPPED = {
    "lower_arm_front": "lower_arm_rear",
    "lower_arm_rear": "lower_arm_front",
    "upper_arm_front": "upper_arm_rear",
    "upper_arm_rear": "upper_arm_front",
}


def largest_jump_mm(pose):
    names = "lower_ball_joint", "tie_rod_end", "wheel_centre"
    return max(np.nanmax(apart_mm(*(getattr(pose, n)[..., s, :] for s in STEPS))) for n in names)


STEPS = slice(1, None), slice(None, -1)


@EACH_LAYOUT
@given(SEEDS, SPREADS_MM)
@settings(derandomize=True, deadline=None, max_examples=25)
def test_finer_steps_make_smaller_jumps_up_to_the_toggle(layout, seed, spread_mm):
    """A jump to another branch would not get smaller; the rush into a toggle goes with the root of the step."""
    about, solve = LAYOUTS[layout]
    points = scattered(about, 1, seed, spread_mm)
    coarse, fine = (solve(points, np.linspace(-1.5, 1.5, 1 + 60 * finer)) for finer in (1, 64))
    assert largest_jump_mm(fine) < 0.5 * largest_jump_mm(coarse)


@EACH_LAYOUT
@given(SEEDS, SPREADS_MM)
@CHECKED
def test_what_can_be_reached_is_one_piece_about_the_design_position(layout, seed, spread_mm):
    about, solve = LAYOUTS[layout]
    pose = solve(scattered(about, 5, seed, spread_mm), FAR_RAD)
    assert pose.reachable[:, len(FAR_RAD) // 2].all()
    assert (np.abs(np.diff(pose.reachable.astype(int), axis=-1)).sum(axis=-1) <= 2).all()
    assert (np.isfinite(pose.wheel_centre).all(axis=-1) == pose.reachable).all()
