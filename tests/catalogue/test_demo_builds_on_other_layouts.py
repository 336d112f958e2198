"""The demo catalogue's builds on surveyed struts, torsion bars, coils and leaves: does each end for its own reason?"""

import pytest
from demo_builds import Story, check_of, decisive, judged, sold_for
from demo_catalogue import PARTS, fitted, heights

WAGON, WAGON_REAR, VAN, PICKUP, PICKUP_REAR = (
    "stenmoor-340-wagon/front",
    "stenmoor-340-wagon/rear",
    "orrenby-3-van/front",
    "hathrop-260-pickup/front",
    "hathrop-260-pickup/rear",
)
TOLD = (WAGON, WAGON_REAR, VAN, PICKUP, PICKUP_REAR)
WAGON_LIFT = ("KES-SPR-S3540", "TOV-STR-S17", "SKA-BAR-38")
WAGON_KIT = (*WAGON_LIFT, "DUN-ARM-S", "DUN-DIF-S22", "PEL-HOSE-S")
REAR_LIFT = ("KES-SPR-R30150", "TOV-DMP-R35", "SKA-DRAW-150")
LEAF_KIT = ("KES-LEAF-H40200", "TOV-DMP-H40", "PEL-HOSE-H")

STORIES = [
    Story("surveyed wagon as it left the factory", WAGON, (), "clear"),
    Story("lift with all that belongs to it", WAGON, WAGON_KIT, "clear", target_lift_mm=35),
    Story("thin top spacer on the wagon", WAGON, ("KES-TOP-10",), "marginal", {"upper_ball_joint"}),
    Story("lift spring alone", WAGON, ("KES-SPR-S3540",), "marginal", {"droop_travel_left"}),
    Story("longer strut on the factory arm", WAGON, WAGON_LIFT, "unsafe", {"upper_ball_joint"}),
    Story(
        "thick top spacer over the lift spring", WAGON, ("KES-SPR-S3540", "KES-TOP-30"),
        "unsafe", {"coil_bind", "upper_ball_joint", "tie_rod_end", "inner_cv", "brake_hose"},
    ),
    Story(
        "arm with a ball joint of unknown range", WAGON, ("KES-SPR-S3540", "DUN-ARM-S0"),
        "undetermined", {"upper_ball_joint"},
    ),
    Story("coil-sprung rear axle as it left the factory", WAGON_REAR, (), "clear"),
    Story("rear lift under drawers", WAGON_REAR, (*REAR_LIFT, "PEL-HOSE-R"), "clear", target_lift_mm=30),
    Story(
        "springs wound in steps, closing coils use up the gap", WAGON_REAR, ("KES-ZON-R1080", "SKA-DRAW-150"),
        "marginal", {"coil_gap_recommended"},
    ),
    Story("spacer makes the rear spring the bump stop", WAGON_REAR, ("KES-PRE-R30",), "unsafe", {"coil_bind"}),
    Story("longer dampers on the factory hose", WAGON_REAR, REAR_LIFT, "unsafe", {"brake_hose"}),
    Story("tyres in an arch that nobody taped", WAGON_REAR, ("HOL-TYR-756",), "undetermined", {"tyre_clearance"}),
    Story("surveyed van as it left the factory", VAN, (), "clear"),
    Story("lift spring under the mast", VAN, ("KES-SPR-O2020", "SKA-MAST-85"), "clear", target_lift_mm=20),
    Story("top spacer takes a joint where nobody tried", VAN, ("KES-TOP-20",), "undetermined", {"tie_rod_end"}),
    Story("and so does a longer strut", VAN, ("KES-SPR-O2020", "TOV-STR-O08"), "undetermined", {"tie_rod_end"}),
    Story("thick top spacer on the van", VAN, ("KES-TOP-30",), "unsafe", {"inner_cv"}),
    Story("torsion bars as they left the factory", PICKUP, (), "clear"),
    Story(
        "thicker bars, dampers and tyres", PICKUP, ("KES-BAR-H2050", "TOV-DMP-H00", "HOL-TYR-756", "SKA-BAR-38"),
        "clear", target_lift_mm=20,
    ),
    Story("factory bars cranked up", PICKUP, ("KES-KEY-H45",), "marginal", {"droop_travel_left"}),
    Story("cranked up on longer dampers", PICKUP, ("KES-KEY-H45", "TOV-DMP-H08"), "undetermined", {"outer_cv"}),
    Story(
        "cranked up on dampers that are too long", PICKUP, ("KES-KEY-H45", "TOV-DMP-H22"),
        "unsafe", {"upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "brake_hose"},
    ),
    Story("tyres that meet the body", PICKUP, ("HOL-TYR-798",), "unsafe", {"tyre_clearance"}),
    Story("leaves as they left the factory", PICKUP_REAR, (), "clear"),
    Story("leaf pack under a fire pump", PICKUP_REAR, (*LEAF_KIT, "SKA-PUMP-230"), "clear", target_lift_mm=40),
    Story("taller block on longer dampers", PICKUP_REAR, ("KES-BLK-H45", *LEAF_KIT[1:]), "clear"),
    Story("taller block on the factory dampers", PICKUP_REAR, ("KES-BLK-H45",), "marginal", {"damper_topping"}),
    Story("greasable shackle", PICKUP_REAR, ("DUN-SHK-H125",), "marginal", {"damper_topping"}),
    Story("stacked blocks bend the leaves too far", PICKUP_REAR, ("KES-BLK-H90",), "unsafe", {"leaf_over_deflection"}),
    Story(
        "water tank beyond the rating", PICKUP_REAR, (LEAF_KIT[0], "SKA-TANK-900"),
        "unsafe", {"axle_rating"}, occupants_kg=160,
    ),
    Story("shackle whose line nobody tried", PICKUP_REAR, ("DUN-SHK-H150",), "undetermined", {"shackle_past_line"}),
]  # fmt: skip
TITLED = {story.title: story for story in STORIES}


@pytest.mark.parametrize("title", TITLED)
def test_a_build_ends_as_the_trade_would_have_it(title):
    story = TITLED[title]
    assert sold_for(story)
    record = judged(story)
    assert (record["verdict"], decisive(record)) == (story.verdict, story.decided_by)


@pytest.mark.parametrize("axle", TOLD)
def test_each_axle_is_told_of_as_it_left_the_factory_and_to_every_end(axle):
    told = {story.verdict for story in STORIES if story.axle == axle}
    assert told >= {"clear", "undetermined", "unsafe"}
    assert any(story.axle == axle and not story.skus and story.verdict == "clear" for story in STORIES)


def test_every_part_for_these_axles_is_in_some_build():
    used = {sku for story in STORIES for sku in story.skus}
    sold = {part["sku"] for part in PARTS if set(part["fits"]) & set(TOLD)}
    assert sold <= used


def test_a_replaced_arm_is_judged_in_its_own_linkage_and_by_its_own_range():
    arm = check_of(judged(TITLED["lift with all that belongs to it"]), "upper_ball_joint")
    factory = check_of(judged(TITLED["longer strut on the factory arm"]), "upper_ball_joint")
    assert (arm["quantity"], arm["limit"]) == ("angle_deg", 34.0)
    assert arm["value"] > factory["value"] > factory["limit"]


def test_a_top_spacer_leaves_the_coil_gap_of_a_surveyed_strut_whose_stop_is_on_the_rod():
    with_spacer = judged(TITLED["thick top spacer on the van"])
    without = judged(TITLED["surveyed van as it left the factory"])
    assert check_of(with_spacer, "coil_bind")["margin"] == pytest.approx(check_of(without, "coil_bind")["margin"])


def test_cranked_bars_leave_droop_and_bump_where_they_were():
    cranked, factory = (
        judged(TITLED[title]) for title in ("factory bars cranked up", "torsion bars as they left the factory")
    )
    for at in ("full_droop", "bump_contact", "full_bump"):
        heights_at = [
            next(p for p in record["positions"] if p["at"] == at)["arch_to_hub_mm"] for record in (cranked, factory)
        ]
        assert heights_at[0] == heights_at[1]
    assert cranked["lift_mm"]["value"] == pytest.approx(45.0)


def test_a_block_lifts_by_what_it_is_taller_than_the_factorys():
    lift = judged(TITLED["taller block on longer dampers"])["lift_mm"]
    taller = 45.0 - fitted(PICKUP_REAR, "leaf_block", "height_mm")
    assert lift["value"] == pytest.approx(taller, abs=lift["plus_minus"])


def test_half_of_what_a_shackle_is_longer_lifts_the_body():
    lift = judged(TITLED["shackle whose line nobody tried"])["lift_mm"]
    longer = 150.0 - fitted(PICKUP_REAR, "shackle", "length_mm")
    assert lift["value"] == pytest.approx(longer / 2, abs=0.1)


def test_an_articulated_axle_hangs_its_lower_wheel_below_full_droop():
    (articulated,) = (
        p for p in judged(TITLED["leaves as they left the factory"])["positions"] if p["at"] == "articulated"
    )
    assert articulated["arch_to_hub_mm"]["value"] > heights(PICKUP_REAR)["full_droop"] + 30


def test_what_nobody_measured_is_asked_for():
    asked = {
        title: {each["field"] for each in judged(TITLED[title])["missing"]}
        for title in TITLED
        if TITLED[title].verdict == "undetermined"
    }
    assert "/axle/limits/tie_rod_end/max_angle_deg" in asked["top spacer takes a joint where nobody tried"]
    assert "/axle/limits/outer_cv" in asked["cranked up on longer dampers"]
    assert "/parts/shackle/reached_at_arch_to_hub_mm" in asked["shackle whose line nobody tried"]
    assert "/axle/travel/stations" in asked["tyres in an arch that nobody taped"]
    assert all(asked.values())
