"""The catalogue at one moment: what several questions to it tell belongs together, whoever changes it meanwhile."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection

from service.catalogue.references import (
    AxleHead,
    AxleName,
    FindAxle,
    FindPart,
    Heads,
    Lookup,
    PartHead,
    axle_head,
    part_heads,
)


@dataclass(frozen=True, slots=True)
class Moment:
    """A look-up of one axle and some parts as they stood. Revisions never change, so they are read from elsewhere."""

    part: FindPart
    axle: FindAxle
    axle_head: AxleHead | None
    part_heads: dict[str, PartHead]

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        """What was read of them; nothing else may be asked for."""
        known = {sku: self.part_heads[sku] for sku in skus if sku in self.part_heads}
        return None if axle is None else self.axle_head, known


def moment(connection: Connection, references: Lookup, axle: AxleName | None, skus: Collection[str]) -> Moment:
    """The moment that a connection sees (``Database.snapshot``)."""
    head = None if axle is None else axle_head(connection, *axle)
    return Moment(references.part, references.axle, head, part_heads(connection, skus))
