"""The request for one evaluation."""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from service.api.schemas.axle import AxleEnvelope
from service.api.schemas.parts import Part
from service.api.schemas.values import Duty, End, Line, Quantity, Reading, Sku, Slug, Strict
from service.api.schemas.vehicle import VehicleMasses

HARDEST_DUTY: Duty = "rock_and_articulation"
"""Taken where the request states no duty: what is not known never rounds up to safe."""


class ReferencedAxle(Strict):
    """An axle of the catalogue."""

    vehicle: Slug
    end: End


class InlineAxle(Strict):
    """An axle that comes with the request, as it was measured."""

    inline: AxleEnvelope
    measured_on: Slug | None = Field(
        default=None,
        description="The catalogued vehicle that was measured. Parts that are not sold for it are refused, a search "
        "chooses from those that are, and the record is found under it. Its masses are `vehicle_masses` alone.",
    )
    vehicle_masses: VehicleMasses | None = None
    end: End = "front"


class CataloguedEntry(Strict):
    """A part of the catalogue."""

    sku: Sku
    quantity: Quantity = 1


class InlineEntry(Strict):
    """A part that is in no catalogue."""

    part: Part
    quantity: Quantity = 1


class InlineAccessory(Strict):
    """A mass that is in no catalogue; ``behind_front_axle_mm`` is negative ahead of the front axle."""

    name: Line | None = None
    mass_kg: Reading
    behind_front_axle_mm: Reading


def _inline_where(field: str, inline: type[Strict]) -> Discriminator:
    def form(value: Any) -> str:
        if isinstance(value, dict):
            return "#inline" if field in value else "#referenced"
        return "#inline" if isinstance(value, inline) else "#referenced"

    return Discriminator(form)


def _referenced_where(field: str, referenced: type[Strict]) -> Discriminator:
    def form(value: Any) -> str:
        if isinstance(value, dict):
            return "#referenced" if field in value else "#inline"
        return "#referenced" if isinstance(value, referenced) else "#inline"

    return Discriminator(form)


Axle = Annotated[
    Annotated[ReferencedAxle, Tag("#referenced")] | Annotated[InlineAxle, Tag("#inline")],
    _inline_where("inline", InlineAxle),
]
PartEntry = Annotated[
    Annotated[CataloguedEntry, Tag("#referenced")] | Annotated[InlineEntry, Tag("#inline")],
    _inline_where("part", InlineEntry),
]
AccessoryEntry = Annotated[
    Annotated[CataloguedEntry, Tag("#referenced")] | Annotated[InlineAccessory, Tag("#inline")],
    _referenced_where("sku", CataloguedEntry),
]


class Load(Strict):
    """What the vehicle carries beyond its kerb mass."""

    accessories: Annotated[list[AccessoryEntry], Field(max_length=100)] = Field(default_factory=list)
    occupants_kg: Reading | None = None


class EvaluationRequest(Strict):
    """One combination of parts on one axle. No parts: the vehicle as it left the factory."""

    axle: Axle
    parts: Annotated[list[PartEntry], Field(max_length=100)] = Field(default_factory=list)
    load: Load | None = None
    duty: Duty = Field(
        default=HARDEST_DUTY,
        description="What the vehicle is used for. It sets the crush assumed of a bump stop that nobody has measured; "
        "left out, the hardest is taken.",
    )
    target_lift_mm: Reading | None = None
    lift_tolerance_mm: Annotated[float, Field(gt=0, le=400)] | None = Field(
        default=None,
        description="How far from `target_lift_mm` the lift may be, either way; left out, as far as the policy says.",
    )
    policy: Literal["standard"] = "standard"
    remedies: bool = Field(
        default=True,
        description="Whether to solve for what would mend each failing check; without it a verdict comes sooner.",
    )
    record: bool = Field(default=True, description="Whether the verdict is kept; without it nothing is stored.")
