"""What stands on an axle's shelf now, and which of the judgements that were kept still hold."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, select
from sqlalchemy.dialects import postgresql, sqlite

from service.catalogue.references import AxleName
from service.catalogue.revisions import ACTIVE, AXLES, PARTS, VEHICLES, UnknownError, current
from service.database import canonical, table_of
from service.shelf.judging import Judgement, ShelfJob, basis_of
from service.shelf.offers import Offer, offers_for, texts_of
from service.shelf.tables import ShelfVerdict

VERDICTS = table_of(ShelfVerdict)
OF_JUDGEMENTS = Judgement._fields
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class AxleShelf:
    """An axle, its ``revisions`` (vehicle, axle), its offers by SKU, and the judgements on them that hold."""

    axle: AxleName
    revisions: tuple[int, int]
    axle_text: str
    masses_text: str
    offers: tuple[Offer, ...]
    held: dict[str, Judgement]
    stale: tuple[str, ...]

    @property
    def open(self) -> list[Offer]:
        """Offers whose judgement has to be made anew."""
        return [offer for offer in self.offers if offer.sku not in self.held]


def axle_shelf(connection: Connection, axle: AxleName, kinds: Collection[str] | None = None) -> AxleShelf:
    """The shelf of an axle, or some kinds of it. Raises ``UnknownError``; a withdrawn vehicle has none."""
    owner = current(connection, VEHICLES, axle[:1])
    if owner.status != ACTIVE:
        raise UnknownError(f"The vehicle {axle[0]} has been withdrawn.")
    measured = current(connection, AXLES, axle)
    revisions = owner.revision, measured.revision
    offers = tuple(offers_for(connection, axle, kinds))
    bases = {offer.sku: basis_of(revisions, offer) for offer in offers}
    kept = _kept(connection, axle, kinds)
    return AxleShelf(
        axle,
        revisions,
        canonical(measured.body).decode(),
        canonical(owner.body["vehicle_masses"]).decode(),
        offers,
        {sku: kept[sku] for sku, basis in bases.items() if sku in kept and kept[sku].basis == basis},
        tuple(sku for sku in kept if sku not in bases) if kinds is None else (),
    )


def job_of(connection: Connection, shelf: AxleShelf) -> ShelfJob:
    """What it takes to judge what is open on a shelf."""
    offers = tuple(shelf.open)
    wanted = {piece.sku: piece.revision for offer in offers for piece in offer.pieces}
    wanted |= {offer.sku: offer.revision for offer in offers}
    vehicle, end = shelf.axle
    texts = texts_of(connection, wanted)
    return ShelfJob(vehicle, end, shelf.revisions, shelf.axle_text, shelf.masses_text, offers, texts)


def keep(connection: Connection, axle: AxleName, made: Sequence[Judgement], gone: Sequence[str] = ()) -> None:
    """Put judgements in place of those that were kept, and take away those of what is no longer on the shelf.

    Another sweep may be doing the same: both write the same, and in the same order.
    """
    vehicle, end = axle
    for start in range(0, len(gone), AT_ONCE):
        some = VERDICTS.c.sku.in_(gone[start : start + AT_ONCE])
        connection.execute(delete(VERDICTS).where(*_of_axle(axle), some))
    rows = [{"vehicle_id": vehicle, "end": end, **each._asdict()} for each in made]
    if rows:
        insert: Any = sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert
        statement = insert(VERDICTS)
        changes = {name: statement.excluded[name] for name in OF_JUDGEMENTS if name != "sku"}
        names = [column.name for column in VERDICTS.primary_key]
        connection.execute(statement.on_conflict_do_update(index_elements=names, set_=changes), rows)


def forget_axles(connection: Connection, known: Collection[AxleName], vehicle: str | None = None) -> int:
    """Take away the judgements of axles, or of one vehicle's, that are on no active vehicle any more; how many."""
    rows = select(VERDICTS.c.vehicle_id, VERDICTS.c.end).distinct()
    if vehicle is not None:
        rows = rows.where(VERDICTS.c.vehicle_id == vehicle)
    there = {(name, end) for name, end in connection.execute(rows)}
    gone = sorted(there.difference(known))
    return sum(connection.execute(delete(VERDICTS).where(*_of_axle(axle))).rowcount for axle in gone)


def measured_axles(connection: Connection, vehicle: str | None = None) -> list[AxleName]:
    """Every axle of an active vehicle, or of one vehicle, in their order."""
    on_vehicle = AXLES.heads.c.vehicle_id == VEHICLES.heads.c.vehicle_id
    rows = (
        select(AXLES.heads.c.vehicle_id, AXLES.heads.c.end)
        .join_from(AXLES.heads, VEHICLES.heads, on_vehicle)
        .where(VEHICLES.heads.c.status == ACTIVE)
    )
    if vehicle is not None:
        rows = rows.where(AXLES.heads.c.vehicle_id == vehicle)
    return sorted((name, end) for name, end in connection.execute(rows))


def _kept(connection: Connection, axle: AxleName, kinds: Collection[str] | None) -> dict[str, Judgement]:
    rows = select(*(VERDICTS.c[name] for name in OF_JUDGEMENTS)).where(*_of_axle(axle))
    if kinds is not None:
        heads = PARTS.heads
        rows = rows.where(VERDICTS.c.sku.in_(select(heads.c.sku).where(heads.c.kind.in_(kinds))))
    return {row[0]: Judgement(*row) for row in connection.execute(rows).all()}


def _of_axle(axle: tuple[str, str]) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    return VERDICTS.c.vehicle_id == axle[0], VERDICTS.c.end == axle[1]
