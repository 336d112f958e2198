"""The same linkages as five equations for SciPy's root finder: an upright of six degrees of freedom, five guides.

Given is the height of the wheel centre; unknown are its x and y and the upright's rotation vector. Every guide gives
one equation: a link keeps its length, or the strut axis stays in the pivot.
"""

import numpy as np
from scipy.optimize import root
from scipy.spatial.transform import Rotation

SETTLED = 1e-12
UNTURNED = 1.0
"""Added to each component of the rotation vector: the root finder's steps are relative, and zero has none."""


def rotation_of(unknowns):
    return Rotation.from_rotvec(unknowns[2:] - UNTURNED).as_matrix()


def on_upright(points, unknowns, wheel_height_mm):
    """A function that carries a point of the upright; lengths in the unknowns are in metres, to scale with angles."""
    rotation = rotation_of(unknowns)
    centre = np.array([1000.0 * unknowns[0], 1000.0 * unknowns[1], wheel_height_mm])
    return lambda point: centre + rotation @ (point - points.wheel_centre)


def stretched(moved, design, fixed):
    """By how much a link from ``fixed`` is too long, m."""
    return (np.linalg.norm(moved - fixed) - np.linalg.norm(design - fixed)) / 1000.0


def arms_and_tie_rod(points, carried):
    lower, tie_rod_end = carried(points.lower_ball_joint), carried(points.tie_rod_end)
    return [
        stretched(lower, points.lower_ball_joint, points.lower_arm_front),
        stretched(lower, points.lower_ball_joint, points.lower_arm_rear),
        stretched(tie_rod_end, points.tie_rod_end, points.rack_end),
    ]


def of_wishbone(unknowns, points, wheel_height_mm):
    carried = on_upright(points, unknowns, wheel_height_mm)
    upper = carried(points.upper_ball_joint)
    return [
        *arms_and_tie_rod(points, carried),
        stretched(upper, points.upper_ball_joint, points.upper_arm_front),
        stretched(upper, points.upper_ball_joint, points.upper_arm_rear),
    ]


def of_macpherson(unknowns, points, wheel_height_mm):
    carried = on_upright(points, unknowns, wheel_height_mm)
    bottom, top = carried(points.strut_bottom), carried(points.strut_top)
    beside = np.cross(top - bottom, points.strut_top - bottom) / np.linalg.norm(top - bottom) / 1000.0
    return [*arms_and_tie_rod(points, carried), *beside[:2]]  # the axis is upright enough for two of the three


def solved(equations, points, wheel_height_mm, guess):
    """The unknowns; ``guess`` is a position nearby, which keeps the branch."""
    found = root(equations, guess, args=(points, wheel_height_mm), tol=SETTLED)
    assert np.abs(found.fun).max() < 1e-10, found.message
    return found.x


def at_design(points):
    return np.array([points.wheel_centre[0] / 1000.0, points.wheel_centre[1] / 1000.0, *[UNTURNED] * 3])
