"""The MacPherson strut, solved in closed form.

                      o strut_top: the pivot
                      |
                      |  strut axis, fixed in the upright; it always passes through the pivot
                      |
         rack_end o---|---o tie_rod_end
                      |
  lower_arm_front, _rear o-------------o lower_ball_joint

1. the lower arm is turned: its ball joint is where it is on its circle;
2. ball joint, foot of the perpendicular from it to the strut axis, and pivot make a right-angled triangle whose
   first side is fixed: a quadratic gives the point of the axis that is in the pivot;
3. the tie-rod end turns about the line from ball joint to pivot and meets the sphere of the tie rod.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from service.engine.linkage.arm import Arm
from service.engine.linkage.assembly import MovedJoints, Wheel, assembled
from service.engine.linkage.pose import Guides, Pose
from service.engine.linkage.rows import against_positions
from service.engine.linkage.upright import Steering, shifted_rack_end
from service.engine.linkage.vectors import Vectors, dot, length, root_or_nan, unit


@dataclass(frozen=True, slots=True)
class MacphersonPoints:
    """Hard points of R geometries in the design position: (R, 3), or (3,) for one that all share.

    Points in mm, ISO 8855 axes (x forward, y left, z up), left wheel (a right one is its mirror image).
    ``strut_top``: the pivot; ``strut_bottom``: a second point on the strut axis, fixed in the upright. ``spin_axis``:
    the wheel's, pointing outwards, of any length. ``pivot_shift`` (3,) or (R, 3): how far the pivot stands from where
    it was surveyed; (0, 0, -t) for a spacer of thickness t on top of the strut.
    """

    lower_arm_front: Vectors
    lower_arm_rear: Vectors
    lower_ball_joint: Vectors
    rack_end: Vectors
    tie_rod_end: Vectors
    wheel_centre: Vectors
    spin_axis: Vectors
    strut_top: Vectors
    strut_bottom: Vectors
    pivot_shift: Vectors | None = None
    strut_bottom_on: Literal["upright"] = "upright"

    def lower_arm(self) -> Arm:
        """The lower arm."""
        return Arm(self.lower_arm_front, self.lower_arm_rear, self.lower_ball_joint)

    def steering(self) -> Steering:
        """Steering axis, which ends in the pivot at design, and tie rod."""
        return Steering(self.lower_ball_joint, self.strut_top, self.tie_rod_end, self.rack_end)

    def pivot(self) -> Vectors:
        """Where the pivot stands, mm."""
        return self.strut_top if self.pivot_shift is None else self.strut_top + self.pivot_shift


def point_in_pivot(design: MacphersonPoints, lower_ball_joint: Vectors) -> Vectors:
    """The point of the strut axis, as it stands at design, that is in the pivot now, (R, P, 3) mm.

    ``design`` (R, 1, 3); ``lower_ball_joint`` (R, P, 3) mm, now. Not-a-number where that is nearer to the pivot than
    to the axis.
    """
    axis = unit(design.strut_top - design.strut_bottom)
    up = dot(design.strut_top - design.lower_ball_joint, axis)
    foot = design.strut_top - up[..., None] * axis
    offset, reach = length(design.lower_ball_joint - foot), length(design.pivot() - lower_ball_joint)
    side = np.where(up == 0.0, np.nan, np.sign(up))
    return np.asarray(foot + (side * root_or_nan((reach - offset) * (reach + offset)))[..., None] * axis)


def solve_macpherson(points: MacphersonPoints, lower_arm_angle_rad: ArrayLike, rack_shift_mm: ArrayLike = 0.0) -> Pose:
    """Every position of a MacPherson strut, from the angle of its lower arm.

    ``points``: R geometries, (R, 3) or (3,) mm. ``lower_arm_angle_rad`` (P,) or (R, P): from the design position,
    positive when the wheel rises. ``rack_shift_mm`` (P,), (R, P), (R, 1) or a number: the rack's way to the left.
    The result is (R, P, 3), (P, 3) for points (3,).

    Valid on the branch of the design position, up to its toggles. Raises nothing: where the linkage cannot be, or
    where the points make no linkage, the position is not-a-number and not ``reachable``.

    Source: elementary geometry; checked against an independent multibody library.

    >>> at = lambda *xyz: np.array(xyz, np.float64)
    >>> points = MacphersonPoints(
    ...     lower_arm_front=at(150, 300, 0), lower_arm_rear=at(-150, 300, 0), lower_ball_joint=at(0, 700, 0),
    ...     rack_end=at(-120, 300, 0), tie_rod_end=at(-120, 700, 0), wheel_centre=at(0, 760, 100),
    ...     spin_axis=at(0, 1, 0), strut_top=at(0, 700, 600), strut_bottom=at(0, 700, 200),
    ... )
    >>> top_of_upright = solve_macpherson(points, [0.0, 0.1]).upright.of_direction(at(0, 0, 1))
    >>> (top_of_upright[1, 1] / top_of_upright[1, 2]).round(7).item()  # ball joint in by 2.0 mm, 560.1 mm below
    0.003568
    """
    angle, shift = (np.atleast_1d(np.asarray(x, np.float64)) for x in (lower_arm_angle_rad, rack_shift_mm))
    design = against_positions(points)
    lower_arm, steering = design.lower_arm(), design.steering()
    with np.errstate(all="ignore"):
        lower, pivot = lower_arm.ball_joint_at(angle), design.pivot()
        in_pivot = point_in_pivot(design, lower)
        rack_end = shifted_rack_end(steering.rack_end, shift)
        tie_rod_end = steering.moved_tie_rod_end(in_pivot, lower, pivot, rack_end)
        joints = MovedJoints(angle, lower, pivot, in_pivot, tie_rod_end, rack_end)
        wheel = Wheel(design.wheel_centre, design.spin_axis)
        return assembled(Guides(lower_arm, steering), wheel, joints, joints.reachable(shift))
