"""The kinds of part, as proposed in a request. What the trade can leave unstated is optional."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from service.api.schemas.values import Number, Point, Reading, Strict

ForcePoint = Annotated[list[Number], Field(min_length=2, max_length=2)]
ForceTable = Annotated[
    list[ForcePoint],
    Field(max_length=200, description="[[deflection_mm, force_n], …], both growing from point to point."),
]
Ends = Literal["closed_ground", "closed_unground", "open"]
Forming = Literal["cold", "hot"]

Zone = Annotated[list[Number], Field(min_length=2, max_length=2)]
Zones = Annotated[
    list[Zone],
    Field(max_length=20, description="[[active windings, sum of their gaps in mm], …] of a coil wound in steps."),
]
FORCE: dict[str, Any] = {
    "anyOf": [{"required": [name]} for name in ("rate_n_per_mm", "force_table", "zones", "mean_diameter_mm")]
}
"""What tells a spring's force: its rate, points of force, zones, or its dimensions."""


class SpringDetails(Strict):
    rate_n_per_mm: Reading | None = None
    force_table: ForceTable | None = None
    zones: Zones | None = None
    seating_coefficient: Number | None = Field(
        default=None, description="How the ends are guided: 0.5 both parallel, 0.7, 1, to 2 one end free."
    )
    active_coils: Reading | None = None
    mean_diameter_mm: Reading | None = None
    ends: Ends | None = None
    forming: Forming | None = None
    solid_length_mm: Reading | None = Field(default=None, description="Measured with the spring pressed solid.")
    wire_tolerance_mm: Number | None = None
    shear_modulus_mpa: Reading | None = None
    tensile_strength_mpa: Reading | None = None


class CoilSpring(SpringDetails):
    """A coil spring: its rate, or a force table or zones where that changes with deflection, or its dimensions."""

    model_config = ConfigDict(json_schema_extra=FORCE)

    kind: Literal["coil_spring"]
    wire_mm: Reading
    total_coils: Reading
    free_length_mm: Reading


class Strut(Strict):
    """A strut: damper and spring seat in one. ``seat_offset_mm``: mount-to-mount length less the spring-seat gap."""

    kind: Literal["strut"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    seat_offset_mm: Reading
    gas_force_n: Reading | None = None


class Damper(Strict):
    """A damper that stands apart from the spring."""

    kind: Literal["damper"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    gas_force_n: Reading | None = None


class StrutTopSpacer(Strict):
    """Between strut cap and body: moves the whole strut down."""

    kind: Literal["strut_top_spacer"]
    thickness_mm: Reading


class SpringSpacer(Strict):
    """Between spring and seat: adds preload, leaves the damper where it is."""

    kind: Literal["spring_spacer"]
    thickness_mm: Reading


class BumpStop(Strict):
    """A bump stop, free and crushed flat."""

    kind: Literal["bump_stop"]
    free_height_mm: Reading
    crushed_height_mm: Reading


class BumpStopSpacer(Strict):
    """Under the bump stop: brings its first contact earlier."""

    kind: Literal["bump_stop_spacer"]
    thickness_mm: Reading


class UpperArm(Strict):
    """An upper arm, with what its ball joint allows."""

    kind: Literal["upper_arm"]
    ball_joint_max_angle_deg: Reading | None = None
    ball_joint_reached_at_arch_to_hub_mm: Reading | None = None
    ball_joint_mm: Point | None = Field(
        default=None, description="On a surveyed axle: where the arm holds its ball joint in the surveyed position."
    )


class DifferentialSpacer(Strict):
    """Lowers the differential, and with it the inner CV joints."""

    kind: Literal["differential_spacer"]
    drop_mm: Reading
    inner_cv_reached_at_arch_to_hub_mm: Reading | None = None


class LimitStrap(Strict):
    """A strap that holds the wheel before anything else does."""

    kind: Literal["limit_strap"]
    max_arch_to_hub_mm: Reading


class BrakeHose(Strict):
    """A brake hose, by the drop at which it is taut."""

    kind: Literal["brake_hose"]
    reached_at_arch_to_hub_mm: Reading


class Accessory(Strict):
    """A mass carried by the body; ``behind_front_axle_mm`` is negative ahead of the front axle."""

    kind: Literal["accessory"]
    mass_kg: Reading
    behind_front_axle_mm: Reading


class TorsionBar(Strict):
    """A torsion bar, and the ride height that its adjuster is set to; left out, the factory's."""

    kind: Literal["torsion_bar"]
    diameter_mm: Reading
    active_length_mm: Reading
    arm_length_mm: Reading
    shear_modulus_mpa: Reading
    permissible_stress_mpa: Reading | None = None
    adjusted_ride_arch_to_hub_mm: Reading | None = None


class LeafPack(Strict):
    """A leaf pack. Camber: height of the arch from the line through the eyes; deflection counts from free."""

    kind: Literal["leaf_pack"]
    rate_n_per_mm: Reading
    free_camber_mm: Reading
    max_deflection_mm: Reading


class LeafBlock(Strict):
    """Between leaf pack and axle, in place of the factory's if it has one."""

    kind: Literal["leaf_block"]
    height_mm: Reading


class Shackle(Strict):
    """A shackle; ``reached_at_arch_to_hub_mm`` is the drop at which shackle and leaf come into one line."""

    kind: Literal["shackle"]
    length_mm: Reading
    reached_at_arch_to_hub_mm: Reading | None = None


class Tyre(Strict):
    """A tyre by its size."""

    kind: Literal["tyre"]
    overall_diameter_mm: Reading
    section_width_mm: Reading


Part = Annotated[
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
    | Tyre,
    Field(discriminator="kind"),
]
ChangeableKind = Literal[
    "coil_spring",
    "strut",
    "damper",
    "strut_top_spacer",
    "spring_spacer",
    "bump_stop",
    "bump_stop_spacer",
    "upper_arm",
    "differential_spacer",
    "limit_strap",
    "brake_hose",
    "torsion_bar",
    "leaf_pack",
    "leaf_block",
    "shackle",
    "tyre",
]
"""Kinds that a build may have one or another of; what is on board is a load and no choice."""

Kind = Literal[ChangeableKind, "accessory"]
