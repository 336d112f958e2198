"""The small drawings of a measuring sheet show what the words beside them ask for."""

from itertools import combinations

import pytest

from service.counter.pictures.shapes import Drawing, Line, Text
from service.counter.pictures.svg import svg
from service.counter.pictures.tape import tape_drawing
from service.engine.how_to_measure import HOW

DRAWN = [key for key in HOW if tape_drawing(key)]
UNLIKE = [
    ("mean_diameter_mm", "wire_mm"),
    ("crushed_height_mm", "free_height_mm"),
    ("closed_length_mm", "extended_length_mm"),
    ("seat_offset_mm", "extended_length_mm"),
    ("seat_offset_mm", "seat_gap_at_ride"),
]


def shapes_of(key):
    drawing = tape_drawing(key)
    assert isinstance(drawing, Drawing)
    return drawing.shapes


def tapes_of(key):
    """The measures that are drawn, as lengths along either axis."""
    return [(abs(s.x2 - s.x1), abs(s.y2 - s.y1)) for s in shapes_of(key) if isinstance(s, Line) and s.width == 2.5]


@pytest.mark.parametrize(("one", "other"), UNLIKE)
def test_what_is_measured_otherwise_is_drawn_otherwise(one, other):
    assert shapes_of(one) != shapes_of(other)


@pytest.mark.parametrize("key", DRAWN)
def test_a_drawing_stays_on_its_paper_and_has_a_measure(key):
    drawing = tape_drawing(key)
    for shape in drawing.shapes:
        for name in ("x", "x1", "x2"):
            assert 0.0 <= getattr(shape, name, 0.0) <= drawing.width
        for name in ("y", "y1", "y2"):
            assert 0.0 <= getattr(shape, name, 0.0) <= drawing.height
    assert tapes_of(key) or key == "total_coils"
    assert "<svg" in svg(drawing)


def test_a_diameter_is_taken_across_the_coil_and_a_height_or_length_upright():
    assert all(across > 50.0 > upright for across, upright in tapes_of("mean_diameter_mm"))
    for key in ("crushed_height_mm", "closed_length_mm", "extended_length_mm"):
        assert all(upright > across for across, upright in tapes_of(key))
    assert tapes_of("crushed_height_mm")[0][1] < tapes_of("free_height_mm")[0][1]
    assert tapes_of("closed_length_mm")[0][1] < tapes_of("extended_length_mm")[0][1]


def test_a_seat_offset_is_the_difference_of_two_measures():
    (whole, seats) = sorted((upright for _, upright in tapes_of("seat_offset_mm")), reverse=True)
    assert whole > seats
    assert "A − B" in [shape.text for shape in shapes_of("seat_offset_mm") if isinstance(shape, Text)]


def test_no_two_stations_share_what_they_do_not_measure_alike():
    kinds = {key: shapes_of(key) for key in ("height_at_ride", "seat_gap_at_ride", "damper_length_at_ride")}
    assert all(one != other for one, other in combinations(kinds.values(), 2))
