"""From the moved joints to the whole pose, the same for every layout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.linkage.pose import Guides, Pose, reached_from_design
from service.engine.linkage.vectors import Mask, Vectors, unit


@dataclass(frozen=True, slots=True)
class MovedJoints:
    """Joints (..., 3) mm at every angle (...) rad, not-a-number where they cannot be put together.

    ``top`` is the upper end of the steering axis and ``top_in_upright`` the point of the upright, as it stands at
    design, that is there now: the upper ball joint, or the point of the strut axis that is in the pivot.
    """

    lower_arm_angle_rad: Vectors
    lower: Vectors
    top: Vectors
    top_in_upright: Vectors
    tie_rod_end: Vectors
    rack_end: Vectors

    def reachable(self, rack_shift_mm: Vectors) -> Mask:
        """Which positions (...) the linkage gets to from the design position."""
        possible = np.asarray(np.isfinite(self.tie_rod_end).all(axis=-1))
        return reached_from_design(possible, self.lower_arm_angle_rad, rack_shift_mm)

    def where(self, reachable: Mask) -> MovedJoints:
        """The same, and not-a-number where not ``reachable`` (...)."""
        here = reachable[..., None]
        return MovedJoints(
            np.where(reachable, self.lower_arm_angle_rad, np.nan),
            np.where(here, self.lower, np.nan),
            np.where(here, self.top, np.nan),
            self.top_in_upright,
            np.where(here, self.tie_rod_end, np.nan),
            np.where(here, self.rack_end, np.nan),
        )


@dataclass(frozen=True, slots=True)
class Wheel:
    """``centre`` (..., 3) mm and ``spin_axis`` (..., 3), outwards, in the design position."""

    centre: Vectors
    spin_axis: Vectors


def assembled(design: Guides, wheel: Wheel, joints: MovedJoints, reachable: Mask) -> Pose:
    """The pose, from the design (R, 1, 3) and the moved joints (R, P, 3)."""
    moved = joints.where(reachable)
    upright = design.steering.upright(moved.top_in_upright, moved.lower, moved.top, moved.tie_rod_end)
    arm_to_centre = wheel.centre - upright.design_origin
    return Pose(
        lower_ball_joint=moved.lower,
        tie_rod_end=moved.tie_rod_end,
        rack_end=moved.rack_end,
        wheel_centre=np.asarray(upright.origin + np.matvec(upright.rotation, arm_to_centre)),
        spin_axis=np.asarray(np.matvec(upright.rotation, unit(wheel.spin_axis))),
        lower_arm_angle_rad=moved.lower_arm_angle_rad,
        upright=upright,
        reachable=reachable,
        design=design,
        upper_ball_joint=None if design.upper_arm is None else moved.top,
    )
