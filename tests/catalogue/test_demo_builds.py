"""The demo catalogue's builds on taped strut axles: does each end as the trade would have it, and for its reason?"""

import pytest
from demo_builds import Story, check_of, decisive, judged, sold_for
from demo_catalogue import ENVELOPES

from service.engine import LoadItem, Reading

TARN, ULFRANE, VELDRAM, WENDRITH = (
    f"{vehicle}/front"
    for vehicle in ("tarn-300-double-cab", "ulfrane-210-station", "veldram-18-flatbed", "wendrith-4-estate")
)
STRUTS = {"wishbone_coilover", "macpherson"}
LIFT_KIT = ("TOV-STR-T18", "DUN-ARM-T", "DUN-DIF-T25", "PEL-HOSE-T", "DUN-STRAP-T")
ALL_LIMITS = {"upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose"}
STORIES = [
    Story("rich vehicle as it left the factory", TARN, (), "clear"),
    Story("stiffer spring under a bull bar", TARN, ("KES-SPR-0050", "SKA-BAR-38"), "clear", target_lift_mm=0),
    Story("taller foam stop with it", TARN, ("KES-SPR-0050", "PEL-STOP-T60", "SKA-BAR-38"), "clear"),
    Story("engineered 40 mm lift", TARN, ("KES-SPR-4030", "SKA-BAR-38", *LIFT_KIT), "clear", target_lift_mm=40),
    Story("progressive springs in it", TARN, ("KES-PRO-4060", "SKA-BAR-38", *LIFT_KIT), "clear"),
    Story("the same lift by spring alone", TARN, ("KES-SPR-4030",), "marginal", {"droop_travel_left"}),
    Story(
        "longer strut without arm and differential spacer", TARN, ("KES-SPR-4030", "TOV-STR-T18", "PEL-HOSE-T"),
        "unsafe", {"upper_ball_joint", "inner_cv"},
    ),
    Story("thin top spacer", TARN, ("KES-TOP-10",), "marginal", {"inner_cv"}),
    Story("top spacer over-angles joints", TARN, ("KES-TOP-20",), "unsafe", {"upper_ball_joint", "inner_cv"}),
    Story(
        "top spacer makes the lift spring the bump stop", TARN, ("KES-SPR-4030", "KES-TOP-20"),
        "unsafe", {"coil_bind", "upper_ball_joint", "inner_cv"},
    ),
    Story(
        "thick top spacer, everything at its end", TARN, ("KES-TOP-30",),
        "unsafe", {"coil_bind", "damper_bottoming"} | ALL_LIMITS,
    ),
    Story("top spacer with all that belongs to it", TARN, ("KES-TOP-20", "PEL-SHIM-20", *LIFT_KIT[1:]), "clear"),
    Story("thin spring spacer", TARN, ("KES-PRE-08",), "clear"),
    Story(
        "thick spring spacer", TARN, ("KES-PRE-16",), "marginal", {"coil_bind", "droop_travel_left", "spring_stress"}
    ),
    Story("snow plough", TARN, ("KES-SPR-25120", "SKA-PLOUGH-230"), "unsafe", {"axle_rating"}),
    Story(
        "rescue bumper and a crew of four", TARN, ("KES-SPR-25120", "SKA-WINCH-124"), "unsafe", {"axle_rating"},
        occupants_kg=320,
    ),
    Story("sparse vehicle as it left the factory", ULFRANE, (), "clear"),
    Story(
        "top spacer on the sparse vehicle", ULFRANE, ("KES-TOP-20",),
        "undetermined", {"coil_bind", "damper_bottoming"} | ALL_LIMITS,
    ),
    Story("spring on the sparse vehicle", ULFRANE, ("KES-SPR-U3520",), "undetermined", {"coil_bind"}),
    Story("two-wheel drive on sealed roads", VELDRAM, ("KES-SPR-V0040", "SKA-BAR-38"), "clear", duty="sealed_road"),
    Story("and on unsealed ones", VELDRAM, ("KES-SPR-V0040", "SKA-BAR-38"), "marginal", {"coil_bind"}),
    Story("top spacer among rocks", VELDRAM, ("KES-TOP-10",), "unsafe", {"coil_bind"}, duty="rock_and_articulation"),
    Story(
        "stop of known crush, longer strut", VELDRAM,
        ("KES-SPR-V2540", "PEL-STOP-V50", "TOV-STR-V10", "DUN-ARM-V", "SKA-BAR-38"), "clear", target_lift_mm=25,
    ),
    Story("MacPherson lift", WENDRITH, ("KES-SPR-W2500", "TOV-STR-W12", "DUN-DIF-W15"), "clear", target_lift_mm=25),
    Story("MacPherson with a progressive spring", WENDRITH, ("KES-PRO-W2030", "SKA-BAR-38"), "clear"),
    Story("MacPherson top spacer", WENDRITH, ("KES-TOP-20",), "unsafe", {"inner_cv"}),
    Story(
        "and with the power unit lowered", WENDRITH, ("KES-TOP-20", "DUN-DIF-W15"),
        "marginal", {"lower_ball_joint", "tie_rod_end", "outer_cv", "brake_hose"},
    ),
]  # fmt: skip
TITLED = {story.title: story for story in STORIES}


@pytest.mark.parametrize("title", TITLED)
def test_a_build_ends_as_the_trade_would_have_it(title):
    story = TITLED[title]
    assert sold_for(story)
    record = judged(story)
    assert (record["verdict"], decisive(record)) == (story.verdict, story.decided_by)


def test_the_stories_tell_every_verdict_and_visit_every_taped_strut_axle():
    assert {story.verdict for story in STORIES} == {"clear", "marginal", "undetermined", "unsafe"}
    taped = {axle for axle, e in ENVELOPES.items() if "stations" in e["travel"]}
    assert {story.axle for story in STORIES} == {axle for axle in taped if ENVELOPES[axle]["layout"] in STRUTS}


def test_the_coil_that_became_the_bump_stop_is_named():
    record = judged(TITLED["top spacer makes the lift spring the bump stop"])
    contact = record["first_hard_contact"]
    assert contact["by"] == "spring"
    assert contact["bump_stop_crush_used_mm"] < contact["bump_stop_crush_available_mm"]
    assert record["checks"][0]["check"] == "coil_bind"


def test_the_sparse_vehicle_says_what_to_measure():
    missing = {each["field"]: each for each in judged(TITLED["top spacer on the sparse vehicle"])["missing"]}
    wanted = {"/axle/fitted/bump_stop/crushed_height_mm", "/axle/fitted/strut/closed_length_mm"}
    wanted |= {f"/axle/limits/{limit}" for limit in ALL_LIMITS}
    assert wanted <= missing.keys()
    assert all(each["how_to_measure"] for each in missing.values())


def test_two_wheel_drive_has_no_drive_shafts_to_check():
    record = judged(TITLED["stop of known crush, longer strut"])
    assert {check_of(record, cv)["outcome"] for cv in ("inner_cv", "outer_cv")} == {"not_applicable"}
    assert check_of(record, "upper_ball_joint")["outcome"] == "clear"


def test_a_top_spacer_leaves_the_coil_gap_where_the_stop_is_on_the_rod():
    with_spacer, without = judged(TITLED["MacPherson top spacer"]), judged(Story("factory", WENDRITH, (), "clear"))
    assert check_of(with_spacer, "coil_bind")["margin"] == pytest.approx(check_of(without, "coil_bind")["margin"])


def test_the_contracts_own_example_is_answered():
    shim = {"kind": "bump_stop_spacer", "thickness_mm": 12}
    bumper = LoadItem(Reading(96), Reading(-720), "steel front bumper with winch")
    skus = ("KES-SPR-4030", "KES-TOP-20", "KES-TANK-60")
    story = Story("example", TARN, skus, "unsafe", occupants_kg=160, target_lift_mm=40)
    record = judged(story, parts=(shim,), load=(bumper,))
    assert (record["verdict"], decisive(record)) == ("unsafe", {"inner_cv", "upper_ball_joint"})
    assert check_of(record, "axle_rating")["outcome"] == "clear"
    assert record["lift_mm"]["value"] == pytest.approx(40, abs=10)
