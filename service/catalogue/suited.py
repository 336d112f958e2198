"""The parts of the catalogue that are sold for an axle, in one look at all of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, select

from service.catalogue.engine_values import engine_part
from service.catalogue.references import AxleName, CataloguedPart
from service.catalogue.revisions import ACTIVE, PARTS, joined_rows, stored_of


@dataclass(frozen=True, slots=True)
class SuitedPart:
    """An active part that may be fitted."""

    sku: str
    revision: int
    kind: str
    supplier: str
    catalogued: CataloguedPart


def suited(
    connection: Connection, axle: AxleName | None, kinds: Collection[str], suppliers: Collection[str] | None
) -> list[SuitedPart]:
    """Active parts of these kinds that suit an axle, by SKU; of any supplier where none is stated.

    Without the name of an axle only those that are sold for any.
    """
    heads = PARTS.heads
    rows = joined_rows(PARTS).where(heads.c.status == ACTIVE, heads.c.kind.in_(kinds)).order_by(heads.c.sku)
    if suppliers is not None:
        rows = rows.where(heads.c.supplier.in_(suppliers))
    any_of = () if axle is None else (axle[0], "/".join(axle))
    found = []
    for row in connection.execute(rows):
        stored = stored_of(row, PARTS)
        body, fits = stored.body, frozenset(stored.body["fits"])
        if fits.isdisjoint(any_of) and fits:
            continue
        part = CataloguedPart(engine_part(body), body["name"], fits)
        found.append(SuitedPart(stored.key[0], stored.revision, body["kind"], body["supplier"], part))
    return found


def unknown_suppliers(connection: Connection, suppliers: Collection[str]) -> set[str]:
    """Those by whom the catalogue has no part at all."""
    column = PARTS.heads.c.supplier
    return set(suppliers) - set(connection.execute(select(column).where(column.in_(suppliers)).distinct()).scalars())
