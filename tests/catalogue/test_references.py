"""References: one query a request, everything else from memory, and never an old revision."""

import pytest
from sqlalchemy import event

from service.catalogue.combination import combine
from service.catalogue.references import PartHead, References
from service.catalogue.revisions import PARTS, current, revise
from service.catalogue.upgrade import ready_database

QUESTION = {
    "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
    "parts": [{"sku": "KES-TOP-20", "quantity": 1}],
    "load": {"accessories": [{"sku": "SKA-BAR-38", "quantity": 1}]},
    "duty": "sealed_road",
    "policy": "standard",
}


@pytest.fixture
def database(settings):
    database = ready_database(settings.database_url)
    yield database
    database.close()


@pytest.fixture
def statements(database):
    seen = []
    event.listen(database.engine, "before_cursor_execute", lambda *arguments: seen.append(arguments[2]))
    return seen


def selects(statements):
    return [statement for statement in statements if statement.startswith("SELECT")]


def test_a_repeated_question_asks_the_database_only_what_holds_now(database, statements):
    references = References(database)
    first = combine(references, QUESTION)
    assert len(selects(statements)) > 2
    statements.clear()
    again = combine(references, QUESTION)
    assert len(selects(statements)) == 2
    assert again.build.axle is first.build.axle


def test_a_question_that_names_nothing_asks_the_database_nothing(database, statements, inline_axle):
    references = References(database)
    inline = {**QUESTION, "axle": {**inline_axle, "end": "front"}, "parts": [], "load": {"accessories": []}}
    combine(references, inline)
    assert statements == []


def test_a_new_revision_is_in_force_at_once(database):
    references = References(database)
    combine(references, QUESTION)
    with database.writing() as connection:
        stored = current(connection, PARTS, ("KES-TOP-20",))
        revise(connection, PARTS, stored, {**stored.body, "thickness_mm": 7}, {})
    assert references.heads(None, ["KES-TOP-20"]) == (None, {"KES-TOP-20": PartHead(2, active=True)})
    combination = combine(references, QUESTION)
    assert combination.part_revisions == {"KES-TOP-20": 2, "SKA-BAR-38": 1}
    assert combination.build.parts[-1].part.thickness_mm.value == 7


def test_a_part_suits_what_it_is_sold_for(database):
    references = References(database)
    anywhere, tarn_only = references.part("KES-TOP-20", 1), references.part("KES-SPR-4030", 1)
    assert anywhere.suits("any-vehicle", "rear")
    assert tarn_only.suits("tarn-300-double-cab", "front")
    assert not tarn_only.suits("tarn-300-double-cab", "rear")
    assert not tarn_only.suits("tarn-300", "front")
