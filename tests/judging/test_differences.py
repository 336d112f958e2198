"""Where two JSON values differ: by pointers of RFC 6901, as deep down as can be said."""

import pytest

from service.judging.replay import Difference, differences


@pytest.mark.parametrize(
    ("was", "now", "expected"),
    [
        ({"a": 1, "b": [1, {"c": 2}]}, {"b": [1, {"c": 2}], "a": 1}, []),
        ({"a": 1}, {"a": 2}, [("/a", "1", "2")]),
        ({"a": 1}, {"a": 1.0}, [("/a", "1", "1.0")]),
        ({"a": 1}, {"a": True}, [("/a", "1", "true")]),
        ({"a": 0.1 + 0.2}, {"a": 0.3}, [("/a", "0.30000000000000004", "0.3")]),
        ({"a": 1}, {}, [("/a", "1", "nothing")]),
        ({}, {"a": None}, [("/a", "nothing", "null")]),
        ({"a": None}, {"a": {}}, [("/a", "null", "{}")]),
        ([1, 2, 3], [1, 4], [("/1", "2", "4"), ("/2", "3", "nothing")]),
        ([], [[]], [("/0", "nothing", "[]")]),
        ({"a": [1]}, {"a": {"0": 1}}, [("/a", "[1]", '{"0":1}')]),
        ({"a/b": {"c~d": 1}}, {"a/b": {"c~d": 2}}, [("/a~1b/c~0d", "1", "2")]),
        (1, 2, [("", "1", "2")]),
    ],
)
def test_each_difference_has_its_pointer_and_both_sides(was, now, expected):
    assert list(differences(was, now)) == [Difference(*each) for each in expected]
