"""Where a surveyed linkage locks: told with the drop, as sure as the hard points make it, never not-a-number."""

from dataclasses import replace

import numpy as np
import pytest
from reference_axles import checks_of, part_of
from survey_by_hand import of_axle, points_of
from surveyed_axles import WISHBONE, with_fitted, with_points

from service.engine import Reading, evaluate
from service.engine.parts import LimitStrap, Strut, StrutTopSpacer
from service.engine.remedies import remedies


def placed(record) -> dict[str, float]:
    return {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"] if p["arch_to_hub_mm"]}


LONG = part_of(Strut, extended_length_mm=800, closed_length_mm=462, seat_offset_mm=296)


def finite(value) -> bool:
    if isinstance(value, dict):
        return all(finite(each) for each in value.values())
    if isinstance(value, list):
        return all(finite(each) for each in value)
    return not isinstance(value, float) or bool(np.isfinite(value))


def last_drop(by_hand) -> float:
    """Arch-to-hub at which the wheel cannot be lowered any further, by small steps of the arm."""
    angles = np.linspace(0.0, -1.2, 24_001)
    pose = by_hand.pose(angles)
    height, strut = by_hand.height(pose)[0], by_hand.strut(pose)[0]
    with np.errstate(invalid="ignore"):
        goes_on = (np.diff(height) > 0.0) & (np.diff(strut) > 0.0)
    return float(height[np.argmin(goes_on)])


def test_a_strut_too_long_for_the_linkage():
    record = WISHBONE.record([LONG])
    check = checks_of(record)["linkage_lock"]
    assert (record["verdict"], check["outcome"], check["required"]) == ("unsafe", "unsafe", True)
    drop = last_drop(of_axle(WISHBONE))
    assert check["details"]["locks_at_arch_to_hub_mm"] == pytest.approx(drop, abs=1.0)
    assert placed(record)["full_droop"] == pytest.approx(drop, abs=1.0)
    assert f"{round(check['details']['locks_at_arch_to_hub_mm'], 1):g} mm" in check["because"]
    assert finite(record)


def test_a_strap_that_holds_the_wheel_before_the_linkage_locks():
    strap = part_of(LimitStrap, max_arch_to_hub_mm=620)
    check = checks_of(WISHBONE.record([LONG, strap]))["linkage_lock"]
    assert check["outcome"] == "clear", check["because"]


def test_how_sure_the_lock_is_is_told():
    """The linkage's own lock moves with every hard point: 2,000 drawn linkages, each swung until it goes no further."""
    random = np.random.default_rng(7)
    points = {
        name: xyz + random.uniform(-1.0, 1.0, (2000, 3)) * (0.01 if name in ("spin_axis", "output_axis") else 1.0)
        for name, xyz in points_of(WISHBONE).items()
    }
    drawn = replace(of_axle(WISHBONE), at=points)
    angles = np.linspace(-0.45, -0.75, 301)
    lengths = np.empty((2000, len(angles)))
    for start in range(0, 2000, 250):
        some = replace(drawn, at={name: xyz[start : start + 250] for name, xyz in points.items()})
        pose = some.pose(np.concatenate([[0.0], angles]))
        lengths[start : start + 250] = some.strut(pose)[:, 1:]
    locked = np.fmax.reduce(lengths, axis=1) - 646.0
    check = checks_of(WISHBONE.record())["linkage_lock"]
    of_the_strut = 1.0 / 3**0.5
    assert check["standard_uncertainty"] == pytest.approx(np.hypot(locked.std(), of_the_strut), rel=0.15)
    assert check["margin"] == pytest.approx(locked.mean(), abs=2.0)


@pytest.mark.parametrize("rack", [52.0, 95.0, 150.0])
def test_a_joint_at_full_lock_that_cannot_be_told_says_what_would_settle_it(rack):
    axle = with_points(WISHBONE, rack_travel_mm=Reading(rack))
    record = axle.record()
    check = checks_of(record)["outer_cv"]
    if check["outcome"] == "undetermined":
        assert [m for m in record["missing"] if "outer_cv" in m["needed_for"]], check["because"]
    assert finite(record)


def test_a_strut_of_unknown_length_on_an_axle_left_as_it_is():
    axle = with_fitted(WISHBONE, strut=replace(WISHBONE.envelope.fitted.strut, extended_length_mm=None))
    for check in axle.record()["checks"]:
        if check["required"]:
            assert check["outcome"] != "undetermined", check["because"]


def test_a_thinner_spacer_mends_a_lock():
    strut = part_of(Strut, extended_length_mm=680, closed_length_mm=440, seat_offset_mm=296)

    def outcome(thickness_mm):
        spacer = part_of(StrutTopSpacer, thickness_mm=thickness_mm)
        return checks_of(WISHBONE.record([strut, spacer]))["linkage_lock"]["outcome"]

    verdicts = evaluate([WISHBONE.build([strut, part_of(StrutTopSpacer, thickness_mm=60)])])
    (told,) = (
        remedy.told
        for remedy in remedies(verdicts, [0])[0]
        if (remedy.told["check"], remedy.kind) == ("linkage_lock", "strut_top_spacer")
    )
    thin = told["becomes"]
    assert 55.0 < thin < 60.0
    assert (outcome(thin), outcome(thin + told["step"])) == ("clear", "marginal")
