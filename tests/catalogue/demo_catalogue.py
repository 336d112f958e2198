"""The demo catalogue's bodies as they are in its files, and plain numbers out of them."""

import json
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import service.catalogue
from service.catalogue.engine_values import engine_value
from service.engine import STANDARD, AxleEnvelope, VehicleMasses, compile_axle
from service.engine.axle import Axle
from service.engine.springs import solid_length_mm

DEMO = Path(service.catalogue.__file__).parent / "demo"
VEHICLES, AXLES, PARTS = (
    json.loads((DEMO / f"{name}.json").read_text("utf-8")) for name in ("vehicles", "axles", "parts")
)
MASSES = {vehicle["vehicle_id"]: vehicle["vehicle_masses"] for vehicle in VEHICLES}
ENVELOPES = {f"{axle['vehicle']}/{axle['end']}": axle["envelope"] for axle in AXLES}
"""By the axle's name, such as ``hill-runner/front``."""
BY_SKU = {part["sku"]: part for part in PARTS}


def value(reading: Any) -> float:
    return float(reading["value"] if isinstance(reading, dict) else reading)


def mass(axle: str, what: str) -> float:
    """A mass that the vehicle states for this end: ``axle_kg`` or ``axle_rating_kg``."""
    vehicle, end = axle.split("/")
    return value(MASSES[vehicle][f"{end}_{what}"])


def sprung_kg(axle: str) -> float:
    return mass(axle, "axle_kg") / 2 - value(ENVELOPES[axle]["unsprung_kg_per_wheel"])


def fitted(axle: str, slot: str, field: str) -> float:
    return value(ENVELOPES[axle]["fitted"][slot][field])


def limit(axle: str, joint: str, field: str) -> float:
    return value(ENVELOPES[axle]["limits"][joint][field])


def stations(axle: str) -> list[dict[str, Any]]:
    return [
        {name: v if name == "at" else value(v) for name, v in station.items()}
        for station in ENVELOPES[axle]["travel"]["stations"]
    ]


def station(axle: str, at: str) -> dict[str, Any]:
    return next(s for s in stations(axle) if s["at"] == at)


def heights(axle: str) -> dict[str, float]:
    """Arch-to-hub at the stations that have a name of their own."""
    return {s["at"]: s["arch_to_hub_mm"] for s in stations(axle) if s["at"] != "between"}


def ratios(axle: str, span: str) -> list[float]:
    """Change of a taped span over that of arch-to-hub between neighbouring stations, from droop to bump."""
    return [(a[span] - b[span]) / (a["arch_to_hub_mm"] - b["arch_to_hub_mm"]) for a, b in pairwise(stations(axle))]


def ratio_at_ride(axle: str, span: str = "seat_gap_mm") -> float:
    at = [s["at"] for s in stations(axle)].index("ride")
    return sum(ratios(axle, span)[at - 1 : at + 1]) / 2


def solid(spring: dict[str, Any]) -> float:
    if "solid_length_mm" in spring:
        return value(spring["solid_length_mm"])
    thickest = value(spring["wire_mm"]) + spring.get("wire_tolerance_mm", 0.0)
    return float(solid_length_mm(thickest, value(spring["total_coils"]), spring["ends"], spring["forming"]))


@cache
def engine_axle(axle: str) -> Axle:
    vehicle, end = axle.split("/")
    envelope, masses = engine_value(AxleEnvelope, ENVELOPES[axle]), engine_value(VehicleMasses, MASSES[vehicle])
    return compile_axle(envelope, masses, "front" if end == "front" else "rear", STANDARD)
