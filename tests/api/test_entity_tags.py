"""Entity tags: the comparisons of RFC 9110, section 8.8.3.2 (text read), and what the two headers make of them."""

import pytest

from service.api.conditions import IfMatchMissingError, entity_tag, is_known, require_match
from service.catalogue.revisions import StaleRevisionError, Stored

STORED = Stored(("x",), 1, "active", "2026-01-01T00:00:00Z", "2026-01-01T00:00:00Z", {})


def matches(if_match):
    try:
        require_match(if_match, STORED, entity_tag(1))
    except StaleRevisionError:
        return False
    return True


@pytest.mark.parametrize(
    ("sent", "strong", "weak"),
    [
        ('W/"1"', False, True),  # W01, rows 1 and 3: one of the two is weak
        ('W/"2"', False, False),  # W01, row 2
        ('"1"', True, True),  # W01, row 4
    ],
)
def test_the_comparison_table(sent, strong, weak):
    """Our tag is always strong; If-Match compares strongly (13.1.1), If-None-Match weakly (13.1.2)."""
    assert matches(sent) == strong
    assert is_known(sent, entity_tag(1)) == weak


@pytest.mark.parametrize("sent", ['"0", "1"', '"0","1"', ' "1" ', "*", " * ", 'W/"1", "1"'])
def test_a_list_matches_if_one_of_it_does(sent):
    assert matches(sent)
    assert is_known(sent, '"1"')


@pytest.mark.parametrize("sent", ["", "1", "'1'", '"1', '"10"', '"2", W/"1"', 'w/"2"'])
def test_anything_else_does_not(sent):
    assert not matches(sent)


def test_no_if_match_is_told_apart_from_a_wrong_one():
    with pytest.raises(IfMatchMissingError, match='"1" now'):
        require_match(None, STORED, entity_tag(1))
    assert not is_known(None, '"1"')


REPEATED = ("etag", "cache-control", "content-location", "expires", "vary")
"""What a 304 repeats of the 200 that it stands for, by RFC 9110, section 15.4.5 (text read)."""


@pytest.mark.parametrize("method", ["GET", "HEAD"])
@pytest.mark.parametrize("wildcard", [False, True])
@pytest.mark.parametrize(
    "path",
    [
        "/v1/parts/KES-TOP-20",
        "/v1/parts/KES-TOP-20/revisions/1",
        "/v1/vehicles/tarn-300-double-cab",
        "/v1/vehicles/tarn-300-double-cab/revisions/1",
        "/v1/vehicles/tarn-300-double-cab/axles/front",
        "/v1/vehicles/tarn-300-double-cab/axles/front/revisions/1",
        "evaluation",
    ],
)
def test_a_304_has_no_body_and_repeats_what_the_200_would_say(shared_client, path, method, wildcard):
    if path == "evaluation":
        path = shared_client.evaluate(axle={"vehicle": "tarn-300-double-cab", "end": "front"}).headers["location"]
    whole = shared_client.request(method, path)
    tag = "*" if wildcard else f"W/{whole.headers['etag']}"
    known = shared_client.request(method, path, headers={"If-None-Match": tag})
    assert (whole.status_code, known.status_code, known.content) == (200, 304, b"")
    assert whole.headers["etag"].startswith('"')
    assert {name: known.headers.get(name) for name in REPEATED} == {name: whole.headers.get(name) for name in REPEATED}
    other = shared_client.request(method, path, headers={"If-None-Match": '"another"'})
    assert (other.status_code, other.content) == (200, whole.content)


def test_what_is_not_there_is_404_whatever_the_condition(shared_client):
    """Conditions count only where the answer without them would be a good one (RFC 9110, section 13.2.1, text read)."""
    for condition in ({"If-Match": '"1"'}, {"If-Match": "*"}, {"If-None-Match": "*"}, {}):
        assert shared_client.get("/v1/parts/NO-SUCH", headers=condition).status_code == 404
        assert shared_client.delete("/v1/parts/NO-SUCH", headers=condition).status_code == 404


@pytest.mark.parametrize("tags", [('"9"', '"1"'), ('"1"', '"9"'), ('"8", "9"', 'W/"9", "1"')])
def test_several_lines_of_a_condition_are_one_list(client, tags):
    """A header that is a list may come as several lines (RFC 9110, section 5.3, text read)."""
    path = "/v1/parts/KES-TOP-20"
    part = client.get(path).json()
    assert client.get(path, headers=[("If-None-Match", tag) for tag in tags]).status_code == 304
    changed = client.put(path, {**part, "thickness_mm": 25}, headers=[("If-Match", tag) for tag in tags])
    assert (changed.status_code, changed.headers["etag"]) == (200, '"2"')
    assert client.put(path, part, headers=[("If-Match", tag) for tag in tags]).status_code == 412
