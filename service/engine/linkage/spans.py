"""Distances between the body and a part that moves. Pose arrays are (R, P, ...), results (R, P); design (R, 3)."""

from __future__ import annotations

from service.engine.linkage.macpherson import MacphersonPoints
from service.engine.linkage.pose import BodyName, Pose
from service.engine.linkage.vectors import Vectors, length
from service.engine.linkage.wishbone import WishbonePoints


def span_mm(pose: Pose, on_body: Vectors, on_part: Vectors, part: BodyName) -> Vectors:
    """From a point of the vehicle's body, ``on_body`` (R, 3) mm, to one that ``part`` carries, ``on_part`` (R, 3) mm.

    The bump stop's room is such a span, from plate to arm.
    """
    return length(pose.body(part).of_point(on_part) - on_body[..., None, :])


def strut_length_mm(points: WishbonePoints | MacphersonPoints, pose: Pose) -> Vectors:
    """Mount to mount: from the strut's top on the body to its bottom, wherever that is fixed.

    On a MacPherson strut the top is the pivot where it stands, with any spacer.
    """
    top = points.pivot() if isinstance(points, MacphersonPoints) else points.strut_top
    return span_mm(pose, top, points.strut_bottom, points.strut_bottom_on)


def hose_span_mm(pose: Pose, hose_body: Vectors, hose_upright: Vectors) -> Vectors:
    """Between the brake hose's fixings, one on the body and one on the upright, (R, 3) mm, as the crow flies."""
    return span_mm(pose, hose_body, hose_upright, "upright")
