"""A surveyed axle -> travel curves: the linkage solved over the swing of its lower arm, in every column.

The design position is the ride position. Everything is a function of arch-to-hub: the strut's length, the angles of
the joints, plunge, hose span, camber and toe, the gap left to the bump stop; with exact slopes at close knots, so that
the cubics between them are as good as the linkage itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from service.engine.envelope import AxleEnvelope, HardPoints, StationAt
from service.engine.layouts import LAYOUTS
from service.engine.linkage import (
    BodyName,
    DriveShaft,
    MacphersonPoints,
    Pose,
    WishbonePoints,
    arch_to_hub_mm,
    ball_joint_angle_deg,
    camber_deg,
    hose_span_mm,
    solve_macpherson,
    solve_wishbone,
    strut_length_mm,
    toe_deg,
)
from service.engine.policy import Policy
from service.engine.sensitivity import Array, Columns, condensed
from service.engine.stations import SIGNED, Point, Surveyed, TravelCurves
from service.engine.travel import Curve, curve_set, hermite

SWING_RAD = 0.75
"""How far the lower arm is swung either way from the design position; no suspension swings its arm by 43 degrees."""
FEW_KNOTS = 13
"""Knots enough to see which readings act alike; not enough to compute with."""
SHORT_OF_LOCK_RAD = 2e-3
"""The curves end this short of a lock, where positions still move with their readings as smoothly as elsewhere."""
SEARCHED, REFINEMENTS = 65, 4
"""Steps of the search for the ends, and how often it is made finer: to 1e-6 rad."""
SOCKETS: dict[str, BodyName] = {
    "upper_ball_joint": "upper_arm",
    "lower_ball_joint": "lower_arm",
    "tie_rod_end": "tie_rod",
}
SHAFT = ("inner_cv", "outer_cv", "output_axis")
LOCK_REFINEMENTS, BEYOND_LOCK_RAD = 3, 0.05
DIRECTIONS = ("spin_axis", "output_axis")
PREFIX = "/travel/hard_points/"

Links = WishbonePoints | MacphersonPoints
Moved = Mapping[str, Array]


def survey_readings(envelope: AxleEnvelope, policy: Policy) -> dict[str, tuple[float, float]]:
    """Every coordinate as (value, half-width) by its pointer; directions are made unit vectors first."""
    points = envelope.travel.hard_points
    readings: dict[str, tuple[float, float]] = {}
    for name in _named(points) if points is not None else ():
        coordinates = getattr(points, name)
        length, default = 1.0, policy.surveyed_point_mm
        if name in DIRECTIONS:
            length, default = float(np.linalg.norm([c.value for c in coordinates])), policy.surveyed_direction
        for i, each in enumerate(coordinates):
            half_width = default if each.plus_minus is None else each.plus_minus / length
            readings[f"{PREFIX}{name}/{i}"] = (each.value / length, half_width)
    return readings


def _named(points: HardPoints) -> Iterator[str]:
    return (name for name in points.__dataclass_fields__ if isinstance(getattr(points, name), tuple))


class Survey:
    """The hard points of an axle in every column, (C, 3) each, with a build's changes to the geometry in them."""

    def __init__(self, envelope: AxleEnvelope, moved: Moved) -> None:
        points = envelope.travel.hard_points
        assert points is not None  # noqa: S101 - the caller has a surveyed axle
        self.envelope, self.moved = envelope, moved
        self.on = points.strut_bottom_on
        self.at = {name: np.stack([moved[f"{PREFIX}{name}/{i}"] for i in range(3)], axis=1) for name in _named(points)}
        if "inner_cv" in self.at:
            self.at["inner_cv"] = self.at["inner_cv"] - _upwards(moved["differential_drop"])
        self.links = self._links()

    def _links(self) -> Links:
        at = self.at
        linkage = {name: at[name] for name in SHARED}
        if self.envelope.layout == "macpherson":
            axis = at["strut_top"] - at["strut_bottom"]
            along = axis / np.linalg.norm(axis, axis=1, keepdims=True)
            shift = -along * self.moved["top_spacer"][:, None]
            return MacphersonPoints(**linkage, pivot_shift=shift)  # type: ignore[arg-type]
        arm = {name: at[name] for name in ("upper_arm_front", "upper_arm_rear", "upper_ball_joint")}
        links = WishbonePoints(**linkage, **arm, strut_bottom_on=self.on or "lower_arm")
        if f"{OWN_ARM}0" not in self.moved:
            return links
        held = np.stack([self.moved[f"{OWN_ARM}{i}"] for i in range(3)], axis=1)
        return replace(links, replaced_upper_ball_joint=held)

    def pose(self, angle_rad: Array, rack_shift_mm: Array | float = 0.0) -> Pose:
        if isinstance(self.links, MacphersonPoints):
            return solve_macpherson(self.links, angle_rad, rack_shift_mm)
        return solve_wishbone(self.links, angle_rad, rack_shift_mm)

    @cached_property
    def design(self) -> Pose:
        """Every geometry in its design position, (C, 1)."""
        return self.pose(np.zeros(1))

    @cached_property
    def unchanged(self) -> Survey:
        """The same axle without a build's changes of the geometry."""
        changed = f"{OWN_ARM}0" in self.moved or any(self.moved[name].any() for name in CHANGES)
        return Survey(self.envelope, as_surveyed(self.moved)) if changed else self

    def stop_room(self, pose: Pose) -> Array | None:
        """Room left to the bump stop along the surveyed line from stop to plate, mm, (C, P): 0 where it touches.

        The one of the two that the arm carries moves: the stop itself where it sits on the arm, else the plate. None on
        the rod, or where the two were not surveyed.
        """
        at, where = self.at, self.envelope.bump_stop_on or LAYOUTS[self.envelope.layout].bump_stop_on
        if not {"bump_stop", "bump_plate"} <= at.keys() or where == "damper_rod":
            return None
        line = at["bump_plate"] - at["bump_stop"]
        line = line / np.linalg.norm(line, axis=1, keepdims=True)
        if where == "arm":
            apart = at["bump_plate"][:, None, :] - pose.lower_arm.of_point(at["bump_stop"])
        else:
            apart = pose.lower_arm.of_point(at["bump_plate"]) - at["bump_stop"][:, None, :]
        return np.asarray(np.einsum("cpx,cx->cp", apart, line))

    @property
    def kingpin_axis(self) -> Array:
        top = self.at["strut_top" if self.envelope.layout == "macpherson" else "upper_ball_joint"]
        return top - self.at["lower_ball_joint"]


SHARED = (
    "lower_arm_front", "lower_arm_rear", "lower_ball_joint", "rack_end", "tie_rod_end", "wheel_centre", "spin_axis",
    "strut_top", "strut_bottom",
)  # fmt: skip


def _upwards(distance: Array) -> Array:
    return np.stack([np.zeros_like(distance), np.zeros_like(distance), distance], axis=1)


CHANGES = ("top_spacer", "differential_drop")
OWN_ARM = "arm_ball_joint/"


def as_surveyed(moved: Moved) -> Moved:
    """The readings without a build's changes of the geometry."""
    unchanged = {name: column for name, column in moved.items() if not name.startswith(OWN_ARM)}
    return unchanged | {name: np.zeros_like(moved[name]) for name in CHANGES}


def condensed_survey(envelope: AxleEnvelope, columns: Columns) -> Columns:
    """The columns with all readings that shape the linkage moved along few directions.

    Judged by every travel curve, by ride and by contact on the rod; with a build's changes by the curves of the
    factory's linkage too.
    """
    prefixes = (PREFIX, OWN_ARM, "neutral_", "rack_travel", *CHANGES)
    shaping = [name for name in columns.names if name.startswith(prefixes)]
    linkages = [columns.moved]
    if any(name.startswith((OWN_ARM, *CHANGES)) for name in shaping):
        linkages.append(as_surveyed(columns.moved))
    places = [columns.names.index(name) for name in shaping]
    only = np.array([0, *(place + 1 for place in places)])
    results = []
    for moved in linkages:
        alone = {name: column[only] for name, column in moved.items()}
        travel = compile_survey(envelope, alone, columns.weights[places], knots=FEW_KNOTS)
        told = [*_results(travel), *_room_at_ride(alone)]
        results += [(each[:, 1:] - each[:, :1]) * columns.weights[places] for each in told]
    return condensed(columns, results, shaping) if shaping else columns


def _room_at_ride(moved: Moved) -> Iterator[Array]:
    """Room left to the bump stop as surveyed, (1, C); what a stop on the rod goes by."""
    stop, plate = (f"{PREFIX}{point}/" for point in ("bump_stop", "bump_plate"))
    if f"{stop}0" in moved and f"{plate}0" in moved:
        apart = [moved[f"{plate}{i}"] - moved[f"{stop}{i}"] for i in range(3)]
        yield np.linalg.norm(apart, axis=0)[None, :]


def _results(travel: TravelCurves) -> Iterator[Array]:
    """All that a survey tells, each (q, C) at the knots of its curves as read."""
    surveyed = travel.surveyed
    assert surveyed is not None  # noqa: S101 - a survey was compiled
    column = np.arange(len(travel.damper.anchors_mm))
    at_knots = travel.damper.knots_mm[:, None] + np.zeros(len(column))
    yield travel.damper.at(at_knots, column).span_mm
    yield from surveyed.at(at_knots, column).values()
    if surveyed.stop_gap is not None:
        yield surveyed.stop_gap.at(at_knots, column).span_mm
    yield np.stack(travel.points["ride"])
    yield from (lock[None, :] for lock in surveyed.locks_mm if np.isfinite(lock[0]))


def swing(survey: Survey) -> tuple[float, float, tuple[bool, bool]]:
    """Lower-arm angles, rad, to which the linkage works towards droop and towards bump, and whether it locks there.

    It works as long as it can be put together, the wheel rises with its arm and the strut shortens with it, as read.
    Looked for towards both ends at once, on a grid that is made finer where it fails.
    """
    as_read = Survey(survey.envelope, {name: column[:1] for name, column in survey.moved.items()})
    start, end = np.zeros(2), np.array([-SWING_RAD, SWING_RAD])
    angle, reach, locks = np.linspace(start, end, SEARCHED, axis=1), end, np.array([True, True])
    for _ in range(REFINEMENTS):
        works = _works(as_read, angle)
        locks &= ~works.all(axis=1)
        if not locks.any():
            break
        last = np.argmin(works, axis=1)[:, None]
        good, bad = (np.take_along_axis(angle, place, axis=1)[:, 0] for place in (last, last + 1))
        reach = np.where(locks, good, end)
        far, near = np.linspace(start, good, SEARCHED, axis=1), np.linspace(good, bad, SEARCHED, axis=1)
        angle = np.hstack([far, near[:, 1:]])
    return float(reach[0]), float(reach[1]), (bool(locks[0]), bool(locks[1]))


def _works(survey: Survey, angle: Array) -> Array:
    """Whether each step of a sweep works, (C, P - 1); ``angle`` (P,) or (C, P) goes one way from the design."""
    pose, up = survey.pose(angle), np.sign(angle[..., -1:])
    height = arch_to_hub_mm(pose, survey.at["arch_mark"])
    length = strut_length_mm(survey.links, pose)
    with np.errstate(invalid="ignore"):
        return np.asarray((up * np.diff(height) < 0.0) & (up * np.diff(length) < 0.0))


def compile_survey(envelope: AxleEnvelope, moved: Moved, weights: Array, knots: int = 65) -> TravelCurves:
    """The travel curves of a surveyed axle whose readings are ``moved``, name -> (C,), with ``weights`` (C - 1,)."""
    survey = Survey(envelope, moved)
    droop, bump, (locks_in_droop, locks_in_bump) = swing(survey)
    angle = np.linspace(droop + SHORT_OF_LOCK_RAD * locks_in_droop, bump - SHORT_OF_LOCK_RAD * locks_in_bump, knots)
    pose, design = survey.pose(angle), survey.design
    height = arch_to_hub_mm(pose, survey.at["arch_mark"])
    curves = _Curves(angle, height)
    strut = curves.of(strut_length_mm(survey.links, pose), rising=True)
    ride = arch_to_hub_mm(design, survey.at["arch_mark"])[:, 0]
    unknown, endless = np.full_like(ride, np.nan), np.full_like(ride, np.inf)
    points: dict[StationAt, Point] = dict.fromkeys(("full_droop", "bump_contact"), Point(unknown, unknown))
    points["ride"] = Point(ride, strut_length_mm(survey.links, design)[:, 0])
    surveyed = Surveyed(
        curve_set({name: curves.of(values) for name, values in _smooth(_followers(survey, pose, angle))}),
        None if (room := survey.stop_room(pose)) is None else curves.of(room, rising=True),
        (
            _lock_mm(survey, height[0, -1], bump, weights) if locks_in_bump else -endless,
            _lock_mm(survey, height[0, 0], droop, weights) if locks_in_droop else endless,
        ),
        holds_spacer=envelope.layout == "macpherson",
    )
    return TravelCurves(
        strut, strut, points, np.zeros_like(ride), -moved["seat_offset"],
        anchored=True, ratio_assumed=False, notes=(), surveyed=surveyed,
    )  # fmt: skip


def _lock_mm(survey: Survey, as_read_mm: float, end: float, weights: Array) -> Array:
    """Arch-to-hub of a lock in every column, (C,) mm.

    A lock cannot be followed by small steps, so it is looked for with every reading moved by a whole standard
    uncertainty, and the difference taken in proportion.
    """
    whole = np.concatenate([[1.0], weights])
    moved = {name: column[0] + (column - column[0]) * whole for name, column in survey.moved.items()}
    stretched = Survey(survey.envelope, moved)
    low, high = np.zeros(len(whole)), np.full(len(whole), end * 1.02 + np.copysign(BEYOND_LOCK_RAD, end))
    for _ in range(LOCK_REFINEMENTS):
        angle = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, SEARCHED)
        works = _works(stretched, angle)
        last = np.where(works.all(axis=1), SEARCHED - 2, np.argmin(works, axis=1))
        each = np.arange(len(whole))
        low, high = angle[each, last], angle[each, last + 1]
    height = arch_to_hub_mm(stretched.pose(low[:, None]), stretched.at["arch_mark"])[:, 0]
    return np.asarray(as_read_mm + (height - height[0]) / whole)


class _Curves:
    """Curves over arch-to-hub of what was computed along the arm's angle (P,): both (C, P), from droop to bump."""

    def __init__(self, angle: Array, height: Array) -> None:
        self.angle, self.height = angle, height
        self.straight = np.zeros(len(height))

    def of(self, values: Array, *, rising: bool = False) -> Curve:
        slopes = _by_angle(values, self.angle) / _by_angle(self.height, self.angle)
        knots, spans, slopes = (array[:, ::-1] for array in (self.height, values, slopes))
        return hermite(knots, spans, slopes, (self.straight, self.straight), rising=rising)


def _by_angle(values: Array, angle: Array) -> Array:
    """Derivative along the arm's angle, (C, P): five-point inside, lower order in the last two steps."""
    step = angle[1] - angle[0]
    slopes = np.gradient(values, step, axis=1, edge_order=2)
    inner = (values[:, :-4] - 8.0 * values[:, 1:-3] + 8.0 * values[:, 3:-1] - values[:, 4:]) / (12.0 * step)
    slopes[:, 2:-2] = inner
    return np.asarray(slopes)


def _smooth(followers: dict[str, Array]) -> Iterator[tuple[str, Array]]:
    """What the curves hold: an angle that is never negative has a kink where a joint is straight, its square not."""
    for name, values in followers.items():
        yield name, values if name in SIGNED else values**2


def _followers(survey: Survey, pose: Pose, angle: Array) -> dict[str, Array]:
    """Everything else that follows the wheel: name -> (C, P)."""
    at = survey.at
    told = {"camber": camber_deg(pose), "toe": toe_deg(pose)}
    for joint, socket in SOCKETS.items():
        if joint != "upper_ball_joint" or pose.upper_arm is not None:
            # Another arm's own joint is neutral with that arm in place; all others as in the factory's linkage.
            own = joint == "upper_ball_joint" and f"{OWN_ARM}0" in survey.moved
            neutral = _neutral(survey if own else survey.unchanged, angle, joint)
            told[joint] = ball_joint_angle_deg(pose, neutral, survey.kingpin_axis, socket)
    if at.keys() >= set(SHAFT):
        told |= _shaft(survey, pose, angle)
    if {"hose_body", "hose_upright"} <= at.keys():
        told["hose_span"] = hose_span_mm(pose, at["hose_body"], at["hose_upright"])
    return told


def _shaft(survey: Survey, pose: Pose, angle: Array) -> dict[str, Array]:
    """Angles of the drive shaft's joints, the outer one's at full lock either way too, and its plunge from ride."""
    shaft = DriveShaft(*(survey.at[name] for name in SHAFT))
    told = {"inner_cv": shaft.inner_cv_angle_deg(pose), "outer_cv": shaft.outer_cv_angle_deg(pose)}
    at_ride = DriveShaft(*(survey.unchanged.at[name] for name in SHAFT)).length_mm(survey.unchanged.design)
    told["plunge"] = shaft.length_mm(pose) - at_ride
    travel = survey.moved["rack_travel"][:, None]
    if not np.isnan(travel[0, 0]):
        for side, shift in (("left", travel), ("right", -travel)):
            told[f"outer_cv_{side}_lock"] = shaft.outer_cv_angle_deg(survey.pose(angle, shift))
    return told


def _neutral(survey: Survey, angle: Array, joint: str) -> Pose:
    """Where a joint is neutral, (C, 1): at ride, or where its limit says, looked for along ``angle`` (P,)."""
    neutral = survey.moved[f"neutral_{joint}"]
    if np.isnan(neutral[0]):
        return survey.design
    height = arch_to_hub_mm(survey.pose(angle), survey.at["arch_mark"])
    rise = [np.interp(-wanted, -heights, angle) for wanted, heights in zip(neutral, height, strict=True)]
    return survey.pose(np.array(rise)[:, None])
