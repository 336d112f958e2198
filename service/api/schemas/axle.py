"""One axle as it was measured."""

from typing import Annotated, Literal

from pydantic import Field

from service.api.schemas.parts import SpringDetails
from service.api.schemas.values import Reading, Strict


class Station(Strict):
    """One wheel position and what was taped there. ``arch_to_hub_mm`` grows as the wheel drops."""

    at: Literal["full_droop", "ride", "bump_contact", "between"]
    arch_to_hub_mm: Reading | None = None
    seat_gap_mm: Reading | None = None
    damper_length_mm: Reading | None = None


class Travel(Strict):
    """Taped travel. ``motion_ratio``: strut over wheel travel; ``bump_stop_ratio``: stop crush over wheel travel."""

    grade: Literal["taped"] = "taped"
    stations: Annotated[list[Station], Field(max_length=50)]
    motion_ratio: Reading | None = None
    bump_stop_ratio: Reading | None = None


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


class Fitted(Strict):
    spring: FittedSpring | None = None
    strut: FittedStrut | None = None
    bump_stop: FittedBumpStop | None = None


class Limit(Strict):
    """Where a joint or hose comes to its end, taped with the strut out: on the way down, and on the way up."""

    reached_at_arch_to_hub_mm: Reading | None = None
    reached_in_bump_at_arch_to_hub_mm: Reading | None = None


class Limits(Strict):
    upper_ball_joint: Limit | None = None
    lower_ball_joint: Limit | None = None
    tie_rod_end: Limit | None = None
    inner_cv: Limit | None = None
    outer_cv: Limit | None = None
    brake_hose: Limit | None = None


class AxleEnvelope(Strict):
    """What is known of one axle. What is left out is reported as missing, never assumed to be safe."""

    layout: Literal["wishbone_coilover", "macpherson"]
    driven: bool = True
    bump_stop_on: Literal["arm", "body", "damper_rod"] | None = Field(
        default=None, description="Where the bump stop sits; left out, where the layout usually has it."
    )
    travel: Travel
    fitted: Fitted = Fitted()
    limits: Limits = Limits()
    unsprung_kg_per_wheel: Reading | None = None
