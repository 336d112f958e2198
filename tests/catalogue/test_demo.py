"""The demo catalogue: could these vehicles and parts exist?

Every tolerance below is common practice: none of them has a published source.
"""

import json
from collections import Counter
from itertools import pairwise
from math import pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

import service.catalogue
from service.api.schemas.axle import AxleEnvelope as AxleBody
from service.api.schemas.catalogued_parts import CataloguedPart
from service.api.schemas.vehicle import Vehicle
from service.catalogue.engine_values import engine_part
from service.engine import check_part
from service.engine.loads import STANDARD_GRAVITY
from service.engine.parts import PART_KINDS
from service.engine.springs import corrected_shear_stress_mpa, rate_n_per_mm, solid_length_mm

DEMO = Path(service.catalogue.__file__).parent / "demo"
VEHICLES, AXLES, PARTS = (
    json.loads((DEMO / f"{name}.json").read_text("utf-8")) for name in ("vehicles", "axles", "parts")
)
MASSES = {vehicle["vehicle_id"]: vehicle["vehicle_masses"] for vehicle in VEHICLES}
ENVELOPES = {axle["vehicle"]: axle["envelope"] for axle in AXLES}
BY_SKU = {part["sku"]: part for part in PARTS}
MEASURED = {vehicle: e for vehicle, e in ENVELOPES.items() if "rate_n_per_mm" in e["fitted"]["spring"]}
"""The axles of which enough is known to weigh them up; the others are sparse on purpose."""
LINEAR_SPRINGS = {
    **{sku: part for sku, part in BY_SKU.items() if "active_coils" in part},
    **{vehicle: e["fitted"]["spring"] for vehicle, e in MEASURED.items()},
}
MOTION_RATIOS = {"wishbone_coilover": (0.55, 0.68), "macpherson": (0.93, 1.0)}
CRUSH_ASSUMED = 0.55
"""Share of its free height that a bump stop of unknown crush gives on unsealed roads, as in the policy."""

each_measured_axle = pytest.mark.parametrize("vehicle", MEASURED)


def value(reading: Any) -> float:
    return float(reading["value"] if isinstance(reading, dict) else reading)


def stations(vehicle: str) -> list[dict[str, Any]]:
    return [
        {name: v if name == "at" else value(v) for name, v in station.items()}
        for station in ENVELOPES[vehicle]["travel"]["stations"]
    ]


def station(vehicle: str, at: str) -> dict[str, Any]:
    return next(s for s in stations(vehicle) if s["at"] == at)


def fitted(vehicle: str, slot: str, field: str) -> float:
    return value(ENVELOPES[vehicle]["fitted"][slot][field])


def motion_ratios(vehicle: str) -> list[float]:
    """Between neighbouring stations, from droop to bump."""
    return [
        (a["seat_gap_mm"] - b["seat_gap_mm"]) / (a["arch_to_hub_mm"] - b["arch_to_hub_mm"])
        for a, b in pairwise(stations(vehicle))
    ]


def motion_ratio_at_ride(vehicle: str) -> float:
    at = [s["at"] for s in stations(vehicle)].index("ride")
    return sum(motion_ratios(vehicle)[at - 1 : at + 1]) / 2


def sprung_kg(vehicle: str) -> float:
    return value(MASSES[vehicle]["front_axle_kg"]) / 2 - value(ENVELOPES[vehicle]["unsprung_kg_per_wheel"])


def gap_at_full_bump(vehicle: str) -> float:
    """Seat gap with the factory's stop fully crushed, the last motion ratio going on."""
    stop = ENVELOPES[vehicle]["fitted"]["bump_stop"]
    free = value(stop["free_height_mm"])
    crush = free - value(stop["crushed_height_mm"]) if "crushed_height_mm" in stop else CRUSH_ASSUMED * free
    wheel = crush / value(ENVELOPES[vehicle]["travel"]["bump_stop_ratio"])
    return station(vehicle, "bump_contact")["seat_gap_mm"] - wheel * motion_ratios(vehicle)[-1]


def solid(spring: dict[str, Any]) -> float:
    if "solid_length_mm" in spring:
        return value(spring["solid_length_mm"])
    thickest = value(spring["wire_mm"]) + spring.get("wire_tolerance_mm", 0.0)
    return float(solid_length_mm(thickest, value(spring["total_coils"]), spring["ends"], spring["forming"]))


def test_the_bodies_are_what_the_api_takes():
    assert len(TypeAdapter(list[Vehicle]).validate_json((DEMO / "vehicles.json").read_bytes())) >= 3
    assert len(TypeAdapter(list[CataloguedPart]).validate_json((DEMO / "parts.json").read_bytes())) >= 25
    for axle in AXLES:
        assert axle.keys() == {"vehicle", "end", "envelope"}
        AxleBody.model_validate_json(json.dumps(axle["envelope"]))


def test_every_kind_of_part_on_offer_is_shown():
    assert {part["kind"] for part in PARTS} == PART_KINDS.keys() - {"damper"}, "a separate damper fits no strut axle"
    springs = [part for part in PARTS if part["kind"] == "coil_spring"]
    assert any("force_table" in spring for spring in springs)
    assert any("rate_n_per_mm" in spring for spring in springs)


def test_vehicles_differ_in_layout_drive_and_how_much_is_known():
    kinds = Counter((e["layout"], e["driven"], vehicle in MEASURED) for vehicle, e in ENVELOPES.items())
    assert kinds == {
        ("wishbone_coilover", True, True): 1,
        ("wishbone_coilover", True, False): 1,
        ("wishbone_coilover", False, True): 1,
        ("macpherson", True, True): 1,
    }


def test_names_are_used_once_and_references_lead_somewhere():
    ids = [*MASSES, *BY_SKU]
    assert len(set(ids)) == len(VEHICLES) + len(PARTS)
    assert set(ENVELOPES) == set(MASSES)
    assert {axle["end"] for axle in AXLES} == {"front"}
    assert {axle for part in PARTS for axle in part["fits"]} == {f"{vehicle}/front" for vehicle in MASSES}


@pytest.mark.parametrize("sku", BY_SKU)
def test_a_part_is_physically_possible(sku):
    assert check_part(engine_part(BY_SKU[sku])) == []


@each_measured_axle
def test_strut_length_less_seat_gap_is_the_seat_offset(vehicle):
    offset = fitted(vehicle, "strut", "seat_offset_mm")
    for s in stations(vehicle):
        assert s["damper_length_mm"] - s["seat_gap_mm"] == pytest.approx(offset, abs=1.0)
    assert fitted(vehicle, "strut", "extended_length_mm") == pytest.approx(
        station(vehicle, "full_droop")["damper_length_mm"], abs=1.0
    )


@each_measured_axle
def test_the_motion_ratio_drifts_one_way_within_its_layouts_range(vehicle):
    least, most = MOTION_RATIOS[ENVELOPES[vehicle]["layout"]]
    ratios = motion_ratios(vehicle)
    assert all(least <= ratio <= most for ratio in ratios)
    assert ratios in (sorted(ratios), sorted(ratios, reverse=True))
    assert max(ratios) - min(ratios) < 0.05


@each_measured_axle
def test_the_wheel_has_a_usual_travel(vehicle):
    ride, droop, bump = (station(vehicle, at)["arch_to_hub_mm"] for at in ("ride", "full_droop", "bump_contact"))
    assert 60 <= ride - bump <= 90
    assert 70 <= droop - ride <= 110


@each_measured_axle
def test_the_factory_spring_carries_the_kerb_load(vehicle):
    pressed = fitted(vehicle, "spring", "free_length_mm") - station(vehicle, "ride")["seat_gap_mm"]
    at_wheel = fitted(vehicle, "spring", "rate_n_per_mm") * pressed * motion_ratio_at_ride(vehicle)
    assert at_wheel == pytest.approx(sprung_kg(vehicle) * STANDARD_GRAVITY, rel=0.03)


@each_measured_axle
def test_the_wheel_rate_gives_a_usual_ride_frequency(vehicle):
    wheel_rate = fitted(vehicle, "spring", "rate_n_per_mm") * motion_ratio_at_ride(vehicle) ** 2
    hertz = sqrt(1000 * wheel_rate / sprung_kg(vehicle)) / (2 * pi)
    assert 1.1 <= hertz <= 1.8


@each_measured_axle
def test_the_factory_spring_stays_seated_and_never_goes_solid(vehicle):
    assert fitted(vehicle, "spring", "free_length_mm") > station(vehicle, "full_droop")["seat_gap_mm"] + 5
    assert gap_at_full_bump(vehicle) >= solid(ENVELOPES[vehicle]["fitted"]["spring"]) + 8


@each_measured_axle
def test_the_factory_damper_closes_well_after_full_crush(vehicle):
    length = gap_at_full_bump(vehicle) + fitted(vehicle, "strut", "seat_offset_mm")
    assert length >= fitted(vehicle, "strut", "closed_length_mm") + 10


@each_measured_axle
def test_the_factory_springs_steel_bears_full_bump(vehicle):
    pressed = fitted(vehicle, "spring", "free_length_mm") - gap_at_full_bump(vehicle)
    force = fitted(vehicle, "spring", "rate_n_per_mm") * pressed
    size = [fitted(vehicle, "spring", name) for name in ("wire_mm", "mean_diameter_mm")]
    strength = fitted(vehicle, "spring", "tensile_strength_mpa")
    # 0.56 Rm: cold-coiled springs of EN 13906-1, known from memory.
    assert corrected_shear_stress_mpa(force, *size) < 0.56 * strength


@each_measured_axle
def test_limits_lie_a_little_beyond_the_factory_droop(vehicle):
    limits = ENVELOPES[vehicle]["limits"]
    assert limits
    for limit in limits.values():
        beyond = value(limit["reached_at_arch_to_hub_mm"]) - station(vehicle, "full_droop")["arch_to_hub_mm"]
        assert 8 <= beyond <= 40


@pytest.mark.parametrize("vehicle", MASSES)
def test_the_front_axle_is_rated_for_a_sensible_payload(vehicle):
    payload = value(MASSES[vehicle]["front_axle_rating_kg"]) - value(MASSES[vehicle]["front_axle_kg"])
    assert 150 <= payload <= 350


@pytest.mark.parametrize("spring", LINEAR_SPRINGS)
def test_a_springs_rate_agrees_with_its_dimensions(spring):
    stated = LINEAR_SPRINGS[spring]
    size = [value(stated[name]) for name in ("wire_mm", "mean_diameter_mm", "active_coils", "shear_modulus_mpa")]
    assert value(stated["rate_n_per_mm"]) == pytest.approx(rate_n_per_mm(*size), rel=0.06)


def test_every_spring_is_wound_of_usual_wire():
    springs = [part for part in PARTS if part["kind"] == "coil_spring"]
    springs += [envelope["fitted"]["spring"] for envelope in ENVELOPES.values()]
    assert all(13 <= value(spring["wire_mm"]) <= 19 for spring in springs)
