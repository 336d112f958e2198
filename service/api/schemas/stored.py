"""What the catalogue answers with: the body in force, its revision, and when it came to be."""

from typing import Annotated

from pydantic import Field

from service.api.schemas import catalogued_parts
from service.api.schemas.axle import AxleEnvelope
from service.api.schemas.values import READ_ONLY, End, RevisionNumber, Sku, Slug, Status, Strict, Time
from service.api.schemas.vehicle import Vehicle


class Revised(Strict):
    """``created_at``: when first catalogued. ``revised_at``: when this revision was made."""

    revision: RevisionNumber = Field(json_schema_extra=READ_ONLY)
    created_at: Time = Field(json_schema_extra=READ_ONLY)
    revised_at: Time = Field(json_schema_extra=READ_ONLY)


class StoredVehicle(Revised, Vehicle):
    vehicle_id: Slug


class StoredAxle(Revised, AxleEnvelope):
    vehicle: Slug
    end: End
    status: Status = Field(json_schema_extra=READ_ONLY)


class StoredCoilSpring(Revised, catalogued_parts.CataloguedCoilSpring):
    sku: Sku


class StoredStrut(Revised, catalogued_parts.CataloguedStrut):
    sku: Sku


class StoredDamper(Revised, catalogued_parts.CataloguedDamper):
    sku: Sku


class StoredStrutTopSpacer(Revised, catalogued_parts.CataloguedStrutTopSpacer):
    sku: Sku


class StoredSpringSpacer(Revised, catalogued_parts.CataloguedSpringSpacer):
    sku: Sku


class StoredBumpStop(Revised, catalogued_parts.CataloguedBumpStop):
    sku: Sku


class StoredBumpStopSpacer(Revised, catalogued_parts.CataloguedBumpStopSpacer):
    sku: Sku


class StoredUpperArm(Revised, catalogued_parts.CataloguedUpperArm):
    sku: Sku


class StoredDifferentialSpacer(Revised, catalogued_parts.CataloguedDifferentialSpacer):
    sku: Sku


class StoredLimitStrap(Revised, catalogued_parts.CataloguedLimitStrap):
    sku: Sku


class StoredBrakeHose(Revised, catalogued_parts.CataloguedBrakeHose):
    sku: Sku


class StoredAccessory(Revised, catalogued_parts.CataloguedAccessory):
    sku: Sku


class StoredTorsionBar(Revised, catalogued_parts.CataloguedTorsionBar):
    sku: Sku


class StoredLeafPack(Revised, catalogued_parts.CataloguedLeafPack):
    sku: Sku


class StoredLeafBlock(Revised, catalogued_parts.CataloguedLeafBlock):
    sku: Sku


class StoredShackle(Revised, catalogued_parts.CataloguedShackle):
    sku: Sku


class StoredTyre(Revised, catalogued_parts.CataloguedTyre):
    sku: Sku


class StoredKit(Revised, catalogued_parts.CataloguedKit):
    sku: Sku


StoredPart = Annotated[
    StoredCoilSpring
    | StoredStrut
    | StoredDamper
    | StoredStrutTopSpacer
    | StoredSpringSpacer
    | StoredBumpStop
    | StoredBumpStopSpacer
    | StoredUpperArm
    | StoredDifferentialSpacer
    | StoredLimitStrap
    | StoredBrakeHose
    | StoredAccessory
    | StoredTorsionBar
    | StoredLeafPack
    | StoredLeafBlock
    | StoredShackle
    | StoredTyre
    | StoredKit,
    Field(discriminator="kind"),
]


class PartItems(Strict):
    """A page of parts; ``next`` is the cursor of the page after it."""

    items: list[StoredPart]
    next: str | None


class VehicleItems(Strict):
    """A page of vehicles; ``next`` is the cursor of the page after it."""

    items: list[StoredVehicle]
    next: str | None


class AxleItems(Strict):
    """A page of an axle's revisions, newest first; ``next`` is the cursor of the page after it."""

    items: list[StoredAxle]
    next: str | None
