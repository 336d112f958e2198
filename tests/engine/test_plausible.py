"""Parts that cannot be true are refused: with the field named, and in a fitter's words."""

import re
from dataclasses import fields, replace
from math import inf, nan

import pytest
from impossible import MAY_BE_ZERO, WHOLE, bad_readings, plain
from known_readings import put, readings_in
from reference_axles import WISHBONE, part_of

from service.engine import Reading, check_part
from service.engine.layouts import LAYOUTS
from service.engine.parts import (
    PART_KINDS,
    BumpStop,
    Damper,
    Strut,
    UpperArm,
)
from service.engine.plausible import RANGES, layout_fault, reading_faults
from service.engine.refusal import RefusedError

WRONG_ARTICLE = re.compile(r"\ba [aeiou]|\ban [^aeiou]", re.IGNORECASE)


def test_every_kind_of_part_is_attacked_with_all_its_numbers():
    assert set(WHOLE) == set(PART_KINDS)
    for part in WHOLE.values():
        assert check_part(part) == ()
        unstated = [f.name for f in fields(part) if getattr(part, f.name) is None]
        assert unstated in ([], ["force_table", "zones", "seating_coefficient"], ["ball_joint_mm"])


@pytest.mark.parametrize(
    ("kind", "pointer", "datum"), [(kind, *bad) for kind, part in WHOLE.items() for bad in bad_readings(part)]
)
def test_an_impossible_number_of_a_part(kind, pointer, datum):
    faults = check_part(put(WHOLE[kind], pointer.split("/")[1:], datum))
    assert [fault.pointer for fault in faults] == [pointer]
    assert all(plain(fault.detail) for fault in faults)


@pytest.mark.parametrize(
    ("field", "unit"),
    [("rate_n_per_mm", "N/mm"), ("wire_mm", "mm"), ("total_coils", "plain number"), ("tensile_strength_mpa", "MPa")],
)
def test_the_expected_range_is_told_in_its_own_unit(field, unit):
    (fault,) = check_part(replace(WHOLE["coil_spring"], **{field: Reading(-1.0)}))
    assert f"({unit})" in fault.detail


@pytest.mark.parametrize("kind", WHOLE)
@pytest.mark.parametrize("half_width", [nan, inf, -0.5, 1e308])
def test_an_impossible_half_width(kind, half_width):
    for pointer, stated in readings_in(WHOLE[kind]):
        if isinstance(stated, Reading):
            vague = Reading(stated.value, half_width)
            faults = check_part(put(WHOLE[kind], pointer.split("/")[1:], vague))
            assert [fault.pointer for fault in faults] == [f"{pointer}/plus_minus"], half_width
            assert all(plain(fault.detail) for fault in faults)


@pytest.mark.parametrize("field", sorted(MAY_BE_ZERO - {"target_lift_mm", "occupants_kg"}))
def test_zero_where_zero_is_sensible(field):
    kind = next(kind for kind, part in WHOLE.items() if getattr(part, field, None) is not None)
    zero = 0.0 if field == "wire_tolerance_mm" else Reading(0.0)
    assert check_part(replace(WHOLE[kind], **{field: zero})) == ()


def test_what_a_part_must_state():
    for kind, part in WHOLE.items():
        bare = type(part)()
        named = {fault.pointer for fault in check_part(bare)}
        assert check_part(bare, complete=False) == ()
        must = {
            "strut": 3,
            "damper": 2,
            "coil_spring": 3,
            "bump_stop": 2,
            "accessory": 2,
            "upper_arm": 0,
            "torsion_bar": 4,
            "leaf_pack": 3,
            "tyre": 2,
        }.get(kind, 1)
        assert len(named) == must, kind


def faults_of_spring(**changed):
    return check_part(replace(WHOLE["coil_spring"], **changed))


def table(*points):
    return {"rate_n_per_mm": None, "force_table": points}


@pytest.mark.parametrize(
    ("changed", "pointer", "words"),
    [
        (table((0.0, 0.0), (50.0, 3000.0), (100.0, 2900.0)), "/force_table/2", "3000 N is followed by 2900 N"),
        (table((0.0, 0.0), (50.0, 3000.0), (50.0, 3100.0)), "/force_table/2", "50 mm is followed by 50 mm"),
        (table((0.0, 0.0), (50.0, 3000.0), (40.0, 3100.0)), "/force_table/2", "50 mm is followed by 40 mm"),
        (table((0.0, 0.0), (50.0, 3000.0), (60.0, 3000.0)), "/force_table/2", "3000 N is followed by 3000 N"),
        (table((0.0, 100.0), (50.0, 3000.0)), "/force_table/0", "not pressed has no force"),
        (table((10.0, 0.0), (50.0, 3000.0)), "/force_table/0", "pressed has some"),
        (table((0.0, 0.0), (50.0, nan)), "/force_table/1", "0 to 1500 mm"),
        (table((0.0, 0.0), (inf, 500.0)), "/force_table/1", "0 to 1500 mm"),
        (table((0.0, 0.0), (50.0, 1e308)), "/force_table/1", "0 to 1500 mm"),
        (table((-5.0, 10.0), (50.0, 300.0)), "/force_table/0", "0 to 1500 mm"),
        (table((0.0, 0.0)), "/force_table", "2 to 200 points"),
        ({"rate_n_per_mm": None, "mean_diameter_mm": None}, "/rate_n_per_mm", "needs a rate"),
        ({"force_table": ((0.0, 0.0), (50.0, 3000.0))}, "/force_table", "one of them"),
        ({"free_length_mm": Reading(125.0), "solid_length_mm": None}, "/free_length_mm", "9 windings of 14 mm"),
        ({"solid_length_mm": Reading(380.0)}, "/solid_length_mm", "less than the free length"),
        ({"active_coils": Reading(9.5)}, "/active_coils", "more active windings"),
        ({"mean_diameter_mm": Reading(27.0)}, "/mean_diameter_mm", "twice the wire"),
    ],
)
def test_a_spring_that_contradicts_itself(changed, pointer, words):
    faults = faults_of_spring(**changed)
    assert [fault.pointer for fault in faults] == [pointer]
    assert words in faults[0].detail
    assert plain(faults[0].detail)


def test_an_empty_force_table():
    assert "/force_table" in {fault.pointer for fault in faults_of_spring(**table())}


def test_closed_ends_leave_some_windings_that_work():
    """1.75 windings of which 2 are closed: fewer than none would be active, and no gap at all would be asked for."""
    assert faults_of_spring(total_coils=Reading(1.75), active_coils=None, solid_length_mm=None)


@pytest.mark.parametrize(
    ("part", "pointer", "words"),
    [
        (
            part_of(Strut, extended_length_mm=500, closed_length_mm=500, seat_offset_mm=200),
            "/closed_length_mm",
            "shorter",
        ),
        (part_of(Damper, extended_length_mm=400, closed_length_mm=420), "/closed_length_mm", "shorter than extended"),
        (
            part_of(Strut, extended_length_mm=500, closed_length_mm=400, seat_offset_mm=500),
            "/seat_offset_mm",
            "no room",
        ),
        (part_of(BumpStop, free_height_mm=50, crushed_height_mm=50), "/crushed_height_mm", "lower than free"),
        (part_of(BumpStop, free_height_mm=50, crushed_height_mm=61), "/crushed_height_mm", "(61 mm)"),
    ],
)
def test_a_part_that_contradicts_itself(part, pointer, words):
    faults = check_part(part)
    assert [fault.pointer for fault in faults] == [pointer]
    assert words in faults[0].detail
    assert plain(faults[0].detail)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_what_does_not_belong_to_an_axle_is_named_behind_its_article(layout):
    said = [layout_fault(part, layout, driven=True) for part in WHOLE.values()]
    assert [each for each in said if each and WRONG_ARTICLE.search(each)] == []


def test_a_reading_that_says_nothing_is_named_behind_its_article():
    for field, (least, most, _) in RANGES.items():
        for half_width in (most, 2.0 * most):
            faults = list(reading_faults(field, Reading(max(least, 0.5 * most), half_width), "/x"))
            assert not any(WRONG_ARTICLE.search(fault.detail) for fault in faults), field


def test_a_part_that_is_there_twice_is_named_behind_its_article():
    with pytest.raises(RefusedError, match="There is an upper arm in this build already"):
        WISHBONE.build([UpperArm(), UpperArm()])
