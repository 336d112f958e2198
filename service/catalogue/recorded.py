"""The catalogue as a record found it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from service.catalogue.references import AxleHead, AxleName, Heads, Lookup, PartHead


class RecordedReferences:
    """A look-up in which the revisions of one record are in force, whatever has come after them."""

    def __init__(self, references: Lookup, revisions: dict[str, Any]) -> None:
        self.part, self.axle = references.part, references.axle
        self._revisions = revisions

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        """What held then. All of it was active, else there would be no record."""
        stated = self._revisions
        parts = {sku: PartHead(stated["parts"][sku], active=True) for sku in skus if sku in stated["parts"]}
        if axle is None or stated["vehicle"] is None:
            return None, parts
        return AxleHead(stated["vehicle"], active=True, axle_revision=stated["axle"]), parts
