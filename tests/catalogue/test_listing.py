"""Listings: every row once, in order, narrowed down as asked."""

import pytest

from service.catalogue import listing
from service.catalogue.listing import PartFilter
from service.catalogue.revisions import PARTS, VEHICLES, UnknownError, create, current, revise, withdraw
from service.catalogue.upgrade import migrate, ready_database

PARTS_KEPT = [
    ("B-100%", "strut", "Works", "Strut, 100 % new"),
    ("B-1000", "strut", "Works", "Strut of steel"),
    ("C_1", "bump_stop", "Rubber", "Soft stop"),
    ("CX1", "bump_stop", "Rubber", "Hard STOP"),
]


@pytest.fixture(params=["sqlite", "postgresql"])
def connection(request, tmp_path):
    url = f"sqlite:///{tmp_path / 'listing.sqlite3'}"
    if request.param == "postgresql":
        url = request.getfixturevalue("postgres_url")
    migrate(url)
    database = ready_database(url)
    with database.writing() as connection:
        for sku, kind, supplier, name in PARTS_KEPT:
            create(connection, PARTS, (sku,), {}, {"kind": kind, "supplier": supplier, "name": name})
        yield connection
    database.close()


def names(page):
    return [stored.key[-1] for stored in page.items]


def test_pages_hold_every_row_once_and_the_last_one_says_so(connection):
    found, after, pages = [], None, 0
    while True:
        page = listing.parts(connection, PartFilter(), "active", after, 3)
        found, after, pages = found + names(page), names(page)[-1], pages + 1
        if not page.more:
            break
    assert pages == 2
    assert sorted(found) == sorted(sku for sku, *_ in PARTS_KEPT)


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        (PartFilter(kind="bump_stop"), {"C_1", "CX1"}),
        (PartFilter(supplier="Works"), {"B-100%", "B-1000"}),
        (PartFilter(words="stop"), {"C_1", "CX1"}),
        (PartFilter(words="b-1"), {"B-100%", "B-1000"}),
        (PartFilter(words="100%"), {"B-100%"}),
        (PartFilter(words="C_1"), {"C_1"}),
        (PartFilter(kind="strut", words="steel"), {"B-1000"}),
        (PartFilter(supplier="Nobody"), set()),
    ],
)
def test_parts_are_narrowed_down(connection, wanted, expected):
    assert set(names(listing.parts(connection, wanted, "active", None, 50))) == expected


def test_what_is_withdrawn_is_listed_only_when_asked_for(connection):
    withdraw(connection, PARTS, current(connection, PARTS, ("CX1",)))
    stops = PartFilter(kind="bump_stop")
    assert names(listing.parts(connection, stops, "active", None, 50)) == ["C_1"]
    assert names(listing.parts(connection, stops, "withdrawn", None, 50)) == ["CX1"]
    assert set(names(listing.parts(connection, stops, None, None, 50))) == {"C_1", "CX1"}


def test_a_listing_shows_each_thing_as_it_is_now(connection):
    first = create(connection, VEHICLES, ("v",), {"name": "then"}, {})
    revise(connection, VEHICLES, first, {"name": "now"}, {})
    page = listing.things(connection, VEHICLES, "active", None, 50)
    assert [(stored.revision, stored.body) for stored in page.items] == [(2, {"name": "now"})]


def test_history_is_newest_first_and_paged(connection):
    stored = create(connection, VEHICLES, ("v",), {}, {})
    for _ in range(4):
        stored = revise(connection, VEHICLES, stored, {}, {})
    first = listing.history(connection, VEHICLES, ("v",), None, 3)
    second = listing.history(connection, VEHICLES, ("v",), 3, 3)
    assert [[one.revision for one in page.items] for page in (first, second)] == [[5, 4, 3], [2, 1]]
    assert (first.more, second.more) == (True, False)
    with pytest.raises(UnknownError):
        listing.history(connection, VEHICLES, ("w",), None, 3)
