"""What the joints and the drive shaft have to take. Pose arrays are (R, P, ...), results (R, P); design (R, 3)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.linkage.pose import BodyName, Pose
from service.engine.linkage.vectors import Vectors, angle_deg, length


def ball_joint_angle_deg(pose: Pose, neutral: Pose, pin_axis: Vectors, socket_in: BodyName) -> Vectors:
    """Articulation of a ball joint: between its pin, fixed in the upright, and its socket, fixed in ``socket_in``.

    ``pin_axis`` (R, 3) or (3,): direction of the pin in the design position. In the pose ``neutral`` (R, 1), of the
    same points, pin and socket are in line. Not-a-number where either pose is not reachable. In a tie rod, which can
    spin about itself, the socket is taken not to: the joint has its whole turn to take.
    """
    pin_at_neutral = neutral.upright.of_direction(pin_axis)
    socket = np.matvec(np.swapaxes(neutral.body(socket_in).rotation, -1, -2), pin_at_neutral)
    return angle_deg(pose.upright.of_direction(pin_axis), np.matvec(pose.body(socket_in).rotation, socket))


@dataclass(frozen=True, slots=True)
class DriveShaft:
    """Design position, (R, 3) or (3,) mm: ``inner_cv``, fixed in the body, and ``outer_cv``, fixed in the upright.

    ``output_axis``: direction of the differential's output, outwards.
    """

    inner_cv: Vectors
    outer_cv: Vectors
    output_axis: Vectors

    def along(self, pose: Pose) -> Vectors:
        """From the inner joint to the outer one, (R, P, 3) mm."""
        return pose.upright.of_point(self.outer_cv) - self.inner_cv[..., None, :]

    def length_mm(self, pose: Pose) -> Vectors:
        """Distance between the joints; plunge is its change."""
        return length(self.along(pose))

    def inner_cv_angle_deg(self, pose: Pose) -> Vectors:
        """Angle between shaft and differential output."""
        return angle_deg(self.along(pose), self.output_axis[..., None, :])

    def outer_cv_angle_deg(self, pose: Pose) -> Vectors:
        """Angle between shaft and wheel spin axis."""
        return angle_deg(self.along(pose), pose.spin_axis)
