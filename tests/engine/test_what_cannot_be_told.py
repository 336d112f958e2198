"""Builds and axles on which an unknown, or a reading that contradicts another, once came out as clear."""

from dataclasses import replace

import numpy as np
import pytest
from beam_axles import BAR, COIL, LEAF, taped
from known_readings import with_datum, without
from reference_axles import WISHBONE, checks_of, part_of, station

from service.engine import AxleEnvelope, Limit, Load, Reading, Station, Travel
from service.engine.brought import brought_by
from service.engine.loads import STANDARD_GRAVITY
from service.engine.parts import (
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    Damper,
    DifferentialSpacer,
    LeafBlock,
    LimitStrap,
    SpringSpacer,
)
from service.engine.plausible_axle import check_envelope
from service.engine.rows import Rows
from service.engine.wheel_force import weight_n, wheel_force


def position(record, name):
    return next(each for each in record["positions"] if each["at"] == name)


def test_a_droop_that_nothing_is_known_to_end_is_not_known():
    axle = LEAF._replace(envelope=AxleEnvelope("solid_axle_leaf", Travel((taped("ride", 520),))), masses=None)
    record = axle.record([part_of(LeafBlock, height_mm=20)])
    assert record["verdict"] == "undetermined"
    assert position(record, "full_droop")["arch_to_hub_mm"] is None


@pytest.mark.parametrize(
    "parts",
    [
        [part_of(BumpStopSpacer, thickness_mm=120)],
        [part_of(BumpStop, free_height_mm=180, crushed_height_mm=160)],
        [part_of(LimitStrap, max_arch_to_hub_mm=530), part_of(BumpStopSpacer, thickness_mm=60)],
    ],
)
def test_a_stop_that_is_pressed_all_the_time_is_unsafe(parts):
    record = WISHBONE.record(parts)
    check = checks_of(record)["damper_bottoming"]
    droop, contact = (position(record, name)["arch_to_hub_mm"]["value"] for name in ("full_droop", "bump_contact"))
    assert contact > droop
    assert (record["verdict"], check["outcome"], check["at"]) == ("unsafe", "unsafe", "bump_contact")
    assert check["margin"] == pytest.approx(droop - contact, abs=1e-3)
    assert "no travel is left" in check["because"]


def on_two_scales(*stations: Station):
    """A solid axle of which spring and damper were not taped at the same stations."""
    return COIL._replace(envelope=replace(COIL.envelope, travel=replace(COIL.envelope.travel, stations=stations)))


def test_spring_and_damper_are_placed_by_the_same_arch_to_hub():
    apart = on_two_scales(
        taped("full_droop", 642, None, 604), taped("ride", None, 241), taped("bump_contact", 463, None, 442)
    )
    record = apart.record([part_of(SpringSpacer, thickness_mm=40)])
    assert checks_of(record)["coil_bind"]["outcome"] == "undetermined"
    assert position(record, "bump_contact")["seat_gap_mm"] is None


@pytest.mark.parametrize("of", ["seat_gap_mm", "damper_length_mm"])
def test_a_station_that_both_have_places_the_one_without_arch_to_hub(of):
    """The gap at bump contact is what was taped there, whichever of the two was taped with arch-to-hub."""
    whole = [taped("full_droop", 642, 334, 604), taped("bump_contact", 463, 172, 442)]
    other = {"seat_gap_mm": "damper_length_mm", "damper_length_mm": "seat_gap_mm"}[of]
    split = [*(replace(each, **{of: None}) for each in whole), taped("ride", None, 241, 514.5)]
    record = on_two_scales(*split).record()
    known = position(record, "ride")
    assert known["arch_to_hub_mm"]["value"] == pytest.approx(541, abs=8.0)
    assert known[of]["value"] == pytest.approx({"seat_gap_mm": 241.0, "damper_length_mm": 514.5}[of], abs=1e-3)
    assert position(record, "bump_contact")[other]["value"] == pytest.approx(getattr(whole[1], other).value, abs=1e-3)


def test_a_ratio_that_the_spring_alone_needs_is_told():
    record = on_two_scales(
        taped("full_droop", 642, None, 604), taped("ride", 541, 241, 514.5), taped("bump_contact", 463, None, 442)
    ).record()
    assert any("motion ratio was not measured" in sentence for sentence in record["assumptions"])


@pytest.mark.parametrize(
    ("stations", "pointer"),
    [
        (
            (station("full_droop", 628, 318), station("between", None, 230), station("between", None, 230)),
            "seat_gap_mm",
        ),
        ((taped("between", 500, None, None, 12), taped("between", 500, None, None, 6)), "arch_to_hub_mm"),
    ],
)
def test_two_stations_at_one_place_are_refused(stations, pointer):
    faults = check_envelope(AxleEnvelope("wishbone_coilover", Travel(stations)))
    assert any(fault.pointer.endswith(pointer) and "or nearly" in fault.detail for fault in faults)


def test_a_tyres_gap_says_nothing_where_no_span_has_its_arch_to_hub():
    stations = (
        taped("full_droop", None, 334, 604), taped("bump_contact", None, 172, 442),
        taped("between", 500, None, None, 12), taped("between", 560, None, None, 30),
    )  # fmt: skip
    assert checks_of(on_two_scales(*stations).record())["tyre_clearance"]["margin"] is None


def balance(axle, record, load_kg=0.0):
    """What the forces at the wheel lack of the weight, N, at the ride that the record tells."""
    build = axle.build(load=Load(occupants_kg=Reading(load_kg))) if load_kg else axle.build()
    rows = Rows(brought_by([build]))
    height = np.full((1, 1), position(record, "ride")["arch_to_hub_mm"]["value"])
    at_ride = wheel_force(rows, height, slice(0, 1), np.zeros(1, dtype=np.intp))
    return float((at_ride.force_n - weight_n(rows)[:, :1])[0, 0])


@pytest.mark.parametrize("arm_mm", [150.0, 190.0, 260.0, 385.0])
def test_a_short_torsion_bar_arm_rides_where_its_forces_balance(arm_mm):
    """Statics: at the ride under load the bar's force at the wheel is the weight on it."""
    axle = without(with_datum(BAR, "/fitted/torsion_bar/arm_length_mm", Reading(arm_mm)), "/fitted/damper/gas_force_n")
    record = axle.record(load=Load(occupants_kg=Reading(150.0)))
    assert record["lift_mm"]["value"] < -1.0
    assert balance(axle, record, 150.0) == pytest.approx(0.0, abs=0.01 * STANDARD_GRAVITY)


def test_masses_that_the_spring_cannot_carry_give_no_lift():
    """As when pounds were entered for kilograms: nothing is known of the ride, and it is not called 0 +-0."""
    masses = WISHBONE.masses
    heavy = WISHBONE._replace(masses=replace(masses, front_axle_kg=Reading(2.2 * masses.front_axle_kg.value)))
    record = heavy.record([part_of(CoilSpring, free_length_mm=400, rate_n_per_mm=60, wire_mm=15, total_coils=9)])
    assert record["lift_mm"] is None
    assert any("carries" in sentence for sentence in record["assumptions"])


def test_a_spring_that_carries_the_vehicle_nowhere_leaves_it_on_its_stops():
    record = WISHBONE.record([part_of(CoilSpring, free_length_mm=372, rate_n_per_mm=5, wire_mm=12, total_coils=10)])
    assert position(record, "ride")["arch_to_hub_mm"] == position(record, "bump_contact")["arch_to_hub_mm"]


def test_a_longer_damper_lets_leaves_hang_as_low_as_they_will():
    """The factory's damper is out to its end at the taped droop: where the leaves hang by themselves was never seen."""
    held = with_datum(LEAF, "/fitted/damper/extended_length_mm", Reading(611.0))
    longer = held.record([part_of(Damper, extended_length_mm=720, closed_length_mm=368)])
    droop = position(longer, "full_droop")["arch_to_hub_mm"]["value"]
    camber = position(longer, "full_droop")["seat_gap_mm"]["value"]
    assert droop > 638.0 + 20.0
    assert camber == pytest.approx(152.0 + 96.0 * STANDARD_GRAVITY / 36.0, abs=1e-3)  # Hooke, by hand
    free = LEAF.record([part_of(Damper, extended_length_mm=720, closed_length_mm=368)])
    assert position(free, "full_droop")["arch_to_hub_mm"]["value"] == 638.0  # there they were seen to hang free


@pytest.mark.parametrize(("drop_mm", "outcome"), [(25, "clear"), (30, "clear"), (60, "undetermined")])
def test_a_differential_that_is_lowered_further_than_usual_is_looked_at_in_bump(drop_mm, outcome):
    record = WISHBONE.record([part_of(DifferentialSpacer, drop_mm=drop_mm)])
    check = checks_of(record)["inner_cv"]
    assert check["outcome"] == outcome
    asked = {each["field"] for each in record["missing"]}
    assert ("/axle/limits/inner_cv/reached_in_bump_at_arch_to_hub_mm" in asked) == (outcome == "undetermined")


@pytest.mark.parametrize(("bound_at_mm", "outcome"), [(300.0, "clear"), (380.0, "unsafe")])
def test_a_known_range_in_bump_is_used_up_by_the_drop(bound_at_mm, outcome):
    limits = {**WISHBONE.envelope.limits, "inner_cv": Limit(Reading(700.0), Reading(bound_at_mm))}
    axle = WISHBONE._replace(envelope=replace(WISHBONE.envelope, limits=limits))
    record = axle.record([part_of(DifferentialSpacer, drop_mm=60)])
    check, bump = checks_of(record)["inner_cv"], position(record, "full_bump")["arch_to_hub_mm"]["value"]
    assert check["outcome"] == outcome
    if check["at"] == "full_bump":
        assert check["margin"] == pytest.approx(bump - bound_at_mm - 60.0, abs=1e-3)


def test_an_axle_lighter_than_its_own_wheels_is_refused():
    masses = replace(LEAF.masses, rear_axle_kg=Reading(150.0))
    pointers = [fault.pointer for fault in check_envelope(LEAF.envelope, masses, "rear")]
    assert pointers == ["/unsprung_kg_per_wheel"]
    assert check_envelope(LEAF.envelope, masses, "front") == []


def test_occupants_of_unknown_mass_are_a_load():
    record = WISHBONE.record(load=Load(occupants_kg=Reading(0.0, 500.0)))
    assert checks_of(record)["axle_rating"]["standard_uncertainty"] > 100.0
