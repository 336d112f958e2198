"""From JSON to the engine's values: every field that the API takes arrives."""

from dataclasses import fields
from typing import get_args

import pytest

from service.api.schemas import axle, evaluation, parts, vehicle
from service.catalogue.engine_values import engine_part, engine_value, reading
from service.engine.envelope import (
    JOINTS,
    AxleEnvelope,
    Fitted,
    HardPoints,
    Limit,
    LoadItem,
    Station,
    Travel,
    VehicleMasses,
)
from service.engine.parts import PART_KINDS, BumpStop, CoilSpring, Strut
from service.engine.reading import Reading


def test_an_envelope_arrives_whole():
    body = {
        "layout": "macpherson",
        "driven": False,
        "bump_stop_on": "damper_rod",
        "travel": {
            "grade": "taped",
            "stations": [{"at": "ride", "seat_gap_mm": {"value": 280, "plus_minus": 1}}, {"at": "between"}],
            "motion_ratio": 0.95,
            "bump_stop_ratio": None,
        },
        "fitted": {
            "spring": {
                "kind": "coil_spring",
                "ends": "open",
                "force_table": [[0, 0], [50, 900.5]],
                "wire_tolerance_mm": 0,
            },
            "strut": {"kind": "strut", "closed_length_mm": 380},
            "bump_stop": {"kind": "bump_stop"},
        },
        "limits": {"inner_cv": {"reached_at_arch_to_hub_mm": 600}, "outer_cv": {}, "brake_hose": None},
        "unsprung_kg_per_wheel": 41,
    }
    assert engine_value(AxleEnvelope, body) == AxleEnvelope(
        layout="macpherson",
        driven=False,
        bump_stop_on="damper_rod",
        travel=Travel(
            (Station("ride", seat_gap_mm=Reading(280.0, 1.0)), Station("between")), motion_ratio=Reading(0.95)
        ),
        fitted=Fitted(
            CoilSpring(ends="open", force_table=((0.0, 0.0), (50.0, 900.5)), wire_tolerance_mm=0.0),
            Strut(closed_length_mm=Reading(380.0)),
            BumpStop(),
        ),
        limits={"inner_cv": Limit(Reading(600.0)), "outer_cv": Limit()},
        unsprung_kg_per_wheel=Reading(41.0),
    )


@pytest.mark.parametrize(
    ("schema", "value", "only_in_schema"),
    [
        (axle.AxleEnvelope, AxleEnvelope, set()),
        (axle.HardPoints, HardPoints, set()),
        (axle.Station, Station, set()),
        (axle.Fitted, Fitted, set()),
        (axle.FittedSpring, CoilSpring, {"kind"}),
        (axle.FittedStrut, Strut, {"kind"}),
        (axle.FittedBumpStop, BumpStop, {"kind"}),
        (axle.Limit, Limit, set()),
        (vehicle.VehicleMasses, VehicleMasses, set()),
        (evaluation.InlineAccessory, LoadItem, set()),
    ],
)
def test_schema_and_engine_name_the_same_fields(schema, value, only_in_schema):
    assert set(schema.model_fields) - only_in_schema == {field.name for field in fields(value)}


def test_both_grades_of_travel_are_the_engines():
    told = set(axle.TapedTravel.model_fields) | set(axle.SurveyedTravel.model_fields)
    assert told - {"grade"} == {field.name for field in fields(Travel)}


def test_schema_and_engine_know_the_same_joints_and_kinds():
    assert tuple(axle.Limits.model_fields) == JOINTS
    assert set(get_args(parts.Kind)) == set(PART_KINDS)
    for model in get_args(get_args(parts.Part)[0]):
        (kind,) = get_args(model.model_fields["kind"].annotation)
        assert set(model.model_fields) - {"kind"} == {field.name for field in fields(PART_KINDS[kind])}


def test_a_part_becomes_its_kind():
    assert engine_part({"kind": "bump_stop", "free_height_mm": 50, "sku": "X"}) == BumpStop(Reading(50.0))


def test_a_reading_keeps_its_half_width():
    assert reading(5) == Reading(5.0)
    assert reading({"value": 5, "plus_minus": 0}) == Reading(5.0, 0.0)
