"""Where the wheel is and how it stands. Pose arrays are (R, P, 3), results (R, P); points of the design are (R, 3).

Signs after ISO 8855:2011 (known second-hand). Rotations are right-handed about x forward, y left and z up, the same for
either wheel: so are steer and lean. Camber and toe look at the vehicle instead: camber is positive when the wheel's top
leans outwards, toe when its front points inwards (toe-in), on the left and on the right alike. On a left wheel, then,
toe = -steer, and camber has the opposite sign of the lean.
"""

from __future__ import annotations

import numpy as np

from service.engine.linkage.pose import Pose
from service.engine.linkage.vectors import Vectors, length


def steer_angle_deg(pose: Pose) -> Vectors:
    """Angle of the wheel plane's level line against x, about +z: positive when the wheel points left."""
    side = outwards(pose.spin_axis)
    return np.asarray(np.degrees(np.arctan2(-side * pose.spin_axis[..., 0], side * pose.spin_axis[..., 1])))


def lean_about_x_deg(pose: Pose) -> Vectors:
    """Angle of the wheel to the vertical as seen from the front, about +x: positive when its top leans right.

    Of a wheel that is steered by s this is more than its camber: tan(lean) = tan(camber) / cos(s), but for the sign.
    """
    side = outwards(pose.spin_axis)
    return np.asarray(np.degrees(np.arctan2(side * pose.spin_axis[..., 2], side * pose.spin_axis[..., 1])))


def toe_deg(pose: Pose) -> Vectors:
    """Toe, positive when the front of the wheel points inwards."""
    return -outwards(pose.spin_axis) * steer_angle_deg(pose)


def camber_deg(pose: Pose) -> Vectors:
    """Camber, positive when the top of the wheel leans outwards: the angle of the wheel plane to the vertical."""
    level = np.hypot(pose.spin_axis[..., 0], pose.spin_axis[..., 1])
    return np.asarray(np.degrees(np.arctan2(-pose.spin_axis[..., 2], level)))


def outwards(spin_axis: Vectors) -> Vectors:
    """+1 for a left wheel, whose spin axis (..., 3) points to the left, -1 for a right one (...)."""
    return np.where(spin_axis[..., 1] < 0.0, -1.0, 1.0)


def arch_to_hub_mm(pose: Pose, arch_mark: Vectors) -> Vectors:
    """The drop from ``arch_mark`` (R, 3) to the wheel centre: the difference of their heights."""
    return np.asarray(arch_mark[..., None, 2] - pose.wheel_centre[..., 2])


def contact_point_mm(wheel_centre: Vectors, spin_axis: Vectors, wheel_radius_mm: Vectors) -> Vectors:
    """Lowest point (..., 3) of the wheel's circle, mm; of the tyre with ``wheel_radius_mm`` (...) its loaded radius.

    >>> contact_point_mm(np.array([0.0, 768.0, 0.0]), np.array([0.0, 4.0, -3.0]), np.array(100.0)).tolist()
    [0.0, 708.0, -80.0]
    """
    axis = spin_axis / length(spin_axis)[..., None]
    # Straight down, less its part along the spin axis: that is down in the plane of the wheel.
    down = np.array([0.0, 0.0, -1.0]) + axis[..., 2:] * axis
    return np.asarray(wheel_centre + (wheel_radius_mm / length(down))[..., None] * down)
