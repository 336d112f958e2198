"""Planar four-bars through the spatial solver: a wishbone whose pivot axes are all parallel to x moves in a plane.

The lower arm is the crank a, the upright the coupler b, the upper arm the rocker c, and the body the ground d. y is
along the ground from the crank's pivot to the rocker's, z across. The tie rod is a copy of the rocker, moved along x,
so that the upright does not steer.
"""

import numpy as np
import pytest

from service.engine.linkage import WishbonePoints, solve_wishbone

ALONG_X = np.array([80.0, 0.0, 0.0])
OPEN, CROSSED = 1.0, -1.0


def in_plane(y, z):
    return np.array([0.0, y, z])


def four_bar(links, crank_deg, circuit):
    """Put together at ``crank_deg``: the coupler's end is where two circles cut, above the diagonal if open."""
    a, b, c, d = links
    crank_end = a * in_plane(np.cos(np.radians(crank_deg)), np.sin(np.radians(crank_deg)))
    rocker_pivot = in_plane(d, 0.0)
    diagonal = rocker_pivot - crank_end
    reach = np.linalg.norm(diagonal)
    along = (b**2 - c**2 + reach**2) / (2.0 * reach)
    across = circuit * np.sqrt(b**2 - along**2)
    rocker_end = crank_end + (along * diagonal + across * np.cross([1.0, 0.0, 0.0], diagonal)) / reach
    return WishbonePoints(
        lower_arm_front=ALONG_X,
        lower_arm_rear=-ALONG_X,
        lower_ball_joint=crank_end,
        upper_arm_front=rocker_pivot + ALONG_X,
        upper_arm_rear=rocker_pivot - ALONG_X,
        upper_ball_joint=rocker_end,
        rack_end=rocker_pivot - ALONG_X,
        tie_rod_end=rocker_end - ALONG_X,
        wheel_centre=rocker_end,
        spin_axis=in_plane(1.0, 0.0),
        strut_top=in_plane(0.0, d),
        strut_bottom=crank_end,
    )


def direction_deg(start, end):
    return float(np.degrees(np.arctan2(*(end - start)[..., [2, 1]].ravel())))


def coupler_and_rocker_deg(links, crank_deg, circuit, assembled_deg):
    points = four_bar(links, assembled_deg, circuit)
    pose = solve_wishbone(points, np.radians([crank_deg - assembled_deg]))
    assert np.abs(pose.tie_rod_end[0] - pose.upper_ball_joint[0] + ALONG_X).max() < 1e-9  # it stays in its plane
    rocker = direction_deg(in_plane(links[-1], 0.0), pose.upper_ball_joint)
    return direction_deg(pose.lower_ball_joint, pose.upper_ball_joint), rocker


@pytest.mark.parametrize("assembled_deg", [25.0, 40.0, 60.0])
def test_norton_example_4_1(assembled_deg):
    """Norton, Design of Machinery, Example 4-1: from memory (high confidence), computed again."""
    links = 40.0, 120.0, 80.0, 100.0
    opened = coupler_and_rocker_deg(links, 40.0, OPEN, assembled_deg)
    crossed = coupler_and_rocker_deg(links, 40.0, CROSSED, assembled_deg)
    assert opened == pytest.approx((20.297883, 57.324880), abs=1e-6)
    assert crossed == pytest.approx((-60.977967, -98.004964), abs=1e-6)


@pytest.mark.parametrize("assembled_deg", [30.0, 45.0, 70.0])
def test_nikravesh_example_5_2(assembled_deg):
    """Inputs read in a listing "Example 5.2" (Nikravesh, Planar Multibody Dynamics, by memory); results computed."""
    links = 100.0, 300.0, 220.0, 200.0
    opened = coupler_and_rocker_deg(links, 45.0, OPEN, assembled_deg)
    crossed = coupler_and_rocker_deg(links, 45.0, CROSSED, assembled_deg)
    assert opened == pytest.approx((15.591599, 43.466350), abs=1e-6)
    assert crossed == pytest.approx((-72.9417, -100.8165), abs=1e-4)


@pytest.mark.parametrize("assembled_deg", [10.0, 30.0, 55.0])
def test_lecture_listing(assembled_deg):
    """Inputs read in a lecture's listing of the complex-number method; results computed."""
    links = 20.0, 70.0, 90.0, 60.0
    opened = coupler_and_rocker_deg(links, 30.0, OPEN, assembled_deg)
    crossed = coupler_and_rocker_deg(links, 30.0, CROSSED, assembled_deg)
    assert opened == pytest.approx((88.837241, 117.286068), abs=1e-6)
    assert crossed == pytest.approx((-115.2108, -143.6596), abs=1e-4)


@pytest.mark.parametrize("assembled_deg", [50.0, 75.0, 88.0])
def test_parallelogram(assembled_deg):
    """Inputs read; a parallelogram keeps its coupler level, exactly."""
    opened = coupler_and_rocker_deg((80.0, 80.0, 80.0, 80.0), 75.0, OPEN, assembled_deg)
    assert opened == pytest.approx((0.0, 75.0), abs=1e-9)
