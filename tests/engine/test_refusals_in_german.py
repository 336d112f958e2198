"""What a counter user's build, part or reading may be refused for is said in German too, with the same numbers."""

import re
from dataclasses import replace
from math import inf, nan
from string import Formatter

import pytest
from impossible import WHOLE, bad_readings
from reference_axles import MACPHERSON, REFERENCES, WISHBONE, part_of, station

from service.counter.language.german_refusals import (
    GERMAN_LAYOUTS,
    GERMAN_QUANTITIES,
    GERMAN_REFUSALS,
    GERMAN_SPANS,
    GERMAN_STATIONS,
)
from service.counter.language.reader import Reader
from service.counter.language.sentences import said_fault
from service.engine import AxleEnvelope, Reading, RefusedError, Travel, check_envelope, check_part
from service.engine.layouts import LAYOUTS
from service.engine.parts import BumpStop, CoilSpring, DifferentialSpacer, LimitStrap, Strut, UpperArm
from service.engine.plausible import RANGES, layout_fault
from service.engine.plausible_axle import WORDS

GERMAN = Reader("de")


def numbers(text):
    """Every number of a text, in whichever way of writing it."""
    return sorted(re.findall(r"\d+(?:\.\d+)?", text.replace(",", ".")))


def stays_english(details):
    spoken = {detail: said_fault(detail, GERMAN) for detail in details}
    assert all(numbers(each.text) == numbers(detail) for detail, each in spoken.items() if each.language == "de")
    return [detail for detail, each in spoken.items() if each.language != "de"]


def fields(template):
    return {name for _, name, _, _ in Formatter().parse(template) if name}


def test_every_template_keeps_its_numbers_and_names():
    for english, german in GERMAN_REFUSALS.items():
        assert fields(german) <= fields(english), english
        assert fields(english) - fields(german) <= {"article", "article2", "pattern"}, english


def test_the_engines_words_have_german_ones():
    assert GERMAN_QUANTITIES.keys() == {what for _, _, what in RANGES.values()}
    assert GERMAN_LAYOUTS.keys() == {traits.called for traits in LAYOUTS.values()}
    assert GERMAN_STATIONS.keys() == set(WORDS.values())
    assert {"arch-to-hub", "seat gap", "strut length"} <= GERMAN_SPANS.keys()


def test_impossible_numbers_of_parts_and_axles():
    details = [
        fault.detail
        for part in WHOLE.values()
        for pointer, datum in bad_readings(part)
        for fault in check_part(put_in(part, pointer, datum))
    ]
    for axle in REFERENCES.values():
        for name in ("arch_to_hub_mm", "seat_gap_mm"):
            for value in (nan, inf, -3.0, 1e308, 0.001, 1234567.0):
                at = replace(axle.envelope.travel.stations[0], **{name: Reading(value)})
                wrong = replace(axle.envelope, travel=replace(axle.envelope.travel, stations=(at,)))
                details += [fault.detail for fault in check_envelope(wrong, axle.masses)]
    assert len(set(details)) > 200
    assert stays_english(details) == []


def put_in(part, pointer, datum):
    return replace(part, **{pointer.strip("/"): datum})


def test_parts_that_have_no_place_on_an_axle():
    details = [layout_fault(part, layout, driven=False) for layout in LAYOUTS for part in WHOLE.values()]
    details = [detail for detail in details if detail]
    assert len(details) > 20
    assert stays_english(details) == []
    assert layout_fault(DifferentialSpacer(), "macpherson", driven=False) in details


def test_parts_that_contradict_themselves():
    spring = WHOLE["coil_spring"]
    wrong = [
        replace(spring, free_length_mm=Reading(100.0)),
        replace(spring, solid_length_mm=Reading(400.0)),
        replace(spring, active_coils=Reading(10.0)),
        replace(spring, total_coils=Reading(2.0), active_coils=None),
        replace(spring, mean_diameter_mm=Reading(25.0)),
        replace(spring, force_table=((10.0, 100.0), (20.0, 300.0))),
        replace(spring, rate_n_per_mm=None, mean_diameter_mm=None),
        replace(spring, rate_n_per_mm=None, mean_diameter_mm=None, zones=((3.0, 30.0),)),
        replace(spring, wire_mm=None),
        part_of(Strut, extended_length_mm=400, closed_length_mm=410, seat_offset_mm=20),
        part_of(Strut, extended_length_mm=400, closed_length_mm=300, seat_offset_mm=420),
        part_of(BumpStop, free_height_mm=40, crushed_height_mm=50),
    ]
    found = [[fault.detail for fault in check_part(part)] for part in wrong]
    assert all(found)
    assert stays_english([detail for details in found for detail in details]) == []


def test_parts_that_do_not_go_together():
    details = []
    for axle, parts in (
        (WISHBONE, [UpperArm(), UpperArm()]),
        (WISHBONE, [(WHOLE["bump_stop"], 2)]),
        (WISHBONE, [(WHOLE["strut_top_spacer"], 30)]),
        (WISHBONE, [part_of(LimitStrap, max_arch_to_hub_mm=60)]),
        (MACPHERSON, [part_of(Strut, extended_length_mm=300, closed_length_mm=200, seat_offset_mm=20)]),
        (WISHBONE, [part_of(CoilSpring, wire_mm=14)]),
    ):
        with pytest.raises(RefusedError) as refused:
            axle.build(parts)
        details += [fault.detail for fault in refused.value.faults]
    assert stays_english(details) == []


def test_readings_of_an_axle_that_contradict_each_other():
    droop, ride, bump = station("full_droop", 628, 318), station("ride", 544, 268), station("bump_contact", 462, 220)
    for stations in (
        (),
        (droop, ride, bump, station("ride", 500, 243)),
        (droop, station("ride")),
        (droop, station("ride", 640), bump),
        (station("full_droop", None, 240), station("bump_contact", None, 260)),
        (station("full_droop", None, None, 480), station("ride", None, None, 500)),
        (droop, bump, station("between", 462, 240)),
        (droop, bump, station("between", 430, 230)),
        (droop, bump, station("between", 460, 190)),
        (station("full_droop", None, 240), station("between", None, 240.2)),
    ):
        details = [each.detail for each in check_envelope(AxleEnvelope("wishbone_coilover", Travel(stations)))]
        assert details
        assert stays_english(details) == []
    heavy = replace(WISHBONE.envelope, unsprung_kg_per_wheel=Reading(900.0))
    details = [each.detail for each in check_envelope(heavy, WISHBONE.masses, "front")]
    assert details
    assert stays_english(details) == []
