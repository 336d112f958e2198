"""The readings that a margin's uncertainty comes from: shares of its variance, found again one reading at a time."""

from dataclasses import fields, is_dataclass, replace
from types import NoneType, UnionType
from typing import Union, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from beam_axles import BEAMS, COIL
from known_readings import axle_readings, with_datum
from reference_axles import REFERENCES, checks_of, part_of, proposed
from surveyed_axles import SURVEYED, at

from service.engine import AxleEnvelope, Load, LoadItem, Reading, VehicleMasses, assemble, evaluate
from service.engine.parts import (
    PART_KINDS,
    BumpStopSpacer,
    CoilSpring,
    DifferentialSpacer,
    LeafBlock,
    SpringSpacer,
    StrutTopSpacer,
    TorsionBar,
    UpperArm,
)

LOAD = Load((LoadItem(Reading(180.0), Reading(2600.0)),), Reading(150.0))
AXLES = {**REFERENCES, **BEAMS, **{f"surveyed {layout}": axle for layout, axle in SURVEYED.items()}}
PARTS = {
    "wishbone_coilover": [part_of(StrutTopSpacer, thickness_mm=9), part_of(DifferentialSpacer, drop_mm=10)],
    "macpherson": [part_of(StrutTopSpacer, thickness_mm=9), part_of(BumpStopSpacer, thickness_mm=6)],
    "solid_axle_coil": [part_of(SpringSpacer, thickness_mm=15)],
    "solid_axle_leaf": [part_of(LeafBlock, height_mm=25)],
    "wishbone_torsion_bar": [
        part_of(TorsionBar, diameter_mm=28, active_length_mm=1180, arm_length_mm=385, shear_modulus_mpa=78_500,
                permissible_stress_mpa=850, adjusted_ride_arch_to_hub_mm=540),
    ],
    "surveyed wishbone_coilover": [
        part_of(StrutTopSpacer, thickness_mm=9),
        part_of(UpperArm, ball_joint_max_angle_deg=38, ball_joint_mm=at(-22, 658, 216)),
    ],
    "surveyed macpherson": [part_of(StrutTopSpacer, thickness_mm=9), part_of(DifferentialSpacer, drop_mm=10)],
}  # fmt: skip
CASES = [(name, built) for name in AXLES for built in (False, True)]


def record_of(name: str, built: bool):
    return AXLES[name].record(PARTS[name] if built else [], LOAD if built else None)


def told(record):
    for check in record["checks"]:
        for each in check["details"].get("uncertainty_from", []):
            yield check, each["reading"], each["share"]


@pytest.mark.parametrize(("name", "built"), CASES)
def test_shares_are_of_one_whole_and_greatest_first(name, built):
    for check in record_of(name, built)["checks"]:
        shares = [each["share"] for each in check["details"].get("uncertainty_from", [])]
        assert len(shares) <= 3
        assert sum(shares) <= 1.0 + 2e-3
        assert shares == sorted(shares, reverse=True)
        assert all(0.0 < share <= 1.0 for share in shares)
        if check["standard_uncertainty"] is not None:
            assert bool(shares) == (check["standard_uncertainty"] > 0.0), (check["check"], shares)


@pytest.mark.parametrize("name", AXLES)
def test_the_variance_falls_by_its_share_once_a_reading_is_certain(name):
    """Each reading that is named is made certain in turn; what a survey leaves out may shift 2 %.

    Not for a lock: it is followed by whole steps of many readings together, and its shares are rough.
    """
    axle, record = AXLES[name], record_of(name, built=False)
    readings = axle_readings(axle)
    named = {(check["check"], reading): (check, share) for check, reading, share in told(record)}
    compared = 0
    for reading in sorted({reading for _, reading in named}):
        pointer = reading.removeprefix("/axle")
        if not isinstance(readings.get(pointer), Reading):
            continue
        surer = checks_of(with_datum(axle, pointer, Reading(readings[pointer].value, 0.0)).record())
        for check, share in (both for (_, other), both in named.items() if other == reading):
            now = surer[check["check"]]
            if check["check"] == "linkage_lock":
                continue
            if check["standard_uncertainty"] and (now["at"], now["quantity"]) == (check["at"], check["quantity"]):
                before, after = (each["standard_uncertainty"] ** 2 for each in (check, now))
                assert (before - after) / before == pytest.approx(share, abs=0.02), (check["check"], reading)
                compared += 1
    assert compared > 5


def test_shares_of_a_proposed_part():
    parts = PARTS["solid_axle_coil"]
    check = checks_of(COIL.record(parts))["coil_bind"]
    shares = {each["reading"]: each["share"] for each in check["details"]["uncertainty_from"]}
    sure = [replace(parts[0], thickness_mm=Reading(15.0, 8.0))]
    vague = checks_of(COIL.record(sure))["coil_bind"]
    most = vague["details"]["uncertainty_from"][0]
    assert "spring_spacer" in most["reading"]
    added = vague["standard_uncertainty"] ** 2 - check["standard_uncertainty"] ** 2
    assert added == pytest.approx((8.0**2 - 1.0) / 3.0, rel=1e-3)
    assert most["share"] == pytest.approx(8.0**2 / 3.0 / vague["standard_uncertainty"] ** 2, abs=2e-3)
    assert shares


def held_by(kind, steps: list[str]) -> bool:
    """Whether a value of this type has a place at ``steps``."""
    if not steps:
        return True
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return any(held_by(each, steps) for each in get_args(kind) if each is not NoneType)
    if origin is tuple:
        return steps[0].isdigit() and held_by(get_args(kind)[0], steps[1:])
    if origin is dict:
        return held_by(get_args(kind)[1], steps[1:])
    if not is_dataclass(kind) or steps[0] not in {field.name for field in fields(kind)}:
        return False
    return held_by(get_type_hints(kind)[steps[0]], steps[1:])


def has_a_place(reading: str) -> bool:
    """Whether the request holds what is named: below the axle, its masses, a kind of part, the load or the lift."""
    root, *steps = reading.split("/")[1:] or [""]
    if root == "axle" and steps[:1] == ["vehicle_masses"]:
        return held_by(VehicleMasses, steps[1:])
    if root == "axle":
        return held_by(AxleEnvelope, steps)
    if root == "parts":
        return held_by(PART_KINDS[steps[0]], steps[1:])
    return reading in ("/load", "/target_lift_mm")


BEYOND = ("the travel beyond the stations towards bump", "the travel beyond the stations towards droop")


@pytest.mark.parametrize(("name", "built"), CASES)
def test_what_is_named_has_a_place_in_the_request(name, built):
    named = {reading for _, reading, _ in told(record_of(name, built))}
    assert named
    assert not [reading for reading in named if reading not in BEYOND and not has_a_place(reading)]


@pytest.mark.parametrize("field", ["rear_axle_rating_kg"])
def test_a_rating_that_is_not_sure_is_named_as_it_stands_in_the_request(field):
    masses = replace(COIL.masses, **{field: Reading(getattr(COIL.masses, field).value, 400.0)})
    record = COIL._replace(masses=masses).record([], LOAD)
    shares = {reading for check, reading, _ in told(record) if check["check"] == "axle_rating"}
    assert f"/axle/vehicle_masses/{field}" in shares


def test_a_batch_names_the_same_readings_as_its_builds_alone():
    axle = AXLES["surveyed wishbone_coilover"]
    made = [axle.build(PARTS["surveyed wishbone_coilover"][:1])]
    spring = part_of(CoilSpring, wire_mm=15, total_coils=9, free_length_mm=420, rate_n_per_mm=55)
    made.append(assemble(made[0].axle.axle, proposed([spring])))
    together = evaluate(made)
    for index, build in enumerate(made):
        alone = list(told(evaluate([build]).record(0)))
        for (check, reading, share), (other, same, again) in zip(alone, told(together.record(index)), strict=True):
            assert (check["check"], reading) == (other["check"], same)
            assert share == pytest.approx(again, abs=2e-3)
    assert np.isfinite([share for _, _, share in told(together.record(0))]).all()
