"""Readings taken at the counter, put into the axle and the parts that the catalogue has: for one evaluation only.

A pointer is one of a record's ``missing`` fields; ``+`` before a station's name means that the station may be new.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from service.catalogue.references import KIT
from service.catalogue.revisions import AXLES, PARTS, VEHICLES, current
from service.counter.language.english import ENGLISH
from service.counter.question import Question, checked, reading_of
from service.engine.refusal import Fault, RefusedError

KIND_IN = {"spring": "coil_spring"}
"""The kind of part in a slot of the fitted parts, where it is not the slot's own name."""
CHOICES = {
    "forming": ("cold", "hot"),
    "ends": ("closed_ground", "closed_unground", "open"),
}
CATALOGUED_ONLY = ("sku", "name", "supplier", "status", "fits", "notes", "revision", "created_at", "revised_at")
Body = dict[str, Any]
Value = float | str | dict[str, float]


def with_readings(connection: Connection, question: Question, readings: Mapping[str, str]) -> Question:
    """The question with its axle written out, and with it every part that a reading is about.

    Raises ``RefusedError`` where a reading cannot be taken as it is.
    """
    axle = question["axle"]
    named = (axle["vehicle"], axle["end"])
    inline = {
        "inline": copy.deepcopy(current(connection, AXLES, named).body),
        "vehicle_masses": copy.deepcopy(current(connection, VEHICLES, named[:1]).body["vehicle_masses"]),
        "end": axle["end"],
        "measured_on": axle["vehicle"],
    }
    parts = [part for entry in question["parts"] for part in _written_out(connection, entry, readings)]
    for pointer, text in readings.items():
        tokens = pointer.strip("/").split("/")
        value = _value(tokens[-1], text, pointer)
        if tokens[0] == "parts" and len(tokens) == 3:
            _into_part(parts, tokens, value, pointer)
        elif tokens[0] == "axle" and len(tokens) > 1:
            _into_axle(inline, tokens[1:], value, pointer)
        else:
            raise _unknown(pointer)
    return checked({**question, "axle": inline, "parts": parts})


def _written_out(connection: Connection, entry: Body, readings: Mapping[str, str]) -> list[Body]:
    """The entry, with its part written out where a reading is about it; a kit that holds such a part is taken apart."""
    if "sku" not in entry:
        return [entry]
    body = current(connection, PARTS, (entry["sku"],)).body
    if body["kind"] != KIT:
        return [_part(entry, body, readings)]
    number = entry["quantity"]
    held = [{"sku": each["sku"], "quantity": number * each["quantity"]} for each in body["parts"]]
    parts = [_part(each, current(connection, PARTS, (each["sku"],)).body, readings) for each in held]
    return [entry] if parts == held else parts


def _part(entry: Body, body: Body, readings: Mapping[str, str]) -> Body:
    if not any(pointer.startswith(f"/parts/{body['kind']}/") for pointer in readings):
        return entry
    part = {name: copy.deepcopy(value) for name, value in body.items() if name not in CATALOGUED_ONLY}
    return {"part": part, "quantity": entry["quantity"]}


def _value(field: str, text: str, pointer: str) -> Value:
    if field in CHOICES:
        if text not in CHOICES[field]:
            raise RefusedError([Fault(pointer, f"must be one of {', '.join(CHOICES[field])}")])
        return text
    return reading_of(text, pointer)


def _into_part(parts: list[Body], tokens: list[str], value: Value, pointer: str) -> None:
    for entry in parts:
        if "part" in entry and entry["part"]["kind"] == tokens[1]:
            entry["part"][tokens[2]] = value
            return
    raise _unknown(pointer)


def _into_axle(inline: Body, tokens: list[str], value: Value, pointer: str) -> None:
    envelope = inline["inline"]
    match tokens:
        case ["vehicle_masses", name]:
            inline["vehicle_masses"][name] = value
        case ["fitted", slot, name]:
            fitted = envelope.setdefault("fitted", {}).setdefault(slot, {"kind": KIND_IN.get(slot, slot)})
            fitted[name] = value
        case ["limits", joint]:
            envelope.setdefault("limits", {}).setdefault(joint, {})["reached_at_arch_to_hub_mm"] = value
        case ["limits", joint, name]:
            envelope.setdefault("limits", {}).setdefault(joint, {})[name] = value
        case ["travel", "stations", place, name]:
            _station(envelope, place, pointer)[name] = value
        case ["travel", name]:
            envelope["travel"][name] = value
        case [name]:
            envelope[name] = value
        case _:
            raise _unknown(pointer)


def _station(envelope: Body, place: str, pointer: str) -> Body:
    stations: list[Body] = envelope["travel"].setdefault("stations", [])
    if place.startswith("+"):
        there = next((station for station in stations if station["at"] == place[1:]), None)
        if there is None:
            stations.append(there := {"at": place[1:]})
        return there
    if not place.isascii() or not place.isdigit() or int(place) >= len(stations):
        raise _unknown(pointer)
    return stations[int(place)]


def _unknown(pointer: str) -> RefusedError:
    return RefusedError([Fault(pointer, ENGLISH["fault_reading"])])
