"""Every number that a request can hold, given every value that it cannot have: refused by name, never a failure.

The fields are found by walking the schemas, so a new one is tested or makes this file fail.
"""

import json
from copy import deepcopy
from itertools import count
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
from pydantic import BaseModel

import service.catalogue
from service.api.schemas.catalogued_parts import CataloguedPart
from service.api.schemas.evaluation import EvaluationRequest
from service.api.schemas.parts import Kind
from service.api.schemas.values import Measured
from service.api.schemas.vehicle import Vehicle

NUMBERS = count(1)
NEVER = {"NaN": "NaN", "infinity": "Infinity", "text": '"12"', "boolean": "true", "1e308": "1e308", "list": "[]"}
SOMETIMES = {"zero": "0", "negative": "-1"}

SPRING = {
    "kind": "coil_spring",
    "wire_mm": 16,
    "total_coils": 10,
    "free_length_mm": 392,
    "active_coils": 8,
    "mean_diameter_mm": 104,
    "solid_length_mm": 170,
    "wire_tolerance_mm": 0.05,
    "shear_modulus_mpa": 79_000,
    "tensile_strength_mpa": 1900,
}
RATED = {**SPRING, "rate_n_per_mm": 70, "seating_coefficient": 0.5}
ZONED = {**SPRING, "zones": [[3, 30], [5, 150]]}
TABLED = {**SPRING, "force_table": [[50, 3400], [120, 8600]]}
PARTS = {
    "coil_spring": [RATED, TABLED, ZONED],
    "strut": [
        {"kind": "strut", "extended_length_mm": 550, "closed_length_mm": 390, "seat_offset_mm": 215, "gas_force_n": 150}
    ],
    "damper": [{"kind": "damper", "extended_length_mm": 550, "closed_length_mm": 390, "gas_force_n": 150}],
    "strut_top_spacer": [{"kind": "strut_top_spacer", "thickness_mm": 10}],
    "spring_spacer": [{"kind": "spring_spacer", "thickness_mm": 10}],
    "bump_stop": [{"kind": "bump_stop", "free_height_mm": 60, "crushed_height_mm": 30}],
    "bump_stop_spacer": [{"kind": "bump_stop_spacer", "thickness_mm": 10}],
    "upper_arm": [
        {
            "kind": "upper_arm", "ball_joint_max_angle_deg": 25, "ball_joint_reached_at_arch_to_hub_mm": 650,
            "ball_joint_mm": [10, 600, 500],
        }
    ],
    "differential_spacer": [
        {"kind": "differential_spacer", "drop_mm": 20, "inner_cv_reached_at_arch_to_hub_mm": 650}
    ],
    "limit_strap": [{"kind": "limit_strap", "max_arch_to_hub_mm": 620}],
    "brake_hose": [{"kind": "brake_hose", "reached_at_arch_to_hub_mm": 680}],
    "accessory": [{"kind": "accessory", "mass_kg": 50, "behind_front_axle_mm": 900}],
    "torsion_bar": [
        {
            "kind": "torsion_bar", "diameter_mm": 28, "active_length_mm": 1200, "arm_length_mm": 380,
            "shear_modulus_mpa": 78_500, "permissible_stress_mpa": 800, "adjusted_ride_arch_to_hub_mm": 540,
        }
    ],
    "leaf_pack": [{"kind": "leaf_pack", "rate_n_per_mm": 38, "free_camber_mm": 150, "max_deflection_mm": 260}],
    "leaf_block": [{"kind": "leaf_block", "height_mm": 40}],
    "shackle": [{"kind": "shackle", "length_mm": 110, "reached_at_arch_to_hub_mm": 690}],
    "tyre": [{"kind": "tyre", "overall_diameter_mm": 790, "section_width_mm": 255}],
}  # fmt: skip
ELSEWHERE = {"damper", "torsion_bar", "leaf_pack", "leaf_block", "shackle"}
"""Kinds that have no place on the requests' axle: seen as catalogued parts, and on other axles as fitted."""
DEMO = Path(service.catalogue.__file__).parent / "demo" / "axles.json"
MEASURED_PART = {"kind": "strut_top_spacer", "thickness_mm": {"value": 10, "plus_minus": 0.5}}
CATALOGUED = {"name": "Invented", "supplier": "Invented Works", "revision": 3}


def whole_axle(axle, spring):
    axle = deepcopy(axle)
    envelope = axle["inline"]
    envelope["travel"]["motion_ratio"] = 0.61
    envelope["fitted"]["spring"] = spring
    envelope["fitted"]["strut"]["gas_force_n"] = 120
    reach = {"reached_at_arch_to_hub_mm": 650, "reached_in_bump_at_arch_to_hub_mm": 380}
    joints = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")
    envelope["limits"] = {joint: dict(reach) for joint in joints}
    envelope["travel"]["stations"][0]["tyre_gap_mm"] = 60
    return axle


def value_of(reading):
    return reading["value"] if isinstance(reading, dict) else reading


def other_axles():
    """Axles of the demo catalogue on the other layouts, with all numbers that their envelopes may hold."""
    for axle in json.loads(DEMO.read_text("utf-8")):
        envelope = deepcopy(axle["envelope"])
        if envelope["layout"] == "wishbone_torsion_bar":
            envelope["arm_angle_at_ride_deg"] = 6
            envelope["fitted"]["torsion_bar"] = PARTS["torsion_bar"][0]
        if envelope["layout"].startswith("solid_axle"):
            envelope |= {"spring_base_mm": 1050, "track_mm": 1550}
            envelope["fitted"] |= {"tyre": PARTS["tyre"][0], "damper": PARTS["damper"][0]}
        if envelope["layout"] == "solid_axle_leaf":
            envelope["fitted"] |= {kind: PARTS[kind][0] for kind in ("leaf_pack", "leaf_block", "shackle")}
            envelope["fitted"]["damper"] = {"kind": "damper", "gas_force_n": 90}
        if envelope["travel"].get("grade") == "surveyed":
            limit = {"max_angle_deg": 40, "neutral_arch_to_hub_mm": 500, "max_plunge_mm": 40}
            envelope["limits"]["inner_cv"] = limit
            points = envelope["travel"]["hard_points"]
            plain = {
                name: [value_of(each) for each in point] for name, point in points.items() if isinstance(point, list)
            }
            envelope["travel"]["hard_points"] = {**points, **plain, "rack_travel_mm": 40}
        if (
            envelope["layout"].startswith(("solid", "wishbone_torsion"))
            or envelope["travel"].get("grade") == "surveyed"
        ):
            yield {"inline": envelope, "end": axle["end"]}


@pytest.fixture
def requests(inline_axle):
    """Valid requests that together hold every number there is: (path, body)."""
    evaluations = [{"axle": whole_axle(inline_axle, spring)} for spring in (RATED, TABLED)]
    load = {"accessories": [{"mass_kg": 60, "behind_front_axle_mm": -600}, {"sku": "SKA-BAR-38", "quantity": 2}]}
    wish = {"target_lift_mm": 30, "lift_tolerance_mm": 15}
    evaluations.append({"axle": inline_axle, "load": {**load, "occupants_kg": 150}, **wish})
    evaluations.append({"axle": inline_axle, "parts": [{"sku": "KES-TOP-10", "quantity": 1}]})
    evaluations += [{"axle": axle} for axle in other_axles()]
    proposed = [part for kind, parts in PARTS.items() if kind not in ELSEWHERE for part in (*parts, MEASURED_PART)]
    evaluations += [{"axle": inline_axle, "parts": [{"part": part, "quantity": 1}]} for part in proposed]
    catalogued = [{**CATALOGUED, **part} for parts in PARTS.values() for part in parts]
    vehicle = {"name": "Invented", "revision": 3, "vehicle_masses": inline_axle["vehicle_masses"]}
    return [
        *(("/v1/evaluations", {**evaluation, "record": False}) for evaluation in evaluations),
        *(("/v1/parts", part) for part in catalogued),
        ("/v1/vehicles", vehicle),
    ]


def send(client, path, body):
    """Send a body; a thing to catalogue gets a name of its own each time."""
    names = {"/v1/parts": "sku", "/v1/vehicles": "vehicle_id"}
    named = {**body, names[path]: f"INV-{next(NUMBERS)}"} if path in names else body
    return client.send_text(json.dumps(named).replace('"@@', "").replace('@@"', "").replace('\\"', '"'), path)


def leaves(value, path=()):
    """Where in a body the numbers are."""
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(inner, (*path, key))
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path


def replaced(body, path, literal):
    """The body with a JSON literal, which Python might not write, in place of one number."""
    body = deepcopy(body)
    inside = body
    for key in path[:-1]:
        inside = inside[key]
    inside[path[-1]] = f"@@{literal}@@"
    return body


def numeric_fields(hint: Any, owner: str = "") -> set[str]:
    """The names of the fields below a type that can be a number, by the model that has them."""
    origin = get_origin(hint)
    if origin is Annotated:
        return numeric_fields(get_args(hint)[0], owner)
    if origin in (Union, UnionType, list, dict):
        return set().union(*(numeric_fields(each, owner) for each in get_args(hint)))
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        inner = {name: field.annotation for name, field in hint.model_fields.items()}
        if hint is Measured:
            return {owner, *inner}
        return set().union(*(numeric_fields(annotation, name) for name, annotation in inner.items()))
    return {owner} if hint in (int, float) else set()


def test_the_requests_hold_every_number_that_the_schemas_know(requests):
    known = set().union(*(numeric_fields(hint) for hint in (EvaluationRequest, CataloguedPart, Vehicle)))
    held = {
        next(key for key in reversed(path) if isinstance(key, str)) for _, body in requests for path in leaves(body)
    }
    assert held == known
    assert len(known) > 40
    assert set(PARTS) == set(get_args(Kind))


def test_the_requests_are_valid_as_they_are(requests, shared_client):
    for path, body in requests:
        answer = send(shared_client, path, body)
        assert answer.status_code in (200, 201), (body, answer.text)


@pytest.mark.parametrize("name", NEVER)
def test_what_is_no_number_of_a_vehicle_is_refused_by_name(requests, shared_client, name):
    for path, body in requests:
        for leaf in leaves(body):
            answer = send(shared_client, path, replaced(body, leaf, NEVER[name]))
            pointer = "".join(f"/{key}" for key in leaf)
            assert answer.status_code == 422, (pointer, answer.text)
            assert pointer in [fault["pointer"] for fault in answer.json()["errors"]]


@pytest.mark.parametrize("name", SOMETIMES)
def test_zero_and_less_are_refused_by_name_or_judged(requests, shared_client, name):
    for path, body in requests:
        for leaf in leaves(body):
            answer = send(shared_client, path, replaced(body, leaf, SOMETIMES[name]))
            pointer = "".join(f"/{key}" for key in leaf)
            if answer.status_code == 422:
                said = [fault["pointer"] for fault in answer.json()["errors"]]
                # Of points that contradict each other the one at fault need not be the one that was changed.
                named = "/hard_points" in pointer and all("/hard_points" in each for each in said)
                assert named or any(pointer.startswith(each) and each for each in said), (pointer, said)
            else:
                assert answer.status_code in (200, 201), (pointer, answer.text)
                field = leaf[-2] if leaf[-1] == "value" else leaf[-1]
                assert field in ALLOWED[name] or {"hard_points", "ball_joint_mm"} & set(leaf), pointer
                if path == "/v1/evaluations":
                    assert answer.json()["verdict"] in ("clear", "marginal", "undetermined", "unsafe")


ALLOWED = {
    "zero": {
        "plus_minus", "wire_tolerance_mm", "seat_offset_mm", "gas_force_n", "behind_front_axle_mm", "occupants_kg",
        "target_lift_mm", "tyre_gap_mm", "arm_angle_at_ride_deg", "free_camber_mm",
    },
    "negative": {
        "seat_offset_mm", "behind_front_axle_mm", "target_lift_mm", "arm_angle_at_ride_deg", "free_camber_mm",
    },
}  # fmt: skip
"""The fields for which zero, or less, is a sensible reading."""
