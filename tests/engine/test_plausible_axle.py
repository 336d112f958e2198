"""Axles and builds that cannot be true are refused: every fault at once, each where the request has it."""

from dataclasses import replace
from math import inf, nan

import pytest
from impossible import NEVER, WHOLE, bad_readings, plain
from known_readings import axle_readings, with_datum, without
from reference_axles import MACPHERSON, REFERENCES, WISHBONE, TapedAxle, part_of, station

from service.engine import (
    STANDARD,
    AxleEnvelope,
    Limit,
    Load,
    LoadItem,
    ProposedPart,
    Reading,
    RefusedError,
    Travel,
    assemble,
    check_envelope,
    compile_axle,
)
from service.engine.envelope import TargetLift
from service.engine.parts import LimitStrap, Strut, StrutTopSpacer


@pytest.mark.parametrize("layout", REFERENCES)
def test_impossible_numbers_of_an_axle(layout):
    axle = with_datum(REFERENCES[layout], "/travel/motion_ratio", Reading(0.6))
    attacked = 0
    for holder, prefix in ((axle.envelope, ""), (axle.masses, "/vehicle_masses")):
        for pointer, datum in bad_readings(holder, prefix):
            wrong = with_datum(axle, pointer, datum)
            faults = check_envelope(wrong.envelope, wrong.masses)
            assert [fault.pointer for fault in faults] == [pointer], datum
            assert all(plain(fault.detail) for fault in faults)
            with pytest.raises(RefusedError):
                compile_axle(*wrong, STANDARD)
            attacked += 1
    assert attacked > 6 * 35  # numbers of an axle, each in six ways


def faults_at(*stations, **envelope):
    return check_envelope(AxleEnvelope("wishbone_coilover", Travel(stations), **envelope))


SECOND_RIDE = station("ride", 500, 243)
DROOP, RIDE, BUMP = station("full_droop", 628, 318), station("ride", 544, 268), station("bump_contact", 462, 220)


@pytest.mark.parametrize(
    ("stations", "pointer", "words"),
    [
        ((), "/travel/stations", "at least one station"),
        ((DROOP, RIDE, BUMP, SECOND_RIDE), "/travel/stations/3/at", "two"),
        ((DROOP, station("ride")), "/travel/stations/1", "Nothing was taped"),
        ((DROOP, station("ride", 640), BUMP), "/travel/stations/1/arch_to_hub_mm", "must be less than at full droop"),
        (
            (station("bump_contact", 640), station("full_droop", 620)),
            "/travel/stations/1/arch_to_hub_mm", "bump contact (640 mm)",
        ),
        (
            (station("full_droop", None, 240), station("bump_contact", None, 260)),
            "/travel/stations/1/seat_gap_mm", "shrinks",
        ),
        (
            (station("full_droop", None, None, 480), station("ride", None, None, 500)),
            "/travel/stations/1/damper_length_mm", "shrinks",
        ),
        ((DROOP, BUMP, station("between", 462, 240)), "/travel/stations/2/arch_to_hub_mm", "arch-to-hub of 462 mm"),
        ((DROOP, BUMP, station("between", 430, 230)), "/travel/stations/1/seat_gap_mm", "must grow as the wheel drops"),
        ((DROOP, BUMP, station("between", 460, 190)), "/travel/stations/1/seat_gap_mm", "no strut does that"),
        ((DROOP, BUMP, station("between", 461, 219.95)), "/travel/stations/1/seat_gap_mm", "no strut does that"),
    ],
)  # fmt: skip
def test_stations_that_contradict_each_other(stations, pointer, words):
    faults = faults_at(*stations)
    assert pointer in [fault.pointer for fault in faults]
    assert words in next(fault for fault in faults if fault.pointer == pointer).detail
    assert all(plain(fault.detail) for fault in faults)


def test_equal_heights_at_named_stations():
    faults = faults_at(DROOP, station("bump_contact", 628, 220))
    assert "/travel/stations/1/arch_to_hub_mm" in {fault.pointer for fault in faults}
    assert all(fault.pointer.endswith("/arch_to_hub_mm") and plain(fault.detail) for fault in faults)


@pytest.mark.parametrize(
    "stations",
    [
        (DROOP, BUMP, station("ride", 544, None, 500), station("between", 544, 268)),
        (DROOP, BUMP, station("between", 462, None, 451)),
        (DROOP, BUMP, station("ride", 544, None, 552)),
        (DROOP, BUMP, station("ride", 544, None, 450)),
    ],
    ids=[
        "the same height",
        "the same height as bump contact",
        "longer than at full droop",
        "shorter than at bump contact",
    ],
)
def test_a_strut_length_that_contradicts_a_seat_gap(stations):
    """Strut length less seat offset is a seat gap too: 231 mm here."""
    fitted = replace(WISHBONE.envelope.fitted, spring=None, bump_stop=None)
    envelope = replace(WISHBONE.envelope, travel=Travel(stations), fitted=fitted)
    with pytest.raises(RefusedError):
        TapedAxle(envelope, None).record()


def test_a_wheel_that_weighs_more_than_its_axle_carries():
    heavy = with_datum(WISHBONE, "/unsprung_kg_per_wheel", Reading(505.0))  # two of them against 1003 kg
    assert check_envelope(heavy.envelope, heavy.masses)


def test_a_fitted_part_is_pointed_at_where_it_is():
    wrong = with_datum(WISHBONE, "/fitted/bump_stop/crushed_height_mm", Reading(80.0))
    assert [fault.pointer for fault in check_envelope(wrong.envelope)] == ["/fitted/bump_stop/crushed_height_mm"]


def refused(axle: TapedAxle, parts, load=None, **options) -> dict[str, str]:
    with pytest.raises(RefusedError) as refusal:
        assemble(compile_axle(*axle, STANDARD), parts, load, **options)
    return {fault.pointer: fault.detail for fault in refusal.value.faults}


def at(index: int, part, quantity: int = 1) -> ProposedPart:
    return ProposedPart(part, quantity, pointer=f"/parts/{index}/part")


@pytest.mark.parametrize(
    "kind", ["coil_spring", "strut", "bump_stop", "upper_arm", "differential_spacer", "limit_strap", "brake_hose"]
)
def test_two_of_what_a_wheel_holds_one_of(kind):
    faults = refused(WISHBONE, [at(0, WHOLE[kind]), at(1, WHOLE[kind])])
    assert list(faults) == ["/parts/1/part"]
    assert kind.replace("_", " ") in faults["/parts/1/part"]
    assert list(refused(WISHBONE, [at(0, WHOLE[kind], quantity=2)])) == ["/parts/0/quantity"]


@pytest.mark.parametrize("quantity", [0, -1, 21])
def test_an_impossible_quantity(quantity):
    faults = refused(WISHBONE, [at(0, WHOLE["strut_top_spacer"], quantity)])
    assert list(faults) == ["/parts/0/quantity"]
    assert plain(faults["/parts/0/quantity"])


@pytest.mark.parametrize(
    ("axle", "kind", "words"),
    [
        (MACPHERSON, "upper_arm", "no upper arm"),
        (WISHBONE, "damper", "separate damper"),
        (MACPHERSON, "damper", "separate damper"),
        (WISHBONE._replace(envelope=replace(WISHBONE.envelope, driven=False)), "differential_spacer", "not driven"),
    ],
)
def test_a_part_that_does_not_belong_to_the_axle(axle, kind, words):
    faults = refused(axle, [at(0, WHOLE[kind])])
    assert list(faults) == ["/parts/0/part/kind"]
    assert words in faults["/parts/0/part/kind"]
    assert plain(faults["/parts/0/part/kind"])


@pytest.mark.parametrize("bad", NEVER)
def test_impossible_loads_and_lifts(bad):
    item = LoadItem(Reading(bad), Reading(0.0))
    assert list(refused(WISHBONE, [], Load((item,)))) == ["/load/accessories/0/mass_kg"]
    placed = LoadItem(Reading(10.0), Reading(bad))
    assert list(refused(WISHBONE, [], Load((placed,)))) == ["/load/accessories/0/behind_front_axle_mm"]
    assert list(refused(WISHBONE, [], Load((), Reading(bad)))) == ["/load/occupants_kg"]
    assert list(refused(WISHBONE, [], target=TargetLift(Reading(bad)))) == ["/target_lift_mm"]


def test_all_faults_are_told_at_once():
    parts = [
        at(0, WHOLE["coil_spring"]),
        at(1, replace(WHOLE["coil_spring"], wire_mm=Reading(nan))),
        at(2, part_of(StrutTopSpacer, thickness_mm=-3), quantity=0),
        at(3, WHOLE["upper_arm"]),
    ]
    load = Load((LoadItem(Reading(-5.0), Reading(1e308)),), Reading(inf))
    faults = refused(MACPHERSON, parts, load, target=TargetLift(Reading(nan), nan))
    assert list(faults) == [
        "/parts/1/part/wire_mm",
        "/parts/1/part",
        "/parts/2/part/thickness_mm",
        "/parts/2/quantity",
        "/parts/3/part/kind",
        "/load/accessories/0/mass_kg",
        "/load/accessories/0/behind_front_axle_mm",
        "/load/occupants_kg",
        "/target_lift_mm",
        "/lift_tolerance_mm",
    ]
    assert all(plain(detail) for detail in faults.values())


def test_all_faults_of_an_axle_are_told_at_once():
    wrong = with_datum(
        with_datum(WISHBONE, "/fitted/spring/wire_mm", Reading(0.0)), "/vehicle_masses/wheelbase_mm", Reading(2.9)
    )
    wrong = with_datum(wrong, "/limits/inner_cv", Limit(Reading(6500.0)))
    with pytest.raises(RefusedError) as refusal:
        compile_axle(*wrong, STANDARD)
    assert {fault.pointer for fault in refusal.value.faults} == {
        "/fitted/spring/wire_mm", "/vehicle_masses/wheelbase_mm", "/limits/inner_cv/reached_at_arch_to_hub_mm",
    }  # fmt: skip


def test_nothing_is_wrong_with_what_is_merely_unknown():
    for axle in REFERENCES.values():
        for pointer in axle_readings(axle):
            sparse = without(axle, pointer)
            assert check_envelope(sparse.envelope, sparse.masses) == []


def test_a_wheel_needs_room_to_move():
    """A strap, or a strut, that holds the wheel above the point where its bump stop touches leaves no travel at all."""
    short = part_of(Strut, extended_length_mm=430, closed_length_mm=300, seat_offset_mm=231)
    for part in (part_of(LimitStrap, max_arch_to_hub_mm=430), short):
        try:
            verdict = WISHBONE.record([part])["verdict"]
        except RefusedError:
            continue
        assert verdict == "unsafe"
