"""The spatial linkage of a suspension, as pure geometry: from hard points to every position of the wheel.

R geometries (rows) in P positions: points (R, 3), mm; angles (P,) or (R, P); results (R, P) and (R, P, 3)
x forward, y left, z up (ISO 8855); the left wheel, or its mirror image
"""

from __future__ import annotations

from service.engine.linkage.joints import DriveShaft, ball_joint_angle_deg
from service.engine.linkage.macpherson import MacphersonPoints, solve_macpherson
from service.engine.linkage.placement import Placement
from service.engine.linkage.pose import BodyName, Pose
from service.engine.linkage.spans import hose_span_mm, span_mm, strut_length_mm
from service.engine.linkage.steering_axis import AtGround, at_ground, caster_deg, kingpin_inclination_deg
from service.engine.linkage.wheel import (
    arch_to_hub_mm,
    camber_deg,
    contact_point_mm,
    lean_about_x_deg,
    outwards,
    steer_angle_deg,
    toe_deg,
)
from service.engine.linkage.wishbone import StrutBottomOn, WishbonePoints, solve_wishbone

__all__ = [
    "AtGround",
    "BodyName",
    "DriveShaft",
    "MacphersonPoints",
    "Placement",
    "Pose",
    "StrutBottomOn",
    "WishbonePoints",
    "arch_to_hub_mm",
    "at_ground",
    "ball_joint_angle_deg",
    "camber_deg",
    "caster_deg",
    "contact_point_mm",
    "hose_span_mm",
    "kingpin_inclination_deg",
    "lean_about_x_deg",
    "outwards",
    "solve_macpherson",
    "solve_wishbone",
    "span_mm",
    "steer_angle_deg",
    "strut_length_mm",
    "toe_deg",
]
