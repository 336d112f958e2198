"""The double wishbone, solved in closed form.

             upper_arm_front, _rear o---------o upper_ball_joint
                                              |
         rack_end o---------------------------o tie_rod_end      (upright, with the wheel on it)
                                              |
  lower_arm_front, _rear o--------------------o lower_ball_joint

1. the lower arm is turned: its ball joint is where it is on its circle;
2. the upper ball joint is where its own circle meets the sphere of the upright's height about the lower one;
3. the tie-rod end turns about the line through both and meets the sphere of the tie rod about the rack end.
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
from service.engine.linkage.vectors import Vectors, length

StrutBottomOn = Literal["lower_arm", "upper_arm", "upright"]


@dataclass(frozen=True, slots=True)
class WishbonePoints:
    """Hard points of R geometries in the design position: (R, 3), or (3,) for one that all share.

    Points in mm, ISO 8855 axes (x forward, y left, z up), left wheel (a right one is its mirror image).
    ``spin_axis``: the wheel's, pointing outwards, of any length. ``replaced_upper_ball_joint``: for an upper arm
    that is not the surveyed one, where that arm holds its ball joint while on its pivots and at the surveyed arm's
    angle; the upright stays the surveyed one.
    """

    lower_arm_front: Vectors
    lower_arm_rear: Vectors
    lower_ball_joint: Vectors
    upper_arm_front: Vectors
    upper_arm_rear: Vectors
    upper_ball_joint: Vectors
    rack_end: Vectors
    tie_rod_end: Vectors
    wheel_centre: Vectors
    spin_axis: Vectors
    strut_top: Vectors
    strut_bottom: Vectors
    strut_bottom_on: StrutBottomOn = "lower_arm"
    replaced_upper_ball_joint: Vectors | None = None

    def lower_arm(self) -> Arm:
        """The lower arm."""
        return Arm(self.lower_arm_front, self.lower_arm_rear, self.lower_ball_joint)

    def upper_arm(self) -> Arm:
        """The upper arm as fitted."""
        replaced = self.replaced_upper_ball_joint
        return Arm(self.upper_arm_front, self.upper_arm_rear, self.upper_ball_joint if replaced is None else replaced)

    def steering(self) -> Steering:
        """Steering axis and tie rod."""
        return Steering(self.lower_ball_joint, self.upper_ball_joint, self.tie_rod_end, self.rack_end)


def solve_wishbone(points: WishbonePoints, lower_arm_angle_rad: ArrayLike, rack_shift_mm: ArrayLike = 0.0) -> Pose:
    """Every position of a double wishbone, from the angle of its lower arm.

    ``points``: R geometries, (R, 3) or (3,) mm. ``lower_arm_angle_rad`` (P,) or (R, P): from the design position,
    positive when the wheel rises. ``rack_shift_mm`` (P,), (R, P), (R, 1) or a number: the rack's way to the left.
    The result is (R, P, 3), (P, 3) for points (3,).

    Valid on the branch of the design position, up to its toggles. Raises nothing: where the linkage cannot be, or
    where the points make no linkage, the position is not-a-number and not ``reachable``.

    Source: elementary geometry; checked against published hard points and an independent multibody library.

    >>> at = lambda *xyz: np.array(xyz, np.float64)
    >>> points = WishbonePoints(
    ...     lower_arm_front=at(150, 300, 0), lower_arm_rear=at(-150, 300, 0), lower_ball_joint=at(0, 700, 0),
    ...     upper_arm_front=at(150, 300, 300), upper_arm_rear=at(-150, 300, 300), upper_ball_joint=at(0, 700, 300),
    ...     rack_end=at(-120, 300, 100), tie_rod_end=at(-120, 700, 100),
    ...     wheel_centre=at(0, 760, 150), spin_axis=at(0, 1, 0), strut_top=at(0, 500, 500), strut_bottom=at(0, 600, 0),
    ... )
    >>> pose = solve_wishbone(points, [0.0, np.pi / 6])  # a parallelogram: the wheel rises upright
    >>> pose.wheel_centre.round(6).tolist()
    [[0.0, 760.0, 150.0], [0.0, 706.410162, 350.0]]
    """
    angle, shift = (np.atleast_1d(np.asarray(x, np.float64)) for x in (lower_arm_angle_rad, rack_shift_mm))
    design = against_positions(points)
    lower_arm, upper_arm, steering = design.lower_arm(), design.upper_arm(), design.steering()
    with np.errstate(all="ignore"):
        circle, lower = upper_arm.circle, lower_arm.ball_joint_at(angle)
        upright_height = length(steering.axis_top - steering.lower_ball_joint)
        top = circle.meets(lower, upright_height, circle.side_of(upper_arm.ball_joint, lower_arm.ball_joint))
        rack_end = shifted_rack_end(steering.rack_end, shift)
        tie_rod_end = steering.moved_tie_rod_end(steering.axis_top, lower, top, rack_end)
        joints = MovedJoints(angle, lower, top, steering.axis_top, tie_rod_end, rack_end)
        wheel = Wheel(design.wheel_centre, design.spin_axis)
        return assembled(Guides(lower_arm, steering, upper_arm), wheel, joints, joints.reachable(shift))
