"""The parts that the trade fits, one frozen class a kind; the fields and units are those of the HTTP contract.

A field that is ``None`` has not been stated. What a part must state to be catalogued is in ``REQUIRED``; what is
fitted to the vehicle already may state less, and what that leaves open is reported as missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from service.engine.reading import Reading

Ends = Literal["closed_ground", "closed_unground", "open"]
Forming = Literal["cold", "hot"]
Zone = tuple[float, float]
"""Active windings, and the sum of the gaps between them in mm, of one zone of a coil wound in steps."""
ForceTable = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class CoilSpring:
    kind: ClassVar[str] = "coil_spring"
    wire_mm: Reading | None = None
    total_coils: Reading | None = None
    free_length_mm: Reading | None = None
    rate_n_per_mm: Reading | None = None
    force_table: ForceTable | None = None
    zones: tuple[Zone, ...] | None = None
    seating_coefficient: float | None = None
    active_coils: Reading | None = None
    mean_diameter_mm: Reading | None = None
    ends: Ends | None = None
    forming: Forming | None = None
    solid_length_mm: Reading | None = None
    wire_tolerance_mm: float | None = None
    shear_modulus_mpa: Reading | None = None
    tensile_strength_mpa: Reading | None = None


@dataclass(frozen=True, slots=True)
class Strut:
    """``seat_offset_mm`` is the mount-to-mount length less the spring-seat gap."""

    kind: ClassVar[str] = "strut"
    extended_length_mm: Reading | None = None
    closed_length_mm: Reading | None = None
    seat_offset_mm: Reading | None = None
    gas_force_n: Reading | None = None


@dataclass(frozen=True, slots=True)
class Damper:
    kind: ClassVar[str] = "damper"
    extended_length_mm: Reading | None = None
    closed_length_mm: Reading | None = None
    gas_force_n: Reading | None = None


@dataclass(frozen=True, slots=True)
class StrutTopSpacer:
    """Between strut cap and body: moves the whole strut down."""

    kind: ClassVar[str] = "strut_top_spacer"
    thickness_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class SpringSpacer:
    """Between spring and seat: adds preload, leaves the damper where it is."""

    kind: ClassVar[str] = "spring_spacer"
    thickness_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class BumpStop:
    kind: ClassVar[str] = "bump_stop"
    free_height_mm: Reading | None = None
    crushed_height_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class BumpStopSpacer:
    kind: ClassVar[str] = "bump_stop_spacer"
    thickness_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class UpperArm:
    """``ball_joint_mm`` is where the arm holds its ball joint with the axle in the surveyed position, x, y and z."""

    kind: ClassVar[str] = "upper_arm"
    ball_joint_max_angle_deg: Reading | None = None
    ball_joint_reached_at_arch_to_hub_mm: Reading | None = None
    ball_joint_mm: tuple[Reading, Reading, Reading] | None = None


@dataclass(frozen=True, slots=True)
class DifferentialSpacer:
    kind: ClassVar[str] = "differential_spacer"
    drop_mm: Reading | None = None
    inner_cv_reached_at_arch_to_hub_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class LimitStrap:
    kind: ClassVar[str] = "limit_strap"
    max_arch_to_hub_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class BrakeHose:
    kind: ClassVar[str] = "brake_hose"
    reached_at_arch_to_hub_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class Accessory:
    """A mass carried by the body; ``behind_front_axle_mm`` is negative ahead of the front axle."""

    kind: ClassVar[str] = "accessory"
    mass_kg: Reading | None = None
    behind_front_axle_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class TorsionBar:
    """``adjusted_ride_arch_to_hub_mm``: the loaded ride height that the adjuster is set to; unstated, the factory's."""

    kind: ClassVar[str] = "torsion_bar"
    diameter_mm: Reading | None = None
    active_length_mm: Reading | None = None
    arm_length_mm: Reading | None = None
    shear_modulus_mpa: Reading | None = None
    permissible_stress_mpa: Reading | None = None
    adjusted_ride_arch_to_hub_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class LeafPack:
    """Camber is the height of the arch from the line through the eyes; ``max_deflection_mm`` counts from free."""

    kind: ClassVar[str] = "leaf_pack"
    rate_n_per_mm: Reading | None = None
    free_camber_mm: Reading | None = None
    max_deflection_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class LeafBlock:
    """Between leaf pack and axle, in place of the factory's if it has one."""

    kind: ClassVar[str] = "leaf_block"
    height_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class Shackle:
    """``reached_at_arch_to_hub_mm`` is the drop at which shackle and leaf come into one line."""

    kind: ClassVar[str] = "shackle"
    length_mm: Reading | None = None
    reached_at_arch_to_hub_mm: Reading | None = None


@dataclass(frozen=True, slots=True)
class Tyre:
    kind: ClassVar[str] = "tyre"
    overall_diameter_mm: Reading | None = None
    section_width_mm: Reading | None = None


Part = (
    CoilSpring
    | Strut
    | Damper
    | StrutTopSpacer
    | SpringSpacer
    | BumpStop
    | BumpStopSpacer
    | UpperArm
    | DifferentialSpacer
    | LimitStrap
    | BrakeHose
    | Accessory
    | TorsionBar
    | LeafPack
    | LeafBlock
    | Shackle
    | Tyre
)

PART_KINDS: dict[str, type[Part]] = {
    part.kind: part
    for part in (
        CoilSpring,
        Strut,
        Damper,
        StrutTopSpacer,
        SpringSpacer,
        BumpStop,
        BumpStopSpacer,
        UpperArm,
        DifferentialSpacer,
        LimitStrap,
        BrakeHose,
        Accessory,
        TorsionBar,
        LeafPack,
        LeafBlock,
        Shackle,
        Tyre,
    )
}
