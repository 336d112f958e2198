"""What stands on an axle's shelf now, and which of the judgements that were kept still hold."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import astuple, dataclass, fields

from sqlalchemy import Connection, delete, insert, select

from service.catalogue.references import AxleName
from service.catalogue.revisions import ACTIVE, AXLES, VEHICLES, UnknownError, current
from service.database import canonical, table_of
from service.shelf.judging import Judgement, ShelfJob, basis_of
from service.shelf.offers import Offer, offers_for, texts_of
from service.shelf.tables import ShelfVerdict

VERDICTS = table_of(ShelfVerdict)
COLUMNS = [VERDICTS.c[field.name] for field in fields(Judgement)]
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
    kept = _kept(connection, axle)
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


def keep(connection: Connection, axle: AxleName, made: Sequence[Judgement], gone: Iterable[str] = ()) -> None:
    """Put judgements in place of those that were kept, and take away those of what is no longer on the shelf."""
    vehicle, end = axle
    here = (VERDICTS.c.vehicle_id == vehicle, VERDICTS.c.end == end)
    out = [*(each.sku for each in made), *gone]
    for start in range(0, len(out), AT_ONCE):
        connection.execute(delete(VERDICTS).where(*here, VERDICTS.c.sku.in_(out[start : start + AT_ONCE])))
    names = [field.name for field in fields(Judgement)]
    rows = [{"vehicle_id": vehicle, "end": end, **dict(zip(names, astuple(each), strict=True))} for each in made]
    if rows:
        connection.execute(insert(VERDICTS), rows)


def forget_axles(connection: Connection, known: Collection[AxleName]) -> int:
    """Take away the judgements of axles that are on no active vehicle any more; how many."""
    there = connection.execute(select(VERDICTS.c.vehicle_id, VERDICTS.c.end).distinct()).all()
    gone = 0
    for vehicle, end in there:
        if (vehicle, end) not in known:
            here = (VERDICTS.c.vehicle_id == vehicle, VERDICTS.c.end == end)
            gone += connection.execute(delete(VERDICTS).where(*here)).rowcount
    return gone


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


def _kept(connection: Connection, axle: AxleName) -> dict[str, Judgement]:
    here = (VERDICTS.c.vehicle_id == axle[0], VERDICTS.c.end == axle[1])
    return {row[0]: Judgement(*row) for row in connection.execute(select(*COLUMNS).where(*here))}
