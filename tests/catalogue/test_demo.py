"""The demo catalogue: could these vehicles and parts exist?

Every tolerance below is common practice: none of them has a published source.
"""

import json
from collections import Counter
from math import pi, sqrt

import pytest
from demo_catalogue import (
    AXLES,
    BY_SKU,
    DEMO,
    ENVELOPES,
    MASSES,
    PARTS,
    VEHICLES,
    fitted,
    heights,
    mass,
    ratio_at_ride,
    ratios,
    solid,
    sprung_kg,
    station,
    stations,
    value,
)
from pydantic import TypeAdapter

from service.api.schemas.axle import AxleEnvelope as AxleBody
from service.api.schemas.catalogued_parts import CataloguedPart
from service.api.schemas.vehicle import Vehicle
from service.catalogue.engine_values import engine_part
from service.engine import check_part
from service.engine.loads import STANDARD_GRAVITY
from service.engine.parts import PART_KINDS
from service.engine.springs import (
    active_coils_of,
    corrected_shear_stress_mpa,
    permissible_stress_at_solid_mpa,
    rate_n_per_mm,
)

SPRUNG_BY_COILS = {axle: e for axle, e in ENVELOPES.items() if "rate_n_per_mm" in e["fitted"].get("spring", {})}
MEASURED = {axle: e for axle, e in SPRUNG_BY_COILS.items() if "stations" in e["travel"]}
"""The taped coil axles of which enough is known to weigh them up; the others are sparse on purpose, or surveyed."""
STRUTS = {axle: e for axle, e in MEASURED.items() if "strut" in e["fitted"]}
LINEAR_SPRINGS = {
    **{sku: part for sku, part in BY_SKU.items() if {"active_coils", "rate_n_per_mm"} <= part.keys()},
    **{axle: e["fitted"]["spring"] for axle, e in SPRUNG_BY_COILS.items()},
}
RATIOS = {"wishbone_coilover": (0.55, 0.68), "macpherson": (0.93, 1.0), "solid_axle_coil": (0.93, 1.02)}
CRUSH_ASSUMED = 0.55
"""Share of its free height that a bump stop of unknown crush gives on unsealed roads, as in the policy."""

each_measured_axle = pytest.mark.parametrize("axle", MEASURED)
each_strut_axle = pytest.mark.parametrize("axle", STRUTS)


def wheel_to_full_bump(axle: str) -> float:
    """Wheel travel from bump contact until the factory's stop is fully crushed."""
    stop = ENVELOPES[axle]["fitted"]["bump_stop"]
    free = value(stop["free_height_mm"])
    crush = free - value(stop["crushed_height_mm"]) if "crushed_height_mm" in stop else CRUSH_ASSUMED * free
    return crush / value(ENVELOPES[axle]["travel"]["bump_stop_ratio"])


def at_full_bump(axle: str, span: str) -> float:
    """A taped span with the stop fully crushed, its last ratio going on."""
    return float(station(axle, "bump_contact")[span] - wheel_to_full_bump(axle) * ratios(axle, span)[-1])


def test_the_bodies_are_what_the_api_takes():
    assert len(TypeAdapter(list[Vehicle]).validate_json((DEMO / "vehicles.json").read_bytes())) >= 7
    assert len(TypeAdapter(list[CataloguedPart]).validate_json((DEMO / "parts.json").read_bytes())) >= 60
    for axle in AXLES:
        assert axle.keys() == {"vehicle", "end", "envelope"}
        AxleBody.model_validate_json(json.dumps(axle["envelope"]))


def test_every_kind_of_part_on_offer_is_shown():
    assert {part["kind"] for part in PARTS} == {*PART_KINDS, "kit"}


def test_springs_are_shown_by_all_that_can_tell_their_force():
    springs = [part for part in PARTS if part["kind"] == "coil_spring"]
    told = Counter(
        next((way for way in ("rate_n_per_mm", "force_table", "zones") if way in spring), "dimensions")
        for spring in springs
    )
    assert told.keys() == {"rate_n_per_mm", "force_table", "zones", "dimensions"}


def test_vehicles_differ_in_layout_drive_and_how_much_is_known():
    kinds = Counter(
        (
            e["layout"],
            e["driven"],
            "surveyed" if "hard_points" in e["travel"] else "rich" if "bump_stop_ratio" in e["travel"] else "sparse",
        )
        for e in ENVELOPES.values()
    )
    assert kinds == {
        ("wishbone_coilover", True, "rich"): 1,
        ("wishbone_coilover", True, "sparse"): 1,
        ("wishbone_coilover", False, "rich"): 1,
        ("wishbone_coilover", True, "surveyed"): 1,
        ("macpherson", True, "rich"): 1,
        ("macpherson", True, "surveyed"): 1,
        ("wishbone_torsion_bar", True, "rich"): 1,
        ("solid_axle_coil", True, "rich"): 1,
        ("solid_axle_leaf", True, "rich"): 1,
    }


def test_names_are_used_once_and_references_lead_somewhere():
    ids = [*MASSES, *BY_SKU]
    assert len(set(ids)) == len(VEHICLES) + len(PARTS)
    assert len(ENVELOPES) == len(AXLES)
    assert set(ENVELOPES) >= {f"{vehicle}/front" for vehicle in MASSES}
    assert {axle for part in PARTS for axle in part["fits"]} == set(ENVELOPES)


@pytest.mark.parametrize("sku", [sku for sku, part in BY_SKU.items() if part["kind"] != "kit"])
def test_a_part_is_physically_possible(sku):
    assert check_part(engine_part(BY_SKU[sku])) == ()


@each_strut_axle
def test_strut_length_less_seat_gap_is_the_seat_offset(axle):
    offset = fitted(axle, "strut", "seat_offset_mm")
    for s in stations(axle):
        assert s["damper_length_mm"] - s["seat_gap_mm"] == pytest.approx(offset, abs=1.0)


@each_measured_axle
def test_the_damper_ends_the_factory_droop(axle):
    part = "strut" if axle in STRUTS else "damper"
    taped = station(axle, "full_droop")["damper_length_mm"]
    assert fitted(axle, part, "extended_length_mm") == pytest.approx(taped, abs=1.0)


@each_measured_axle
def test_the_motion_ratio_drifts_one_way_within_its_layouts_range(axle):
    least, most = RATIOS[ENVELOPES[axle]["layout"]]
    by_station = ratios(axle, "seat_gap_mm")
    assert all(least <= ratio <= most for ratio in by_station)
    assert by_station in (sorted(by_station), sorted(by_station, reverse=True))
    assert max(by_station) - min(by_station) < 0.05


@each_measured_axle
def test_the_wheel_has_a_usual_travel(axle):
    at = heights(axle)
    assert 60 <= at["ride"] - at["bump_contact"] <= 90
    assert 70 <= at["full_droop"] - at["ride"] <= 110


@each_measured_axle
def test_the_factory_spring_carries_the_kerb_load(axle):
    pressed = fitted(axle, "spring", "free_length_mm") - station(axle, "ride")["seat_gap_mm"]
    at_wheel = fitted(axle, "spring", "rate_n_per_mm") * pressed * ratio_at_ride(axle)
    assert at_wheel == pytest.approx(sprung_kg(axle) * STANDARD_GRAVITY, rel=0.03)


@each_measured_axle
def test_the_wheel_rate_gives_a_usual_ride_frequency(axle):
    wheel_rate = fitted(axle, "spring", "rate_n_per_mm") * ratio_at_ride(axle) ** 2
    hertz = sqrt(1000 * wheel_rate / sprung_kg(axle)) / (2 * pi)
    assert 1.1 <= hertz <= 1.8


@each_measured_axle
def test_the_factory_spring_stays_seated_and_never_goes_solid(axle):
    assert fitted(axle, "spring", "free_length_mm") > station(axle, "full_droop")["seat_gap_mm"] + 5
    assert at_full_bump(axle, "seat_gap_mm") >= solid(ENVELOPES[axle]["fitted"]["spring"]) + 8


@each_measured_axle
def test_the_factory_damper_closes_well_after_full_crush(axle):
    part = "strut" if axle in STRUTS else "damper"
    assert at_full_bump(axle, "damper_length_mm") >= fitted(axle, part, "closed_length_mm") + 10


@each_measured_axle
def test_the_factory_springs_steel_bears_full_bump(axle):
    spring = ENVELOPES[axle]["fitted"]["spring"]
    pressed = value(spring["free_length_mm"]) - at_full_bump(axle, "seat_gap_mm")
    wire, diameter = value(spring["wire_mm"]), value(spring["mean_diameter_mm"])
    stress = corrected_shear_stress_mpa(value(spring["rate_n_per_mm"]) * pressed, wire, diameter)
    strength = value(spring.get("tensile_strength_mpa", float("nan")))
    # 0.56 Rm of cold-coiled springs of EN 13906-1 is known from memory, the figures of hot-coiled ones second-hand.
    assert stress < permissible_stress_at_solid_mpa(wire, spring["forming"], strength)


@each_strut_axle
def test_limits_lie_a_little_beyond_the_factory_droop(axle):
    limits = ENVELOPES[axle]["limits"]
    assert limits
    for limit in limits.values():
        beyond = value(limit["reached_at_arch_to_hub_mm"]) - station(axle, "full_droop")["arch_to_hub_mm"]
        assert 8 <= beyond <= 40


@pytest.mark.parametrize("axle", ENVELOPES)
def test_an_axle_is_rated_for_a_sensible_payload(axle):
    least, most = (150, 350) if axle.endswith("/front") else (500, 1000)
    assert least <= mass(axle, "axle_rating_kg") - mass(axle, "axle_kg") <= most


@pytest.mark.parametrize("spring", LINEAR_SPRINGS)
def test_a_springs_rate_agrees_with_its_dimensions(spring):
    stated = LINEAR_SPRINGS[spring]
    size = [value(stated[name]) for name in ("wire_mm", "mean_diameter_mm", "active_coils", "shear_modulus_mpa")]
    assert value(stated["rate_n_per_mm"]) == pytest.approx(rate_n_per_mm(*size), rel=0.06)


def test_the_zones_of_a_spring_wound_in_steps_add_up_to_all_of_it():
    zoned = [part for part in PARTS if "zones" in part]
    assert zoned
    for spring in zoned:
        windings, gaps = (sum(column) for column in zip(*spring["zones"], strict=True))
        assert windings == pytest.approx(active_coils_of(spring["total_coils"], spring["forming"], spring["ends"]))
        assert gaps == pytest.approx(value(spring["free_length_mm"]) - solid(spring), abs=3.0)


def test_every_spring_is_wound_of_usual_wire():
    springs = [part for part in PARTS if part["kind"] == "coil_spring"]
    springs += [e["fitted"]["spring"] for e in ENVELOPES.values() if "spring" in e["fitted"]]
    assert all(13 <= value(spring["wire_mm"]) <= 19 for spring in springs)
