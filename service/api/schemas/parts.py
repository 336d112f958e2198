"""The kinds of part, as proposed in a request. What the trade can leave unstated is optional."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from service.api.schemas.values import Number, Reading, Strict

ForcePoint = Annotated[list[Number], Field(min_length=2, max_length=2)]
ForceTable = Annotated[
    list[ForcePoint],
    Field(max_length=200, description="[[deflection_mm, force_n], …], both growing from point to point."),
]
Ends = Literal["closed_ground", "closed_unground", "open"]
Forming = Literal["cold", "hot"]

RATE_OR_TABLE: dict[str, Any] = {"anyOf": [{"required": ["rate_n_per_mm"]}, {"required": ["force_table"]}]}


class SpringDetails(Strict):
    rate_n_per_mm: Reading | None = None
    force_table: ForceTable | None = None
    active_coils: Reading | None = None
    mean_diameter_mm: Reading | None = None
    ends: Ends | None = None
    forming: Forming | None = None
    solid_length_mm: Reading | None = Field(default=None, description="Measured with the spring pressed solid.")
    wire_tolerance_mm: Number | None = None
    shear_modulus_mpa: Reading | None = None
    tensile_strength_mpa: Reading | None = None


class CoilSpring(SpringDetails):
    """A coil spring: its rate, or a force table where the rate changes with deflection."""

    model_config = ConfigDict(json_schema_extra=RATE_OR_TABLE)

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
    | Accessory,
    Field(discriminator="kind"),
]
Kind = Literal[
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
    "accessory",
]
