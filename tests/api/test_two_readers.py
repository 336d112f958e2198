"""The quick reader of JSON and the careful one read the same, or the careful one has the last word."""

import json

from hypothesis import example, given
from hypothesis import strategies as st

from service.api.body import MalformedBodyError, _parse_carefully, parse

NUMBERS = st.integers() | st.floats() | st.sampled_from([10**17, -(10**17), 10**17 - 1, 1 - 10**17, 2**63, 2**64, -0.0])
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | st.text(max_size=8) | st.sampled_from(["12:30", "\\", '"']),
    lambda inside: st.lists(inside, max_size=4) | st.dictionaries(st.text(max_size=3), inside, max_size=4),
    max_leaves=12,
)


@st.composite
def texts(draw):
    """JSON in many spellings, now and then with something put in, left out or said twice."""
    text = json.dumps(
        draw(VALUES),
        ensure_ascii=draw(st.booleans()),
        separators=draw(st.sampled_from([(",", ":"), (", ", " : "), ("\n,", ":\t")])),
    )
    start, end = sorted(draw(st.tuples(*[st.integers(0, len(text))] * 2)))
    change = draw(
        st.sampled_from(["", "twice", "left out", '"a":1,', ":", "0", "1e999", "\\ud800", "\u2028", " ", "\x00"])
    )
    between = {"": text[start:end], "twice": text[start:end] * 2, "left out": ""}.get(change, change)
    return (text[:start] + between + text[end:]).encode("utf-8", "surrogatepass")


def read(reader, body):
    try:
        return repr(reader(body))
    except MalformedBodyError as error:
        return error.detail


@given(texts())
@example(b'{"a": 1, "a": 2}')
@example(b'{"a": 1, "\\u0061": 2}')
@example(b'{"a": {"b": 1, "b": 2}, "c": "::"}')
@example(b"[123456789012345678, 1234567890123456789, -12345678901234567, -123456789012345678, 0]")
@example(b"[" * 990 + b"1" + b"]" * 990)
@example(b"\xef\xbb\xbf{}")
@example(b"-0")
def test_both_read_the_same(body):
    assert read(parse, body) == read(_parse_carefully, body)
