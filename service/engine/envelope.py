"""What is known of one axle of one vehicle: layout, taped stations, fitted parts, limits, masses."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from service.engine.layouts import BumpStopOn
from service.engine.parts import (
    BumpStop,
    CoilSpring,
    Damper,
    LeafBlock,
    LeafPack,
    Shackle,
    Strut,
    TorsionBar,
    Tyre,
)
from service.engine.reading import Reading

Layout = Literal["wishbone_coilover", "macpherson", "wishbone_torsion_bar", "solid_axle_coil", "solid_axle_leaf"]
End = Literal["front", "rear"]
StationAt = Literal["full_droop", "ride", "bump_contact", "between"]
Duty = Literal["sealed_road", "unsealed_touring", "rock_and_articulation"]
JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose", "shackle")


@dataclass(frozen=True, slots=True)
class Station:
    """One wheel position with what was taped there; ``arch_to_hub_mm`` grows as the wheel drops."""

    at: StationAt
    arch_to_hub_mm: Reading | None = None
    seat_gap_mm: Reading | None = None
    damper_length_mm: Reading | None = None
    tyre_gap_mm: Reading | None = None


Point = tuple[Reading, Reading, Reading]
"""x, y and z of a point in mm, or of a direction; ISO 8855 axes, left wheel, origin anywhere fixed to the body."""


@dataclass(frozen=True, slots=True)
class HardPoints:
    """A surveyed linkage in its design position, the ride height; directions of any length, pointing outwards.

    A double wishbone needs its upper arm; on a MacPherson strut ``strut_top`` is the pivot and ``strut_bottom`` another
    point of the strut's axis. The distance from ``bump_stop`` to ``bump_plate`` is the room left to the stop.
    """

    lower_arm_front: Point
    lower_arm_rear: Point
    lower_ball_joint: Point
    rack_end: Point
    tie_rod_end: Point
    strut_top: Point
    strut_bottom: Point
    wheel_centre: Point
    spin_axis: Point
    arch_mark: Point
    upper_arm_front: Point | None = None
    upper_arm_rear: Point | None = None
    upper_ball_joint: Point | None = None
    strut_bottom_on: Literal["lower_arm", "upper_arm", "upright"] | None = None
    inner_cv: Point | None = None
    outer_cv: Point | None = None
    output_axis: Point | None = None
    bump_stop: Point | None = None
    bump_plate: Point | None = None
    hose_body: Point | None = None
    hose_upright: Point | None = None
    rack_travel_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class Travel:
    """Taped stations, or the hard points of a survey. The ratios are spring (or stop) travel over wheel travel."""

    stations: tuple[Station, ...] = ()
    motion_ratio: Reading | None = None
    bump_stop_ratio: Reading | None = None
    hard_points: HardPoints | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """The factory's parts, as far as they have been measured."""

    spring: CoilSpring | None = None
    strut: Strut | None = None
    bump_stop: BumpStop | None = None
    damper: Damper | None = None
    torsion_bar: TorsionBar | None = None
    leaf_pack: LeafPack | None = None
    leaf_block: LeafBlock | None = None
    shackle: Shackle | None = None
    tyre: Tyre | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """Where a joint or hose comes to its end.

    Taped with the strut out: in droop, and in bump if anybody tried. On a surveyed axle also the angle from the joint's
    neutral position, which is at ride unless stated, and a CV joint's plunge either way from ride.
    """

    reached_at_arch_to_hub_mm: Reading | None = None
    reached_in_bump_at_arch_to_hub_mm: Reading | None = None
    max_angle_deg: Reading | None = None
    neutral_arch_to_hub_mm: Reading | None = None
    max_plunge_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class VehicleMasses:
    """Kerb masses as weighed without occupants, and the maker's ratings."""

    wheelbase_mm: Reading | None = None
    front_axle_kg: Reading | None = None
    rear_axle_kg: Reading | None = None
    front_axle_rating_kg: Reading | None = None
    rear_axle_rating_kg: Reading | None = None
    gross_rating_kg: Reading | None = None


@dataclass(frozen=True, slots=True)
class AxleEnvelope:
    """``limits`` maps a name of ``JOINTS`` to its limit; ``bump_stop_on`` None means where the layout has it.

    ``spring_base_mm`` and ``track_mm`` are the distances between the springs and between the wheels of a solid axle;
    ``arm_angle_at_ride_deg`` says by how much a torsion bar's arm hangs below the horizontal at ride.
    """

    layout: Layout
    travel: Travel
    driven: bool = True
    bump_stop_on: BumpStopOn | None = None
    fitted: Fitted = field(default_factory=Fitted)
    limits: dict[str, Limit] = field(default_factory=dict)
    unsprung_kg_per_wheel: Reading | None = None
    spring_base_mm: Reading | None = None
    track_mm: Reading | None = None
    arm_angle_at_ride_deg: Reading | None = None


@dataclass(frozen=True, slots=True)
class LoadItem:
    """A mass on board; ``behind_front_axle_mm`` is negative ahead of the front axle."""

    mass_kg: Reading
    behind_front_axle_mm: Reading
    name: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    accessories: tuple[LoadItem, ...] = ()
    occupants_kg: Reading | None = None


@dataclass(frozen=True, slots=True)
class TargetLift:
    """The lift that the owner wants, and how far from it will do; unstated, as far as the policy says."""

    lift_mm: Reading
    tolerance_mm: float | None = None
