"""The drawing of the wheel's travel: what is drawn where is what the record says."""

from itertools import pairwise

import pytest

from service.counter.language.reader import Reader
from service.counter.pictures.svg import svg
from service.counter.pictures.travel import travel_drawing
from service.counter.pictures.travel_marks import ends

TARN = ("tarn-300-double-cab", "front")
POSITIONS = ("full_droop", "ride", "bump_contact", "full_bump")


@pytest.fixture
def drawn(verdict, paper):
    def draw(record, vehicle, end):
        return paper(svg(travel_drawing(record, verdict(vehicle, end), Reader())))

    return draw


def height(record, at):
    return next(each["arch_to_hub_mm"]["value"] for each in record["positions"] if each["at"] == at)


def test_distances_on_paper_are_wheel_travel_in_one_scale_for_factory_and_build(verdict, drawn):
    record, factory = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20"), verdict(*TARN)
    paper = drawn(record, *TARN)
    stick = paper.one("line", scale_mm=None)
    per_mm = (float(stick["x2"]) - float(stick["x1"])) / float(stick["data-scale-mm"])
    top = float(paper.one("line", at="full_bump", column="factory")["y1"])
    for column, source in (("build", record), ("factory", factory)):
        for at in POSITIONS:
            y = float(paper.one("line", at=at, column=column)["y1"])
            assert (y - top) / per_mm == pytest.approx(height(source, at) - height(factory, "full_bump"), abs=0.05)
        bar = paper.one("rect", travel=column)
        travel = height(source, "full_droop") - height(source, "full_bump")
        assert float(bar["height"]) / per_mm == pytest.approx(travel, abs=0.05)


def test_the_coil_is_solid_where_the_record_says_and_the_travel_beyond_is_hatched(verdict, drawn):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    paper = drawn(record, *TARN)
    solid = record["first_hard_contact"]["arch_to_hub_mm"]["value"]
    assert float(paper.one("line", end="coil_solid")["data-mm"]) == pytest.approx(solid)
    beyond = paper.one("rect", beyond="coil_solid")
    assert float(beyond["data-mm"]) == pytest.approx(solid - height(record, "full_bump"), abs=0.001)
    assert float(beyond["y"]) + float(beyond["height"]) == pytest.approx(
        float(paper.one("line", end="coil_solid")["y1"]), abs=0.01
    )


def test_joints_end_where_they_were_taped_and_only_those_passed_are_hatched(verdict, drawn):
    paper = drawn(verdict(*TARN, "KES-SPR-4030", "KES-TOP-20"), *TARN)
    assert float(paper.one("line", end="inner_cv")["data-mm"]) == 628
    assert float(paper.one("line", end="brake_hose")["data-mm"]) == 642
    passed = {shape["data-beyond"] for shape in paper.all("rect", beyond=None)}
    assert passed == {"coil_solid", "inner_cv", "upper_ball_joint"}


def test_bands_are_as_wide_as_the_uncertainty(verdict, drawn):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    paper = drawn(record, *TARN)
    stick = paper.one("line", scale_mm=None)
    per_mm = (float(stick["x2"]) - float(stick["x1"])) / float(stick["data-scale-mm"])
    wanted = {each["at"]: 2 * each["arch_to_hub_mm"]["plus_minus"] for each in record["positions"]}
    for at, width_mm in wanted.items():
        drawn_mm = [float(band["height"]) / per_mm for band in paper.all("rect", band=at)]
        assert any(each == pytest.approx(width_mm, abs=0.05) for each in drawn_mm), at
    (inner_cv,) = paper.all("rect", band="inner_cv")
    # the joint's end was taped to +-1.5 mm: expanded, 2 x 1.5 / sqrt(3) either way
    assert float(inner_cv["height"]) / per_mm == pytest.approx(4 * 1.5 / 3**0.5, abs=0.05)


def test_what_ends_first_by_the_drawing_is_what_the_engine_says_meets_first(verdict):
    """Where coil or damper ends is worked out from the record: it must agree with the engine where that tells it."""
    builds = {
        TARN: ("KES-SPR-4030", "KES-TOP-20"),
        ("stenmoor-340-wagon", "rear"): ("KES-PRE-R30",),
        ("veldram-18-flatbed", "front"): ("KES-SPR-V2540",),
        ("wendrith-4-estate", "front"): ("KES-SPR-W2500",),
    }
    for axle, skus in builds.items():
        record = verdict(*axle, *skus)
        highest = max(
            [("bump_stop", height(record, "full_bump"))]
            + [({"coil_solid": "spring"}.get(e.name, "damper"), e.height_mm) for e in ends(record) if e.in_bump],
            key=lambda each: each[1],
        )
        assert highest[0] == record["first_hard_contact"]["by"], axle


def test_a_coil_that_is_not_met_first_is_placed_as_the_engine_would(verdict):
    """The same axle with a spring that is just solid at full bump: the margin over the slope is the wheel travel."""
    record = verdict("veldram-18-flatbed", "front", "KES-SPR-V2540")
    coil = next(each for each in ends(record) if each.name == "coil_solid")
    check = next(each for each in record["checks"] if each["check"] == "coil_bind")
    ratio = next(p["motion_ratio"]["value"] for p in record["positions"] if p["at"] == "full_bump")
    assert height(record, "full_bump") - coil.height_mm == pytest.approx(check["margin"] / ratio, rel=0.02)


def test_an_unknown_full_bump_is_a_question_mark(verdict, paper):
    record = verdict("ulfrane-210-station", "front", "KES-SPR-U3520")
    drawn = paper(svg(travel_drawing(record, None, Reader())))
    assert not drawn.all("line", at="full_bump")
    assert "?" in drawn.words


def test_labels_keep_apart_and_on_the_paper(verdict, drawn):
    paper = drawn(verdict(*TARN, "KES-SPR-4030", "KES-TOP-20"), *TARN)
    lines = sorted(
        float(text["y"]) for text in paper.all("text") if text.get("x") == "178" and float(text["font-size"]) == 12
    )
    assert all(below - above >= 15.9 for above, below in pairwise(lines))
    assert lines[-1] < 440
