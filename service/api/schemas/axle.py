"""One axle as it was measured."""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from service.api.schemas.parts import SpringDetails
from service.api.schemas.values import READ_ONLY, End, Point, ReadBack, Reading, Slug, Status, Strict


class Station(Strict):
    """One wheel position and what was taped there. ``arch_to_hub_mm`` grows as the wheel drops."""

    at: Literal["full_droop", "ride", "bump_contact", "between"]
    arch_to_hub_mm: Reading | None = None
    seat_gap_mm: Reading | None = None
    damper_length_mm: Reading | None = None
    tyre_gap_mm: Reading | None = None


class HardPoints(Strict):
    """A surveyed linkage at ride height: points in mm, x forward, y left, z up; left wheel; directions outwards."""

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
    rack_travel_mm: Reading | None = Field(default=None, description="From the middle to one side.")


class TapedTravel(Strict):
    """Taped at stations. ``motion_ratio``: strut, ``bump_stop_ratio``: crush of the stop, over wheel travel."""

    grade: Literal["taped"] = "taped"
    stations: Annotated[list[Station], Field(max_length=50)]
    motion_ratio: Reading | None = None
    bump_stop_ratio: Reading | None = None


class SurveyedTravel(Strict):
    """Surveyed: the hard points of the linkage at ride height."""

    grade: Literal["surveyed"]
    hard_points: HardPoints


def _graded(value: Any) -> str:
    """What is not called surveyed is taped, also what is called anything else: its ``grade`` is then refused."""
    grade = value.get("grade") if isinstance(value, dict) else getattr(value, "grade", None)
    return "#surveyed" if grade == "surveyed" else "#taped"


Travel = Annotated[
    Annotated[TapedTravel, Tag("#taped")] | Annotated[SurveyedTravel, Tag("#surveyed")], Discriminator(_graded)
]


class FittedSpring(SpringDetails):
    """The spring that the vehicle came with, as far as it is known."""

    kind: Literal["coil_spring"]
    wire_mm: Reading | None = None
    total_coils: Reading | None = None
    free_length_mm: Reading | None = None


class FittedStrut(Strict):
    """The strut that the vehicle came with, as far as it is known."""

    kind: Literal["strut"]
    extended_length_mm: Reading | None = None
    closed_length_mm: Reading | None = None
    seat_offset_mm: Reading | None = None
    gas_force_n: Reading | None = None


class FittedBumpStop(Strict):
    """The bump stop that the vehicle came with, as far as it is known."""

    kind: Literal["bump_stop"]
    free_height_mm: Reading | None = None
    crushed_height_mm: Reading | None = None


class FittedDamper(Strict):
    """The damper that the vehicle came with, where it stands apart from the spring."""

    kind: Literal["damper"]
    extended_length_mm: Reading | None = None
    closed_length_mm: Reading | None = None
    gas_force_n: Reading | None = None


class FittedTorsionBar(Strict):
    kind: Literal["torsion_bar"]
    diameter_mm: Reading | None = None
    active_length_mm: Reading | None = None
    arm_length_mm: Reading | None = None
    shear_modulus_mpa: Reading | None = None
    permissible_stress_mpa: Reading | None = None
    adjusted_ride_arch_to_hub_mm: Reading | None = None


class FittedLeafPack(Strict):
    kind: Literal["leaf_pack"]
    rate_n_per_mm: Reading | None = None
    free_camber_mm: Reading | None = None
    max_deflection_mm: Reading | None = None


class FittedLeafBlock(Strict):
    kind: Literal["leaf_block"]
    height_mm: Reading | None = None


class FittedShackle(Strict):
    kind: Literal["shackle"]
    length_mm: Reading | None = None
    reached_at_arch_to_hub_mm: Reading | None = None


class FittedTyre(Strict):
    kind: Literal["tyre"]
    overall_diameter_mm: Reading | None = None
    section_width_mm: Reading | None = None


class Fitted(Strict):
    spring: FittedSpring | None = None
    strut: FittedStrut | None = None
    bump_stop: FittedBumpStop | None = None
    damper: FittedDamper | None = None
    torsion_bar: FittedTorsionBar | None = None
    leaf_pack: FittedLeafPack | None = None
    leaf_block: FittedLeafBlock | None = None
    shackle: FittedShackle | None = None
    tyre: FittedTyre | None = None


class Limit(Strict):
    """Where a joint or hose comes to its end: taped with the strut out on the way down, and on the way up.

    On a surveyed axle also by its angle from a neutral position, at ride unless stated; a CV joint by its plunge too.
    """

    reached_at_arch_to_hub_mm: Reading | None = None
    reached_in_bump_at_arch_to_hub_mm: Reading | None = None
    max_angle_deg: Reading | None = None
    neutral_arch_to_hub_mm: Reading | None = None
    max_plunge_mm: Reading | None = None


class Limits(Strict):
    upper_ball_joint: Limit | None = None
    lower_ball_joint: Limit | None = None
    tie_rod_end: Limit | None = None
    inner_cv: Limit | None = None
    outer_cv: Limit | None = None
    brake_hose: Limit | None = None
    shackle: Limit | None = None


class AxleEnvelope(Strict):
    """What is known of one axle. What is left out is reported as missing, never assumed to be safe."""

    layout: Literal["wishbone_coilover", "macpherson", "wishbone_torsion_bar", "solid_axle_coil", "solid_axle_leaf"]
    driven: bool = True
    bump_stop_on: Literal["arm", "body", "damper_rod"] | None = Field(
        default=None, description="Where the bump stop sits; left out, where the layout usually has it."
    )
    travel: Travel
    fitted: Fitted = Fitted()
    limits: Limits = Limits()
    unsprung_kg_per_wheel: Reading | None = None
    spring_base_mm: Reading | None = Field(default=None, description="Of a solid axle: between its springs.")
    track_mm: Reading | None = Field(default=None, description="Of a solid axle: between its wheels.")
    arm_angle_at_ride_deg: Reading | None = Field(
        default=None, description="By how much a torsion bar's arm hangs below the horizontal at ride."
    )


class MeasuredAxle(ReadBack, AxleEnvelope):
    """An axle's envelope to put in force. ``vehicle`` and ``end`` may be left out: the address says them."""

    vehicle: Slug | None = Field(default=None, exclude=True)
    end: End | None = Field(default=None, exclude=True)
    status: Status | None = Field(default=None, exclude=True, json_schema_extra=READ_ONLY)
