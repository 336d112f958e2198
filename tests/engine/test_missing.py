"""What to measure when a check cannot tell: the right field, how to measure it, and that it settles the check."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from known_readings import axle_readings, without, without_below
from reference_axles import MACPHERSON, REFERENCES, WISHBONE, TapedAxle, checks_of, part_of
from strategies import builds_on, checked, loads
from surveyed_axles import WISHBONE as SURVEYED

from service.engine import Fitted, Limit, Load, LoadItem, Reading, Station, Travel, VehicleMasses
from service.engine.how_to_measure import HOW
from service.engine.parts import (
    BrakeHose,
    BumpStop,
    CoilSpring,
    Strut,
    StrutTopSpacer,
    UpperArm,
)

STATION_OF = {how: key for key, how in HOW.items() if "_at_" in key}
FIELD_OF = {"height": "arch_to_hub_mm", "seat_gap": "seat_gap_mm"}
SLOTS = {"spring": CoilSpring, "strut": Strut, "bump_stop": BumpStop}


def station_asked_for(how: str) -> tuple[str, str]:
    """Which station is to be taped, and what there, told from how to measure it."""
    what, at = STATION_OF[how].split("_at_")
    return at, FIELD_OF[what]


def measured(axle: TapedAxle, rich: TapedAxle, pointer: str, how: str) -> TapedAxle:
    """The axle after a fitter has measured what ``pointer`` names; ``rich`` is the vehicle itself."""
    steps = pointer.removeprefix("/axle/").split("/")
    envelope = axle.envelope
    if steps[0] == "vehicle_masses":
        masses = axle.masses or VehicleMasses()
        return axle._replace(masses=replace(masses, **{steps[1]: getattr(rich.masses, steps[1])}))
    if steps[0] == "limits":
        whole = rich.envelope.limits[steps[1]]
        known = envelope.limits.get(steps[1], Limit())
        limit = replace(known, **{steps[2]: getattr(whole, steps[2])}) if len(steps) > 2 else whole
        return axle._replace(envelope=replace(envelope, limits={**envelope.limits, steps[1]: limit}))
    if steps[0] == "fitted":
        part = getattr(envelope.fitted, steps[1]) or SLOTS[steps[1]]()
        part = replace(part, **{steps[2]: getattr(getattr(rich.envelope.fitted, steps[1]), steps[2])})
        return axle._replace(envelope=replace(envelope, fitted=replace(envelope.fitted, **{steps[1]: part})))
    if steps[:2] == ["travel", "stations"]:
        return axle._replace(envelope=replace(envelope, travel=taped(axle, rich, steps, how)))
    if steps[0] == "travel":
        return axle._replace(
            envelope=replace(envelope, travel=replace(envelope.travel, **{steps[1]: RATIOS[steps[1]]}))
        )
    return axle._replace(envelope=replace(envelope, **{steps[0]: getattr(rich.envelope, steps[0])}))


RATIOS = {"motion_ratio": Reading(0.6), "bump_stop_ratio": Reading(0.6)}


def taped(axle: TapedAxle, rich: TapedAxle, steps: list[str], how: str):
    at, field = station_asked_for(how)
    true = next(s for s in rich.envelope.travel.stations if s.at == at)
    stations = list(axle.envelope.travel.stations)
    if len(steps) > 2:  # a station that is there
        index = int(steps[2])
        assert stations[index].at == at
        assert steps[3] == field
        stations[index] = replace(stations[index], **{field: getattr(true, field)})
    else:
        assert at not in [s.at for s in stations]
        stations.append(Station(at, **{field: getattr(true, field)}))
    return replace(axle.envelope.travel, stations=tuple(stations))


def told_for(record, check: str) -> dict[str, str]:
    return {m["field"]: m["how_to_measure"] for m in record["missing"] if check in m["needed_for"]}


def after_measuring(axle: TapedAxle, rich: TapedAxle, parts, load, told: dict[str, str]):
    for pointer, how in told.items():
        if pointer.startswith("/parts/"):
            _, _, kind, field = pointer.split("/")
            parts = [replace(p, **{field: Reading(700.0)}) if p.kind == kind else p for p in parts]
        else:
            axle = measured(axle, rich, pointer, how)
    return axle.record(parts, load)


def lengths(count: int = 4) -> tuple[str, ...]:
    return tuple(f"/travel/stations/{i}/damper_length_mm" for i in range(count))


TOP = part_of(StrutTopSpacer, thickness_mm=10)
NEW_STRUT = part_of(Strut, extended_length_mm=565, closed_length_mm=402, seat_offset_mm=226)
NEW_STOP = part_of(BumpStop, free_height_mm=60, crushed_height_mm=22)
NEW_SPRING = part_of(CoilSpring, wire_mm=16, total_coils=9, free_length_mm=395, rate_n_per_mm=62)
LOAD = Load((LoadItem(Reading(90.0), Reading(-600.0)),))
SPRING, STRUT, STOP = "/fitted/spring", "/fitted/strut", "/fitted/bump_stop"
CRUSH = [f"/axle{STOP}/free_height_mm", f"/axle{STOP}/crushed_height_mm"]
CONTACT, BELOW = "/travel/stations/2", "/travel/stations/3"

CASES = [
    *(
        (WISHBONE, joint, [f"/limits/{joint}"], [TOP], None, [f"/axle/limits/{joint}"])
        for joint in WISHBONE.envelope.limits
    ),
    *(
        (MACPHERSON, joint, [f"/limits/{joint}"], [TOP], None, [f"/axle/limits/{joint}"])
        for joint in MACPHERSON.envelope.limits
    ),
    *(
        (
            WISHBONE, joint, [f"/limits/{joint}/reached_in_bump_at_arch_to_hub_mm"], [NEW_STOP], None,
            [f"/axle/limits/{joint}/reached_in_bump_at_arch_to_hub_mm"],
        )
        for joint in ("upper_ball_joint", "lower_ball_joint", "tie_rod_end")
    ),
    (WISHBONE, "upper_ball_joint", [], [UpperArm()], None, ["/parts/upper_arm/ball_joint_reached_at_arch_to_hub_mm"]),
    (
        WISHBONE, "inner_cv", [f"/travel/stations/{i}/arch_to_hub_mm" for i in range(4)], [TOP], None,
        ["/axle/travel/stations/0/arch_to_hub_mm", "/axle/travel/motion_ratio"],
    ),
    (WISHBONE, "coil_bind", [f"{SPRING}/wire_mm"], [TOP], None, [f"/axle{SPRING}/wire_mm"]),
    (WISHBONE, "coil_bind", [SPRING], [TOP], None, [f"/axle{SPRING}/wire_mm", f"/axle{SPRING}/total_coils"]),
    (WISHBONE, "coil_bind", [STOP], [TOP], None, CRUSH),
    (WISHBONE, "coil_bind", [CONTACT, BELOW], [NEW_SPRING], None, ["/axle/travel/stations"]),
    (WISHBONE, "coil_bind", [f"{STOP}/free_height_mm"], [NEW_STOP], None, [f"/axle{STOP}/free_height_mm"]),
    (
        WISHBONE, "coil_bind", [f"{STRUT}/seat_offset_mm", *lengths()], [NEW_STRUT], None,
        [f"/axle{STRUT}/seat_offset_mm"],
    ),
    (MACPHERSON, "coil_bind", [f"{STRUT}/closed_length_mm"], [NEW_STRUT], None, [f"/axle{STRUT}/closed_length_mm"]),
    (MACPHERSON, "coil_bind", [STOP], [NEW_SPRING], None, CRUSH),
    (WISHBONE, "damper_bottoming", [f"{STRUT}/closed_length_mm"], [TOP], None, [f"/axle{STRUT}/closed_length_mm"]),
    (
        WISHBONE, "damper_bottoming", [f"{STRUT}/seat_offset_mm", *lengths()], [TOP], None,
        [f"/axle{STRUT}/seat_offset_mm"],
    ),
    (MACPHERSON, "damper_bottoming", [STOP], [NEW_STRUT], None, CRUSH),
    (WISHBONE, "spring_retention", [f"{SPRING}/free_length_mm"], [NEW_STRUT], None, [f"/axle{SPRING}/free_length_mm"]),
    (
        WISHBONE, "spring_retention", ["/travel/stations/0", f"{STRUT}/extended_length_mm"], [NEW_SPRING], None,
        ["/axle/travel/stations"],
    ),
    *(
        (WISHBONE, "axle_rating", [f"/vehicle_masses/{name}"], [], LOAD, [f"/axle/vehicle_masses/{name}"])
        for name in ("front_axle_kg", "front_axle_rating_kg", "wheelbase_mm")
    ),
    (
        WISHBONE, "axle_rating", ["/vehicle_masses"], [], LOAD,
        [f"/axle/vehicle_masses/{name}" for name in ("front_axle_kg", "front_axle_rating_kg", "wheelbase_mm")],
    ),
    (
        WISHBONE, "axle_rating", ["/vehicle_masses/front_axle_rating_kg", "/vehicle_masses/wheelbase_mm"], [],
        Load((), Reading(160.0)), ["/axle/vehicle_masses/front_axle_rating_kg"],
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0].envelope.layout} {case[1]} without {case[2]}")
def test_what_is_missing_is_named_and_settles_the_check(case):
    axle, check, forgotten, parts, load, fields = case
    sparse = without_below(axle, *forgotten)
    record = sparse.record(parts, load)
    assert checks_of(record)[check]["outcome"] == "undetermined"
    assert checks_of(axle.record(parts, load))[check]["outcome"] != "undetermined" or parts[:1] == [UpperArm()]
    told = told_for(record, check)
    assert sorted(told) == sorted(fields)
    assert all(len(how) > 20 and how.endswith(".") for how in told.values())
    assert checks_of(after_measuring(sparse, axle, parts, load, told))[check]["outcome"] != "undetermined"


def test_the_rear_axle_asks_for_its_own_masses():
    rear = WISHBONE._replace(end="rear")
    load = Load((LoadItem(Reading(90.0), Reading(2500.0)),))
    for name in ("rear_axle_kg", "rear_axle_rating_kg"):
        record = without(rear, f"/vehicle_masses/{name}").record([], load)
        assert checks_of(record)["axle_rating"]["outcome"] == "undetermined"
        assert list(told_for(record, "axle_rating")) == [f"/axle/vehicle_masses/{name}"]


def test_two_stations_that_nobody_taped_are_both_asked_for():
    """Taped at ride alone: a new spring needs the gap at full droop, and the one at bump contact."""
    envelope = replace(
        WISHBONE.envelope,
        travel=replace(WISHBONE.envelope.travel, stations=WISHBONE.envelope.travel.stations[1:2]),
        fitted=Fitted(),
    )
    record = WISHBONE._replace(envelope=envelope).record([NEW_SPRING])
    ways = " ".join(m["how_to_measure"] for m in record["missing"] if m["field"].startswith("/axle/travel/stations"))
    assert {"coil_bind", "spring_retention"} <= {c["check"] for c in record["checks"] if c["outcome"] == "undetermined"}
    assert "hangs free" in ways
    assert "bump stop just touches" in ways


def test_the_motion_ratio_is_asked_for_where_it_was_assumed():
    heights = [f"/travel/stations/{i}/arch_to_hub_mm" for i in (1, 2, 3)]
    record = without(WISHBONE, *heights).record([TOP])
    assert "/axle/travel/motion_ratio" in [m["field"] for m in record["missing"]]
    assert any("motion ratio" in sentence for sentence in record["assumptions"])
    assert checks_of(record)["coil_bind"]["standard_uncertainty"] is not None


def test_a_lock_that_the_rack_cannot_reach_asks_for_the_racks_travel():
    points = SURVEYED.envelope.travel.hard_points
    short_tie_rod = replace(points, rack_end=(points.rack_end[0], Reading(590.0), points.rack_end[2]))
    axle = SURVEYED._replace(envelope=replace(SURVEYED.envelope, travel=Travel(hard_points=short_tie_rod)))
    assert checks_of(axle.record())["outer_cv"]["outcome"] == "clear"  # the factory's own, whatever it is
    longer = part_of(Strut, extended_length_mm=652, closed_length_mm=462, seat_offset_mm=296)
    record = axle.record([longer])
    assert checks_of(record)["outer_cv"]["outcome"] == "undetermined"
    assert list(told_for(record, "outer_cv")) == ["/axle/travel/hard_points/rack_travel_mm"]
    assert checks_of(SURVEYED.record([longer]))["outer_cv"]["outcome"] == "clear"


@st.composite
def forgetful(draw, layout: str):
    """A reference axle of which some readings were never taken, and parts for it."""
    rich = REFERENCES[layout]
    forgotten = draw(st.sets(st.sampled_from(sorted(axle_readings(rich))), max_size=25))
    keep = f"/travel/stations/{draw(st.integers(0, 3))}/seat_gap_mm"
    return without(rich, *(p for p in forgotten if p != keep)), draw(builds_on(rich)), draw(loads())


def undetermined_after_all(rich: TapedAxle, sparse: TapedAxle, parts, load) -> list[str]:
    """Required checks that stay undetermined though all that was asked for has been measured, or nothing was asked."""
    record = sparse.record(parts, load)
    unsure = [c["check"] for c in record["checks"] if c["required"] and c["outcome"] == "undetermined"]
    whole = checks_of(rich.record(parts, load))
    open_ones = []
    for check in unsure:
        told = told_for(record, check)
        bare = [p[0] if isinstance(p, tuple) else p for p in parts]
        if not told:
            open_ones.append(f"{check}: nothing is asked for")
        elif whole[check]["outcome"] != "undetermined":
            after = checks_of(after_measuring(sparse, rich, bare, load, told))[check]["outcome"]
            open_ones += [f"{check}: {sorted(told)}"] if after == "undetermined" else []
    return open_ones


@pytest.mark.parametrize("layout", REFERENCES)
@checked
@given(data=st.data())
def test_whatever_is_forgotten_can_be_measured(layout, data):
    sparse, parts, load = data.draw(forgetful(layout))
    assert undetermined_after_all(REFERENCES[layout], sparse, parts, load) == []


HEIGHTS = [f"/travel/stations/{i}/arch_to_hub_mm" for i in range(4)]
NO_DROOP = ["/travel/stations/0", f"{STRUT}/extended_length_mm"]
DROOP_LENGTH_ALONE = [HEIGHTS[0], "/travel/stations/0/seat_gap_mm", *lengths()[1:], f"{STRUT}/seat_offset_mm"]


@pytest.mark.parametrize(
    ("layout", "forgotten", "parts"),
    [
        ("wishbone_coilover", ["/vehicle_masses/rear_axle_kg"], [NEW_SPRING]),
        ("macpherson", [f"{STRUT}/closed_length_mm"], [NEW_STRUT]),
        ("macpherson", [f"{STRUT}/closed_length_mm", f"{STOP}/crushed_height_mm"], [NEW_STRUT]),
        ("wishbone_coilover", DROOP_LENGTH_ALONE, [part_of(BrakeHose, reached_at_arch_to_hub_mm=700)]),
        ("wishbone_coilover", [*DROOP_LENGTH_ALONE, "/limits/inner_cv/reached_at_arch_to_hub_mm"], [TOP]),
        ("wishbone_coilover", [*HEIGHTS, *NO_DROOP, "/limits/inner_cv"], [TOP]),
        ("wishbone_coilover", [*HEIGHTS, f"{STOP}/free_height_mm", "/limits/tie_rod_end"], [NEW_STOP]),
    ],
    ids=[
        "one axle's kerb mass alone", "stop on the rod of a new strut", "and its crush",
        "full droop by the strut's length alone", "and a top spacer", "no heights and no full droop",
        "no heights and another stop",
    ],
)  # fmt: skip
def test_what_could_not_be_settled_once(layout, forgotten, parts):
    rich = REFERENCES[layout]
    assert undetermined_after_all(rich, without_below(rich, *forgotten), parts, None) == []
