"""Which parts on sale suit an axle, found by an index."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, select

from service.catalogue.references import AxleName
from service.catalogue.revisions import ACTIVE, ANY, FITS, PARTS


@dataclass(frozen=True, slots=True)
class SuitedPart:
    """A part on sale, or a kit, that may be fitted to an axle; ``revision`` is the one in force."""

    sku: str
    revision: int
    kind: str
    supplier: str
    name: str


def suited(
    connection: Connection,
    axle: AxleName | None,
    kinds: Collection[str] | None = None,
    suppliers: Collection[str] | None = None,
) -> list[SuitedPart]:
    """Everything on sale that suits an axle, by SKU in the order of Unicode; without an axle, what suits any.

    Of every kind and from every supplier where none is stated.
    """
    heads = PARTS.heads
    names = [ANY] if axle is None else [ANY, axle[0], "/".join(axle)]
    rows = select(heads.c.sku, heads.c.revision, heads.c.kind, heads.c.supplier, heads.c.name).where(
        heads.c.status == ACTIVE, heads.c.sku.in_(select(FITS.c.sku).where(FITS.c.axle_name.in_(names)))
    )
    for column, wanted in ((heads.c.kind, kinds), (heads.c.supplier, suppliers)):
        rows = rows if wanted is None else rows.where(column.in_(list(wanted)))
    return [SuitedPart(*row) for row in sorted(tuple(row) for row in connection.execute(rows).all())]
