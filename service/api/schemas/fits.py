"""The answer of the shelf check."""

from pydantic import Field

from service.api.schemas.catalogued_parts import CataloguedKind
from service.api.schemas.values import Action, End, RevisionNumber, Sku, Slug, Strict, VerdictWord
from service.api.schemas.verdict import Result


class ShelfReason(Strict):
    """The one check that decides; null where the build cannot be at all."""

    check: str | None
    because: str


class ShelfItem(Strict):
    """A part or a kit alone on the factory axle. Where the build cannot be at all there is no verdict: stop."""

    sku: Sku
    name: str
    kind: CataloguedKind
    revision: RevisionNumber
    verdict: VerdictWord | None
    action: Action
    reason: ShelfReason
    lift_mm: Result | None


class ShelfFits(Strict):
    """Everything on sale for an axle, by SKU."""

    vehicle: Slug
    end: End
    kind: CataloguedKind | None = Field(description="The kind that was asked for, or null for all.")
    policy: str
    vehicle_revision: RevisionNumber
    axle_revision: RevisionNumber
    items: list[ShelfItem]
