"""Numbers as people type them: what can be read in one way alone is taken, and what the page writes is read again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.counter.instead import typed
from service.counter.question import number_of, reading_of
from service.engine.refusal import RefusedError


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1200", 1200), ("12,5", 12.5), ("12.5", 12.5), ("−12,5", -12.5), ("-600", -600), ("+5", 5), ("0.125", 0.125),
        ("0,125", 0.125), ("1200.125", 1200.125), ("1.2000", 1.2), ("1.25", 1.25), (".5", 0.5), (" 7 ", 7),
        (".125", 0.125),
    ],
)  # fmt: skip
def test_plain_numbers_are_taken(text, number):
    assert number_of(text, "/x") == number


@pytest.mark.parametrize(
    "text",
    ["-", ".", "5.", "much", "nan", "inf", "1e3", "1_200", "1 200", "１２", "٣", "1,200.5", "1.200,5", "--5"],
)
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(RefusedError) as refused:
        number_of(text, "/x")
    (fault,) = refused.value.faults
    assert (fault.pointer, fault.detail) == ("/x", f"must be a number, not “{text}”")


@pytest.mark.parametrize("text", ["", "  "])
def test_where_nothing_is_typed_a_number_is_missing(text):
    with pytest.raises(RefusedError, match="a number is missing here"):
        number_of(text, "/x")


@pytest.mark.parametrize(
    ("text", "whole", "decimal"),
    [
        ("1,200", "1200", "1.2"), ("1.200", "1200", "1.2"), ("−1.250", "-1250", "-1.25"),
        ("160.125", "160125", "160.1250"), ("12.000", "12000", "12"),
    ],
)  # fmt: skip
def test_what_may_be_thousands_is_refused_and_either_way_of_writing_it_is_taken(text, whole, decimal):
    with pytest.raises(RefusedError) as refused:
        number_of(text, "/x")
    assert f"write {whole} or {decimal}," in refused.value.faults[0].detail
    assert number_of(whole, "/x") == 1000 * number_of(decimal, "/x")


@pytest.mark.parametrize("text", ["5±", "5 ± ", "5+-", "5 ± x", "5 ± 1.200", "±5", "5 ± 1 ± 1"])
def test_half_a_reading_is_refused(text):
    with pytest.raises(RefusedError):
        reading_of(text, "/x")


@given(st.floats(-1e7, 1e7).map(lambda number: float(f"{number:.10g}")))
def test_what_the_page_writes_is_read_as_the_same(number):
    assert number_of(typed(number), "/x") == number
    assert reading_of(typed({"value": number, "plus_minus": 0.125}), "/x") == {"value": number, "plus_minus": 0.125}


@given(st.integers(-999_999, 999_999).map(lambda thousandths: thousandths / 1000))
def test_what_the_page_writes_with_three_decimals_is_never_taken_for_thousands(number):
    assert number_of(typed(number), "/x") == number
