"""A verdict made once and given often: the same bytes but for its id and its time."""

import json

from service.catalogue.combination import combine
from service.catalogue.revisions import PARTS, current, revise
from service.engine.refusal import RefusedError
from service.judging.judge import judge, judge_all

ID, TIME = "01999999-0000-7000-8000-000000000000", "2026-01-02T03:04:05Z"


def question(**changes):
    return {
        "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
        "parts": [{"sku": "KES-TOP-20", "quantity": 1}],
        "duty": "sealed_road",
        "policy": "standard",
        **changes,
    }


def test_id_and_time_are_put_in_and_nothing_else_differs(references):
    verdict = judge(references, question())
    kept, not_kept = (json.loads(verdict.body(record_id, TIME)) for record_id in (ID, None))
    assert (kept["id"], not_kept["id"]) == (ID, None)
    assert kept["provenance"]["evaluated_at"] == TIME
    assert kept == {**not_kept, "id": ID}
    assert next(iter(kept)) == "id"


def test_the_ledgers_row_is_that_of_the_record(references):
    verdict = judge(references, question())
    body = verdict.body(ID, TIME)
    entry, record = verdict.entry(ID, TIME, body), json.loads(body)
    assert (entry.row["id"], entry.row["evaluated_at"], entry.row["body"]) == (ID, TIME, body)
    for name in ("verdict", "action", "headline"):
        assert entry.row[name] == record[name]
    for name in ("engine_version", "policy", "policy_version", "request_sha256"):
        assert entry.row[name] == record["provenance"][name]
    assert (entry.row["vehicle"], entry.row["axle"], entry.skus) == ("tarn-300-double-cab", "front", ("KES-TOP-20",))


def test_many_at_once_are_judged_as_each_by_itself(references):
    load = {"accessories": [{"sku": "SKA-BAR-38", "quantity": 1}], "occupants_kg": 150}
    questions = [
        question(),
        question(parts=[{"sku": "KES-SPR-4030", "quantity": 1}], load=load, target_lift_mm=40),
        question(parts=[], duty="rock_and_articulation"),
        question(axle={"vehicle": "wendrith-4-estate", "end": "front"}, parts=[]),
    ]
    together = judge_all(references.standing(), questions)
    assert [each.body(ID, TIME) for each in together] == [judge(references, each).body(ID, TIME) for each in questions]


def test_what_was_asked_before_changes_no_record(references):
    """Under 200 kg two readings have nearly one share of an uncertainty: one that is the load's, one of the spring."""
    parts = [{"sku": "KES-SPR-4030", "quantity": 1}, {"sku": "KES-TOP-20", "quantity": 1}]
    standing = references.standing()
    for occupants_kg in (120.0, 200.0):
        load = {"accessories": [], "occupants_kg": occupants_kg}
        asked = question(parts=parts, load=load, duty="unsealed_touring", remedies=False)
        assert judge(standing, asked).middle == judge(references, asked).middle


def test_one_that_is_refused_leaves_the_others_as_they_are(references):
    unknown = question(parts=[{"sku": "NO-SUCH", "quantity": 1}])
    first, refused, last = judge_all(references.standing(), [question(), unknown, question(parts=[])])
    assert isinstance(refused, RefusedError)
    assert refused.faults[0].pointer == "/parts/0/sku"
    assert first.body(ID, TIME) == judge(references, question()).body(ID, TIME)
    assert last.body(ID, TIME) == judge(references, question(parts=[])).body(ID, TIME)
    assert isinstance(judge_all(references.standing(), [unknown])[0], RefusedError)


def test_a_verdict_holds_until_something_that_it_rests_on_is_changed(references, database):
    verdict = judge(references, question())
    assert verdict.still_holds(references)
    change(database, "KES-TOP-10")
    assert verdict.still_holds(references)
    change(database, "KES-TOP-20")
    assert not verdict.still_holds(references)


def test_a_verdict_that_rests_on_nothing_of_the_catalogue_always_holds(references, inline_axle):
    verdict = judge(references, question(axle={**inline_axle, "end": "front"}, parts=[]))
    assert verdict.still_holds(references)
    assert combine(references, question(axle={**inline_axle, "end": "front"}, parts=[])).vehicle_revision is None


def change(database, sku):
    with database.writing() as connection:
        stored = current(connection, PARTS, (sku,))
        revise(connection, PARTS, stored, {**stored.body, "thickness_mm": 7}, {})


def test_other_loads_of_known_parts_are_written_as_if_nobody_had_asked_before(references):
    """What lasts is written apart from its second time on."""
    standing = references.standing()
    for mass in (80, 120, 160, 200):
        asked = question(load={"accessories": [], "occupants_kg": mass}, target_lift_mm=40)
        assert judge(standing, asked).body(ID, TIME) == judge(references, asked).body(ID, TIME)
