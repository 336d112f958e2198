"""Refusing hard points that cannot be: the points are named, and the likely mistake."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from service.engine.envelope import AxleEnvelope, HardPoints, Point
from service.engine.plausible import field_faults
from service.engine.policy import STANDARD
from service.engine.refusal import Fault
from service.engine.sensitivity import Array, spread

if TYPE_CHECKING:
    from service.engine.survey import Survey

AT = "/travel/hard_points"
UPPER_ARM = ("upper_arm_front", "upper_arm_rear", "upper_ball_joint")
DIRECTIONS = ("spin_axis", "output_axis")
PAIRS = (
    ("lower_arm_front", "lower_arm_rear", "the pivots of the lower arm"),
    ("upper_arm_front", "upper_arm_rear", "the pivots of the upper arm"),
    ("lower_ball_joint", "upper_ball_joint", "the two ball joints"),
    ("rack_end", "tie_rod_end", "the ends of the tie rod"),
    ("strut_top", "strut_bottom", "the ends of the strut"),
    ("inner_cv", "outer_cv", "the joints of the drive shaft"),
)
"""Points that lie well apart on every vehicle."""
LEAST_APART_MM, FARTHEST_MM, SMALLEST_MM = 20.0, 10_000.0, 50.0
LEAST_SWING_RAD = 0.02
ON_THE_UPRIGHT, UPRIGHT_MM = ("lower_ball_joint", "upper_ball_joint", "tie_rod_end", "outer_cv"), 600.0


def check_survey(envelope: AxleEnvelope) -> list[Fault]:
    """What is wrong with the hard points of a surveyed axle; pointers are relative to the envelope."""
    points = envelope.travel.hard_points
    assert points is not None  # noqa: S101 - the caller has a surveyed axle
    at = {
        name: _values(getattr(points, name))
        for name in points.__dataclass_fields__
        if isinstance(getattr(points, name), tuple)
    }
    faults = [*field_faults(points, AT), *_layout_faults(envelope, points), *_coordinate_faults(at)]
    faults = faults or [*_direction_faults(at), *_scale_faults(at)]
    faults = faults or [*_apart_faults(at), *_upright_faults(at), *_side_faults(at)]
    return faults or list(_linkage_faults(envelope))


def _values(point: Point) -> Array:
    return np.array([coordinate.value for coordinate in point])


def _layout_faults(envelope: AxleEnvelope, points: HardPoints) -> Iterator[Fault]:
    if envelope.layout not in ("wishbone_coilover", "macpherson"):
        yield Fault(
            AT,
            "Only double wishbones with coil-overs and MacPherson struts go by hard points: tape this axle.",
        )
    for name in UPPER_ARM:
        stated = getattr(points, name) is not None
        if envelope.layout == "macpherson" and stated:
            yield Fault(f"{AT}/{name}", "A MacPherson strut has no upper arm.")
        if envelope.layout == "wishbone_coilover" and not stated:
            yield Fault(f"{AT}/{name}", "A double wishbone needs the points of its upper arm.")
    if envelope.layout == "macpherson" and points.strut_bottom_on not in (None, "upright"):
        yield Fault(f"{AT}/strut_bottom_on", "A MacPherson strut is fixed in the upright.")


def _coordinate_faults(at: dict[str, Array]) -> Iterator[Fault]:
    for name, xyz in at.items():
        for i, value in enumerate(xyz):
            if not abs(value) <= FARTHEST_MM:
                yield Fault(f"{AT}/{name}/{i}", f"{value:g} mm is no coordinate of a point of a suspension.")


def _direction_faults(at: dict[str, Array]) -> Iterator[Fault]:
    for name in DIRECTIONS:
        if name in at and not np.linalg.norm(at[name]) > 0.0:
            yield Fault(f"{AT}/{name}", "A direction of no length points nowhere.")
        elif name in at and at[name][1] <= 0.0:
            yield Fault(
                f"{AT}/{name}", "On the left wheel it must point outwards, to the left: its y must be positive."
            )


def _scale_faults(at: dict[str, Array]) -> Iterator[Fault]:
    placed = np.array([xyz for name, xyz in at.items() if name not in DIRECTIONS])
    if np.ptp(placed, axis=0).max() < SMALLEST_MM:
        yield Fault(AT, "All points lie within a few centimetres: give millimetres, not metres or inches.")


def _apart_faults(at: dict[str, Array]) -> Iterator[Fault]:
    for one, other, what in PAIRS:
        if one in at and other in at and np.linalg.norm(at[one] - at[other]) < LEAST_APART_MM:
            yield Fault(f"{AT}/{other}", f"{what[0].upper()}{what[1:]}, {one} and {other}, are in the same place.")
    for arm in ("lower", "upper"):
        names = (f"{arm}_arm_front", f"{arm}_arm_rear", f"{arm}_ball_joint")
        if all(name in at for name in names):
            front, rear, joint = (at[name] for name in names)
            axis = (rear - front) / max(float(np.linalg.norm(rear - front)), 1e-9)
            if np.linalg.norm(np.cross(joint - front, axis)) < LEAST_APART_MM:
                yield Fault(
                    f"{AT}/{names[2]}", f"It lies on the axis of {names[0]} and {names[1]}: that arm cannot swing."
                )


def _upright_faults(at: dict[str, Array]) -> Iterator[Fault]:
    for name in ON_THE_UPRIGHT:
        if name in at and np.linalg.norm(at[name] - at["wheel_centre"]) > UPRIGHT_MM:
            yield Fault(f"{AT}/{name}", "It lies too far from the wheel centre for the upright: another unit or side?")


def _side_faults(at: dict[str, Array]) -> Iterator[Fault]:
    """The left wheel is outside, at greater y, of what its arms turn about; z points upwards."""
    for arm, outer in (("lower", "wheel_centre"), ("lower", "lower_ball_joint"), ("upper", "upper_ball_joint")):
        if outer not in at:
            continue
        inner = 0.5 * (at[f"{arm}_arm_front"][1] + at[f"{arm}_arm_rear"][1])
        if at[outer][1] < inner:
            yield Fault(
                f"{AT}/{outer}",
                f"It lies inside of the {arm} arm's pivots: give the left wheel, y to the left; points, or left and "
                "right, mixed up?",
            )
    if at["strut_top"][2] < at["strut_bottom"][2]:
        yield Fault(f"{AT}/strut_top", "It lies below strut_bottom: z points upwards; the two may be mixed up.")
    if at["arch_mark"][2] < at["wheel_centre"][2]:
        yield Fault(f"{AT}/arch_mark", "It lies below the wheel centre: z points upwards.")


def arm_fault(envelope: AxleEnvelope, ball_joint: Point) -> str | None:
    """Why an upper arm cannot hold its ball joint there on a surveyed axle; ``None`` where it can."""
    points = envelope.travel.hard_points
    if points is None or points.upper_arm_front is None or points.upper_arm_rear is None:
        return "Only a surveyed double wishbone has a place for it."
    if _values(ball_joint)[1] < 0.5 * (points.upper_arm_front[1].value + points.upper_arm_rear[1].value):
        return "It lies inside of the arm's pivots: give the left wheel, y to the left."
    droop, bump, _ = _reach(envelope, {f"arm_ball_joint/{i}": (c.value, 0.0) for i, c in enumerate(ball_joint)})
    if -droop < LEAST_SWING_RAD or bump < LEAST_SWING_RAD:
        return "With its ball joint there the arm cannot meet the upright, or hardly moves."
    return None


def _reach(envelope: AxleEnvelope, change: dict[str, tuple[float, float]]) -> tuple[float, float, tuple[bool, bool]]:
    from service.engine.survey import swing  # noqa: PLC0415 - it needs a checked envelope

    return swing(_as_read(envelope, change))


def _as_read(envelope: AxleEnvelope, change: dict[str, tuple[float, float]]) -> Survey:
    from service.engine.survey import Survey, survey_readings  # noqa: PLC0415 - it needs a checked envelope

    readings = (
        survey_readings(envelope, STANDARD) | {"top_spacer": (0.0, 0.0), "differential_drop": (0.0, 0.0)} | change
    )
    return Survey(envelope, spread({name: (value, 0.0) for name, (value, _) in readings.items()}).moved)


def _linkage_faults(envelope: AxleEnvelope) -> Iterator[Fault]:
    as_read = _as_read(envelope, {})
    droop, bump, _ = _reach(envelope, {})
    names = "strut_top, strut_bottom and lower_ball_joint" if envelope.layout == "macpherson" else ", ".join(UPPER_ARM)
    if -droop < LEAST_SWING_RAD or bump < LEAST_SWING_RAD:
        yield Fault(
            f"{AT}/lower_ball_joint" if envelope.layout == "macpherson" else f"{AT}/upper_ball_joint",
            f"At the surveyed position the linkage hardly moves: {names}, or the tie rod's ends, cannot all be right.",
        )
        return
    room = as_read.stop_room(as_read.pose(np.array([0.0, LEAST_SWING_RAD / 2.0])))
    if room is not None and not room[0, 1] < room[0, 0]:
        yield Fault(
            f"{AT}/bump_plate",
            "The room from bump_stop to it grows as the wheel rises: the two are mixed up, or bump_stop_on is wrong.",
        )
