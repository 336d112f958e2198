"""The spring at full bump, and the bars of all checks: lengths on paper are the record's numbers."""

import pytest

from service.counter.language.reader import Reader
from service.counter.pictures.margins import margins_drawing
from service.counter.pictures.spring import spring_drawing
from service.counter.pictures.svg import svg

TARN = ("tarn-300-double-cab", "front")


def coil_bind(record):
    return next(check for check in record["checks"] if check["check"] == "coil_bind")


@pytest.mark.parametrize("skus", [("KES-SPR-4030", "KES-TOP-20"), ()], ids=["solid", "gap left"])
def test_seat_gap_solid_length_and_what_is_left_are_in_one_scale(verdict, paper, skus):
    record = verdict(*TARN, *skus)
    drawn, check = paper(svg(spring_drawing(record, Reader()))), coil_bind(record)
    gap, solid = drawn.one("rect", seat_gap_mm=None), drawn.one("rect", solid_length_mm=None)
    per_mm = float(gap["height"]) / check["details"]["seat_gap_mm"]
    assert float(solid["height"]) / per_mm == pytest.approx(check["details"]["solid_length_mm"], abs=0.05)
    left = drawn.all("rect", coil_gap_mm=None)[0]
    assert float(left["data-coil-gap-mm"]) == pytest.approx(check["margin"], abs=0.001)
    assert float(left["height"]) / per_mm == pytest.approx(abs(check["margin"]), abs=0.05)


def test_the_gap_is_called_out_in_words(verdict, paper):
    words = paper(svg(spring_drawing(verdict(*TARN, "KES-SPR-4030", "KES-TOP-20"), Reader()))).words
    assert "too long by" in words
    assert "8.4 ±4.4 mm" in words


def test_an_axle_without_coils_has_no_drawing_of_one(verdict):
    assert spring_drawing(verdict("hathrop-260-pickup", "rear", "KES-BLK-H45"), Reader()) is None


def test_bars_are_as_long_as_their_margins_worst_first(verdict, paper):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    drawn = paper(svg(margins_drawing(record, Reader())))
    applicable = [check for check in record["checks"] if check["outcome"] != "not_applicable"]
    order = []
    for check in applicable:
        bar = drawn.all("rect", margin_of=check["check"])[0]
        order.append(float(bar["y"]))
        assert float(bar["data-margin"]) == check["margin"]
        if bar["data-cut"] == "0":
            length = float(bar["width"]) / float(bar["data-per-unit"])
            assert length == pytest.approx(abs(check["margin"]), abs=0.01)
            zero = float(bar["x"]) + (float(bar["width"]) if check["margin"] < 0 else 0)
            assert zero == pytest.approx(108, abs=0.01)
    assert order == sorted(order)


def test_whiskers_and_reserves_are_in_the_bars_own_scale(verdict, paper):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    drawn, check = paper(svg(margins_drawing(record, Reader()))), coil_bind(record)
    per_unit = float(drawn.all("rect", margin_of="coil_bind")[0]["data-per-unit"])
    whisker = drawn.one("line", uncertainty_of="coil_bind")
    whole = (float(whisker["x2"]) - float(whisker["x1"])) / per_unit
    assert whole == pytest.approx(4 * check["standard_uncertainty"], abs=0.01)
    reserve = drawn.one("line", reserve_of="coil_bind")
    assert (float(reserve["x1"]) - 108) / per_unit == pytest.approx(check["reserve"])


def test_a_check_that_cannot_tell_has_a_dashed_box_and_no_length(verdict, paper):
    drawn = paper(svg(margins_drawing(verdict("ulfrane-210-station", "front", "KES-SPR-U3520"), Reader())))
    box = drawn.one("rect", margin_of="coil_bind")
    assert "stroke-dasharray" in box
    assert "data-margin" not in box


@pytest.mark.parametrize(("units", "figure"), [("metric", "−8.4 ±4.4 mm"), ("imperial", "−0.33 ±0.17 in")])
def test_figures_are_in_the_readers_units_and_bars_are_not_changed_by_them(verdict, paper, units, figure):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    drawn = paper(svg(margins_drawing(record, Reader("en", units))))
    assert figure in drawn.words
    assert float(drawn.all("rect", margin_of="coil_bind")[0]["width"]) == pytest.approx(8.3741 * 4, abs=0.01)


def test_where_room_is_short_only_clear_checks_lose_their_bars_and_that_is_said(verdict, paper):
    record = verdict(*TARN, "KES-SPR-4030", "KES-TOP-20")
    outcomes = [check["outcome"] for check in record["checks"] if check["outcome"] != "not_applicable"]
    short = paper(svg(margins_drawing(record, Reader("de"), 3)))
    for check in record["checks"]:
        with_bar = check["outcome"] not in ("clear", "not_applicable")
        assert bool(short.all("rect", margin_of=check["check"])) == with_bar
    assert f"und {outcomes.count('clear')} weitere: frei" in short.words
    assert "weitere" not in paper(svg(margins_drawing(record, Reader("de")))).words
