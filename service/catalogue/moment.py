"""The catalogue at one moment: what several questions to it tell belongs together, whoever changes it meanwhile."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from sqlalchemy import Connection

from service.catalogue.references import (
    MOST_IN_A_QUERY,
    AxleHead,
    AxleName,
    CataloguedPart,
    FindAxle,
    Heads,
    Lookup,
    PartHead,
    axle_head,
    catalogued_part,
)
from service.catalogue.revisions import ACTIVE, PARTS, joined_rows, stored_of


class InForce(NamedTuple):
    """A part as it holds."""

    head: PartHead
    catalogued: CataloguedPart


@dataclass(frozen=True, slots=True)
class Moment:
    """A look-up of one axle and some parts as they stood; nothing else may be asked for."""

    axle: FindAxle
    axle_head: AxleHead | None
    parts: Mapping[str, InForce]

    def part(self, sku: str, _revision: int) -> CataloguedPart:
        """The one revision that held."""
        return self.parts[sku].catalogued

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        known = {sku: self.parts[sku].head for sku in skus if sku in self.parts}
        return None if axle is None else self.axle_head, known


def moment(connection: Connection, references: Lookup, axle: AxleName | None, skus: Collection[str]) -> Moment:
    """An axle, parts and what is in them if they are kits, as a connection sees them (``Database.snapshot``)."""
    head = None if axle is None else axle_head(connection, *axle)
    named = parts_in_force(connection, skus)
    inside = {sku for each in named.values() for sku, _ in each.catalogued.contents}
    return Moment(references.axle, head, {**parts_in_force(connection, inside), **named})


def parts_in_force(connection: Connection, skus: Collection[str]) -> dict[str, InForce]:
    """Parts with their bodies, many in a query; those that the catalogue does not know are left out."""
    wanted, rows, found = sorted(set(skus)), joined_rows(PARTS), {}
    for first in range(0, len(wanted), MOST_IN_A_QUERY):
        some = rows.where(PARTS.heads.c.sku.in_(wanted[first : first + MOST_IN_A_QUERY]))
        for stored in (stored_of(row, PARTS) for row in connection.execute(some)):
            head = PartHead(stored.revision, stored.status == ACTIVE)
            found[stored.key[0]] = InForce(head, catalogued_part(stored.body))
    return found
