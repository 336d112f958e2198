"""What is known of one axle of one vehicle: layout, taped stations, fitted parts, limits, masses."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from service.engine.parts import BumpStop, CoilSpring, Strut
from service.engine.reading import Reading

Layout = Literal["wishbone_coilover", "macpherson"]
End = Literal["front", "rear"]
StationAt = Literal["full_droop", "ride", "bump_contact", "between"]
BumpStopOn = Literal["arm", "body", "damper_rod"]
Duty = Literal["sealed_road", "unsealed_touring", "rock_and_articulation"]
JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")


@dataclass(frozen=True, slots=True)
class Station:
    """One wheel position with what was taped there; ``arch_to_hub_mm`` grows as the wheel drops."""

    at: StationAt
    arch_to_hub_mm: Reading | None = None
    seat_gap_mm: Reading | None = None
    damper_length_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class Travel:
    """Taped travel. The ratios are spring (or stop) travel over wheel travel."""

    stations: tuple[Station, ...]
    motion_ratio: Reading | None = None
    bump_stop_ratio: Reading | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """The factory's parts, as far as they have been measured."""

    spring: CoilSpring | None = None
    strut: Strut | None = None
    bump_stop: BumpStop | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """Where a joint or hose comes to its end, taped with the strut out: in droop, and in bump if anybody tried."""

    reached_at_arch_to_hub_mm: Reading | None = None
    reached_in_bump_at_arch_to_hub_mm: Reading | None = None


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
    """``limits`` maps a name of ``JOINTS`` to its limit; ``bump_stop_on`` None means where the layout has it."""

    layout: Layout
    travel: Travel
    driven: bool = True
    bump_stop_on: BumpStopOn | None = None
    fitted: Fitted = field(default_factory=Fitted)
    limits: dict[str, Limit] = field(default_factory=dict)
    unsprung_kg_per_wheel: Reading | None = None


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
