"""Whether a body may enter the catalogue: what the engine would refuse later is refused now.

Raises ``RefusedError`` with pointers into the body.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, get_args

from sqlalchemy import Connection, select

from service.catalogue.engine_values import engine_part, engine_value
from service.catalogue.references import KIT, compiled
from service.catalogue.revisions import ACTIVE, AXLES, PARTS, VEHICLES, Key, WithdrawnError, current, exists, hold
from service.engine import POLICIES, check_part
from service.engine.envelope import End, VehicleMasses
from service.engine.plausible import field_faults
from service.engine.refusal import Fault, RefusedError


def check_catalogued_part(body: dict[str, Any]) -> None:
    """The physics of one part; a kit by itself."""
    faults = [*_twice(body)] if body["kind"] == KIT else [*check_part(engine_part(body))]
    if faults:
        raise RefusedError(faults)


def _twice(kit: dict[str, Any]) -> Iterator[Fault]:
    skus = [entry["sku"] for entry in kit["parts"]]
    for index, sku in enumerate(skus):
        if sku in skus[:index]:
            yield Fault(f"/parts/{index}/sku", f"{sku} is in this kit already: give its quantity there.")


def check_kit(connection: Connection, key: Key, body: dict[str, Any], withdrawn: Collection[str] = ()) -> None:
    """What a kit holds must be in the catalogue and on sale, and no kit. Nothing on any other part.

    ``withdrawn``: what may be withdrawn nevertheless, and in a withdrawn kit everything may: no evaluation uses it.
    """
    if body["kind"] != KIT:
        return
    heads = PARTS.heads
    wanted = [entry["sku"] for entry in body["parts"]]
    rows = connection.execute(select(heads.c.sku, heads.c.status, heads.c.kind).where(heads.c.sku.in_(wanted)))
    known = {sku: (status, kind) for sku, status, kind in rows} | {key[0]: (ACTIVE, KIT)}
    left_be = wanted if body["status"] != ACTIVE else withdrawn
    faults = [
        Fault(f"/parts/{index}/sku", detail)
        for index, sku in enumerate(wanted)
        if (detail := _unfit(sku, *known.get(sku, ("", "")), withdrawn_too=sku in left_be))
    ]
    if faults:
        raise RefusedError(faults)


def _unfit(sku: str, status: str, kind: str, *, withdrawn_too: bool) -> str:
    if not status:
        return f"The catalogue has no part {sku}."
    if kind == KIT:
        return f"{sku} is a kit itself: name its parts."
    return "" if status == ACTIVE or withdrawn_too else f"{sku} has been withdrawn."


def check_vehicle(connection: Connection, vehicle: str, masses: dict[str, Any]) -> None:
    """The masses, by themselves and against the axles that the vehicle has already.

    The vehicle is held meanwhile, here and for its axles: two editors at once, each of whom looks at what the other is
    about to change, would otherwise leave masses and an axle behind that nobody has checked together.
    """
    hold(connection, VEHICLES, (vehicle,))
    check_masses(masses)
    for end in get_args(End):
        check_against_axle(connection, (vehicle, end), masses)


def check_masses(masses: dict[str, Any]) -> None:
    """The masses of a vehicle by themselves."""
    faults = list(field_faults(engine_value(VehicleMasses, masses), "/vehicle_masses"))
    if faults:
        raise RefusedError(faults)


def check_against_axle(connection: Connection, key: Key, masses: dict[str, Any]) -> None:
    """The masses of a vehicle against one of its axles, if that has been measured."""
    if exists(connection, AXLES, key):
        _compile_all(current(connection, AXLES, key).body, masses, _end(key), "/vehicle_masses")


def check_axle(connection: Connection, key: Key, envelope: dict[str, Any]) -> None:
    """The envelope, with the masses of its vehicle. Raises ``UnknownError`` and ``WithdrawnError`` for the vehicle."""
    hold(connection, VEHICLES, key[:1])
    vehicle = current(connection, VEHICLES, key[:1])
    if vehicle.status != ACTIVE:
        raise WithdrawnError(f"The vehicle {key[0]} has been withdrawn: put it back in force first.")
    check_envelope(key, envelope, vehicle.body["vehicle_masses"])


def check_envelope(key: Key, envelope: dict[str, Any], masses: dict[str, Any]) -> None:
    """The envelope of an axle with the masses of its vehicle."""
    _compile_all(envelope, masses, _end(key), "")


def _end(key: Key) -> End:
    return "front" if key[1] == "front" else "rear"


def _compile_all(envelope: dict[str, Any], masses: dict[str, Any], end: End, pointed_at: str) -> None:
    """Compile under every policy; a fault that the pointed-at body does not hold is told at its top."""
    for policy in POLICIES:
        try:
            compiled(envelope, masses, end, policy)
        except RefusedError as error:
            raise RefusedError([_seen_from(fault, pointed_at) for fault in error.faults]) from None


def _seen_from(fault: Fault, pointed_at: str) -> Fault:
    of_masses = fault.pointer.startswith("/vehicle_masses")
    return fault if of_masses == bool(pointed_at) else Fault(pointed_at, fault.detail)
