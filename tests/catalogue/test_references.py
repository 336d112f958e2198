"""References: one query a request, everything else from memory, and never an old revision."""

import pytest
from sqlalchemy import event

from service.catalogue import references as module
from service.catalogue.combination import combine, look_up
from service.catalogue.references import AxleHead, PartHead, References
from service.catalogue.revisions import PARTS, create, current, revise
from service.catalogue.upgrade import ready_database

QUESTION = {
    "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
    "parts": [{"sku": "KES-TOP-20", "quantity": 1}],
    "load": {"accessories": [{"sku": "SKA-BAR-38", "quantity": 1}]},
    "duty": "sealed_road",
    "policy": "standard",
}


@pytest.fixture
def statements(database):
    seen = []
    event.listen(database.engine, "before_cursor_execute", lambda *arguments: seen.append(arguments[2]))
    return seen


def change(database, sku, **changes):
    with database.writing() as connection:
        stored = current(connection, PARTS, (sku,))
        revise(connection, PARTS, stored, {**stored.body, **changes}, {})


def selects(statements):
    return [statement for statement in statements if statement.startswith("SELECT")]


def looked_up(statements):
    """Queries for which revisions of parts hold."""
    return [statement for statement in statements if "part.sku IN" in statement]


def test_a_repeated_question_asks_the_database_nothing_but_the_counter(database, statements):
    references = References(database)
    first = combine(references, QUESTION)
    assert len(selects(statements)) > 2
    statements.clear()
    again = combine(references, QUESTION)
    assert statements == []
    assert again.build.axle is first.build.axle


def test_after_a_change_of_anything_else_only_what_holds_is_read_again(database, statements):
    references = References(database)
    first = combine(references, QUESTION)
    change(database, "KES-TOP-10")
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
    change(database, "KES-TOP-20", thickness_mm=7)
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


def test_what_the_catalogue_does_not_know_is_asked_once_and_known_as_soon_as_it_is_there(database, statements):
    references = References(database)
    nowhere = ("no-such", "front")
    for _ in range(2):
        assert references.heads(nowhere, ["NO-SUCH"]) == (None, {})
    assert len(selects(statements)) == 2
    with database.writing() as connection:
        body = {"name": "N", "kind": "strut_top_spacer", "supplier": "S", "thickness_mm": 9, "fits": []}
        create(connection, PARTS, ("NO-SUCH",), body, {name: body[name] for name in ("name", "kind", "supplier")})
    assert references.heads(nowhere, ["NO-SUCH"]) == (None, {"NO-SUCH": PartHead(1, active=True)})


def test_a_change_by_another_process_is_seen_at_once(database, settings):
    references, other = References(database), ready_database(settings.database_url)
    assert references.heads(None, ["KES-TOP-20"])[1]["KES-TOP-20"].revision == 1
    change(other, "KES-TOP-20", thickness_mm=3)
    assert references.heads(None, ["KES-TOP-20"])[1]["KES-TOP-20"].revision == 2
    other.close()


def test_who_still_fills_an_old_state_does_not_spoil_the_new_one(database, monkeypatch):
    """A thread that read before a change and puts down what it read after it: what it read must not be found later."""
    references = References(database)
    slow = references.standing()
    read_before = module._part_heads

    def read_and_be_overtaken(connection, skus):
        heads = read_before(connection, skus)
        monkeypatch.setattr(module, "_part_heads", read_before)
        change(database, "KES-TOP-20")
        assert references.heads(None, ["KES-TOP-20"])[1]["KES-TOP-20"].revision == 2
        return heads

    monkeypatch.setattr(module, "_part_heads", read_and_be_overtaken)
    assert slow.heads(None, ["KES-TOP-20"])[1]["KES-TOP-20"].revision == 1
    assert references.heads(None, ["KES-TOP-20"])[1]["KES-TOP-20"].revision == 2


def test_many_names_are_looked_up_in_few_queries(database, statements):
    names = [f"NO-{number}" for number in range(1200)] + ["KES-TOP-20"]
    found = References(database).heads(("tarn-300-double-cab", "front"), names)
    assert found == (AxleHead(1, active=True, axle_revision=1), {"KES-TOP-20": PartHead(1, active=True)})
    assert len(selects(statements)) == 1 + 3


def test_the_memory_of_names_is_bounded(database, monkeypatch):
    monkeypatch.setattr(module, "MOST_HEADS", 10)
    standing = References(database).standing()
    for number in range(100):
        standing.heads(None, [f"NO-{number}"])
        assert len(standing._parts) <= 11
    assert standing.heads(None, ["KES-TOP-20"])[1] == {"KES-TOP-20": PartHead(1, active=True)}


def kit_of(*skus):
    body = {"name": "N", "kind": "kit", "supplier": "S", "status": "active", "fits": []}
    return {**body, "parts": [{"sku": sku, "quantity": 2} for sku in skus]}


def test_a_kit_is_what_it_holds(database):
    references = References(database)
    kit, single = references.part("KES-KIT-T60", 1), references.part("KES-TOP-20", 1)
    assert (kit.kind, kit.part, kit.contents) == ("kit", None, (("KES-SPR-4030", 1), ("KES-TOP-20", 1)))
    assert (single.kind, single.contents) == ("strut_top_spacer", ())
    combination = combine(references, {**QUESTION, "parts": [{"sku": "KES-KIT-T60", "quantity": 1}]})
    assert combination.part_revisions == {"KES-KIT-T60": 1, "KES-SPR-4030": 1, "KES-TOP-20": 1, "SKA-BAR-38": 1}
    assert [each.name for each in combination.build.parts] == ["KES-SPR-4030", "KES-TOP-20"]


def test_what_many_kits_hold_is_looked_up_at_once(database, statements):
    names = [f"KIT-{number}" for number in range(40)]
    held = ["KES-TOP-10", "KES-TOP-20", "KES-TOP-30", "PEL-SHIM-12"]
    with database.writing() as connection:
        for number, name in enumerate(names):
            body = kit_of(held[number % 4])
            create(connection, PARTS, (name,), body, {key: body[key] for key in ("name", "kind", "supplier")})
    questions = [{**QUESTION, "parts": [{"sku": name, "quantity": 1}]} for name in names]
    standing = References(database).standing()
    look_up(standing, questions)
    assert len(looked_up(statements)) == 2
    for question in questions:
        combine(standing, question)
    assert len(looked_up(statements)) == 2
