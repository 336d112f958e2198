"""Bringing files into the catalogue: all of them, or nothing where a single row is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from sqlalchemy import Connection

from service.api.interchange.admission import Admitted, admit
from service.api.interchange.csv_rows import read_csv
from service.api.interchange.json_lines import read_json_lines
from service.api.interchange.rows import BadRowsError, FileForm, Row, RowFault, SourceFile
from service.api.schemas.values import End
from service.catalogue.bulk import AT_ONCE, Offered, Tally, put_all, shut_out_others
from service.catalogue.checking import check_against_axle, check_envelope, check_kit
from service.catalogue.references import KIT
from service.catalogue.revisions import ACTIVE, AXLES, PARTS, VEHICLES, Key, Shelf, current, exists, hold
from service.database import Database
from service.engine.refusal import Fault, RefusedError

Tell = Callable[[str, int, int], None]
"""Is told the name of a step, how many more rows it has done, and about how many there are."""

READERS: dict[FileForm, Callable[[SourceFile], Iterator[Row | list[RowFault]]]] = {
    "csv": read_csv,
    "jsonl": read_json_lines,
}


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a load did; after a dry run what it would have done, and everything that stands in its way."""

    rows: int
    tally: Tally
    faults: tuple[RowFault, ...]


@dataclass(frozen=True, slots=True)
class _Judged:
    """The rows of all files, each judged by itself. ``spoilt``: vehicles and parts whose own row is not right."""

    rows: int
    admitted: tuple[Admitted, ...]
    faults: tuple[RowFault, ...]
    spoilt: frozenset[str]


Along = Callable[[Connection, Loaded], None]
"""Is done in the transaction that loads, or not at all."""


def load(
    database: Database,
    files: Sequence[SourceFile],
    *,
    dry_run: bool = False,
    tell: Tell = lambda *_: None,
    along: Along = lambda *_: None,
) -> Loaded:
    """Put everything that the files hold in force. Raises ``BadRowsError``; a dry run returns the faults instead.

    What a file says replaces what held before; what holds already is left as it is, without a new revision.
    """
    judged = _judge(files, tell)
    faults = list(judged.faults)
    with database.writing() as connection:
        shut_out_others(connection)
        tally, more = _put(connection, judged, tell)
        faults += more
        loaded = Loaded(judged.rows, Tally() if faults else tally, tuple(_in_order(files, faults)))
        if faults or dry_run:
            connection.rollback()
        else:
            along(connection, loaded)
    if faults and not dry_run:
        raise BadRowsError(loaded.faults)
    return loaded


def _in_order(files: Sequence[SourceFile], faults: list[RowFault]) -> list[RowFault]:
    places = {file.name: place for place, file in enumerate(files)}
    return sorted(faults, key=lambda fault: (places[fault.file], fault.line))


def _judge(files: Sequence[SourceFile], tell: Tell) -> _Judged:
    admitted: dict[tuple[str, Key], Admitted] = {}
    faults: list[RowFault] = []
    spoilt: set[str] = set()
    about = sum(file.content.count(b"\n") for file in files)
    rows = 0
    for rows, (row, outcome) in enumerate((each for file in files for each in _outcomes(file)), 1):
        if rows % AT_ONCE == 0:
            tell("checking", AT_ONCE, about)
        if isinstance(outcome, list):
            faults += outcome
            if row is not None:
                spoilt.add(str(row.body.get("sku", row.body.get("vehicle_id"))))
        else:
            first = admitted.setdefault((outcome.shelf.what, outcome.offered.key), outcome)
            if first is not outcome:
                faults.append(outcome.refused(_said_twice(first)))
    tell("checking", rows % AT_ONCE, rows)
    return _Judged(rows, tuple(admitted.values()), tuple(faults), frozenset(spoilt))


def _outcomes(file: SourceFile) -> Iterator[tuple[Row | None, Admitted | list[RowFault]]]:
    for row in READERS[file.form](file):
        if isinstance(row, list):
            yield None, row
        else:
            yield row, admit(row)


def _said_twice(first: Admitted) -> Fault:
    field = "sku" if first.shelf is PARTS else first.shelf.key[-1]
    where = f"line {first.row.line} of {first.row.file.name}"
    return Fault(f"/{field}", f"{'/'.join(first.offered.key)} stands in {where} already")


def _put(connection: Connection, judged: _Judged, tell: Tell) -> tuple[Tally, list[RowFault]]:
    """Put in force what is right, vehicles first, and judge what belongs together in the state that comes of it."""

    def put(shelf: Shelf, some: Sequence[Admitted]) -> Tally:
        offered = [each.offered for each in some]
        return put_all(connection, shelf, offered, lambda more: tell("storing", more, len(judged.admitted)))

    vehicles, axles, parts = ([each for each in judged.admitted if each.shelf is s] for s in (VEHICLES, AXLES, PARTS))
    tally = put(VEHICLES, vehicles)
    for key in sorted({axle.offered.key[:1] for axle in axles}):
        hold(connection, VEHICLES, key)  # or an editor could change its masses before its axles are in force
    axle_faults = {axle.offered.key: _axle_faults(connection, axle, judged.spoilt) for axle in axles}
    tally += put(AXLES, [axle for axle in axles if axle_faults[axle.offered.key] is None])
    kits = _kits(connection, parts)
    tally += put(PARTS, parts)
    faults = [fault for each in axle_faults.values() for fault in each or ()]
    for vehicle in vehicles:
        faults += _vehicle_faults(connection, vehicle, axle_faults)
    for kit, withdrawn in kits:
        faults += _kit_faults(connection, kit, withdrawn, judged.spoilt)
    return tally, faults


def _kits(connection: Connection, parts: Sequence[Admitted]) -> list[tuple[Admitted, set[str]]]:
    """Each kit that is brought, and what may be withdrawn in it.

    That is what the files themselves say is withdrawn, and everything in a kit that is left as it is: an export can
    always be brought back.
    """
    said = {part.offered.key[0] for part in parts if part.offered.body["status"] != ACTIVE}
    kits = [part for part in parts if part.offered.body["kind"] == KIT]
    return [(kit, said | (_held(kit.offered) if _holds_already(connection, kit.offered) else set())) for kit in kits]


def _holds_already(connection: Connection, offered: Offered) -> bool:
    return exists(connection, PARTS, offered.key) and current(connection, PARTS, offered.key).body == offered.body


def _held(kit: Offered) -> set[str]:
    return {entry["sku"] for entry in kit.body["parts"]}


def _kit_faults(connection: Connection, kit: Admitted, withdrawn: set[str], spoilt: frozenset[str]) -> list[RowFault]:
    """What speaks against a kit with what the catalogue and the files hold of its parts."""
    try:
        check_kit(connection, kit.offered.key, kit.offered.body, withdrawn)
    except RefusedError as error:
        skus = [entry["sku"] for entry in kit.offered.body["parts"]]
        return [kit.refused(fault) for fault in error.faults if skus[int(fault.pointer.split("/")[2])] not in spoilt]
    return []


def _axle_faults(connection: Connection, axle: Admitted, spoilt: frozenset[str]) -> list[RowFault] | None:
    """What speaks against an axle with the masses of its vehicle; None: nothing, it can be put in force."""
    key = axle.offered.key
    if not exists(connection, VEHICLES, key[:1]):
        unknown = Fault("/vehicle", f"The catalogue has no vehicle {key[0]}, and no file brings it.")
        return [] if key[0] in spoilt else [axle.refused(unknown)]
    masses = current(connection, VEHICLES, key[:1]).body["vehicle_masses"]
    return _refusals(axle, lambda: check_envelope(key, axle.offered.body, masses)) or None


def _vehicle_faults(connection: Connection, vehicle: Admitted, offered: dict[Key, Any]) -> list[RowFault]:
    """What speaks against the masses of a vehicle with those of its axles that no file brings."""
    (name,), masses = vehicle.offered.key, vehicle.offered.body["vehicle_masses"]
    others = [(name, end) for end in get_args(End) if (name, end) not in offered]
    return [
        fault
        for key in others
        for fault in _refusals(vehicle, lambda key=key: check_against_axle(connection, key, masses))  # type: ignore[misc]
    ]


def _refusals(of: Admitted, check: Callable[[], None]) -> list[RowFault]:
    try:
        check()
    except RefusedError as error:
        return [of.refused(fault) for fault in error.faults]
    return []
