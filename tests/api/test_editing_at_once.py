"""Several editors at once, each a thread with a connection of its own to a real server: nobody's change is lost."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Barrier

import httpx
import pytest

EDITORS, EDITS = 6, 5
PART = "/v1/parts/KES-TOP-20"
TARN = "/v1/vehicles/tarn-300-double-cab"
QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [{"sku": "KES-TOP-20"}]}


@pytest.fixture
def editor(served):
    """Makes callers."""

    @contextmanager
    def make():
        with httpx.Client(base_url=served, timeout=30) as caller:
            yield caller

    return make


def at_once(editor, work, count=EDITORS):
    """What came of ``work(caller, number)`` in as many threads, which begin together."""
    start = Barrier(count)

    def run(number):
        with editor() as caller:
            caller.get("/healthz")  # the connection is there before the others begin
            start.wait()
            return work(caller, number)

    with ThreadPoolExecutor(count) as threads:
        return list(threads.map(run, range(count)))


def body_of(answer):
    added = ("revision", "created_at", "revised_at", "vehicle", "end", "status")
    return {name: value for name, value in answer.json().items() if name not in added}


def thickness(part):
    stated = part["thickness_mm"]
    return stated["value"] if isinstance(stated, dict) else stated


def statuses(answers):
    return sorted(answer.status_code for answer in answers)


def test_of_two_editors_one_wins_and_the_other_is_told(editor):
    with editor() as caller:
        read = caller.get(PART)

    def change(caller, number):
        changed = {**body_of(read), "thickness_mm": 10 + number}
        return caller.put(PART, json=changed, headers={"If-Match": read.headers["etag"]})

    answers = at_once(editor, change)
    assert statuses(answers) == [200] + [412] * (EDITORS - 1)
    assert {answer.headers["etag"] for answer in answers} == {'"2"'}
    (won,) = [number for number, answer in enumerate(answers) if answer.status_code == 200]
    with editor() as caller:
        assert caller.get(PART).json()["thickness_mm"] == 10 + won
        assert caller.get(f"{PART}/revisions/1").content == read.content


def test_editors_who_read_again_when_told_lose_nothing(editor):
    """Each makes the spacer thicker by a tenth, again and again: no tenth is lost, and every step stays readable."""

    def thicken(caller, _number):
        told = done = 0
        while done < EDITS:
            read = caller.get(PART)
            tenths = round(thickness(read.json()) * 10) + 1
            changed = {**body_of(read), "thickness_mm": tenths / 10}
            answer = caller.put(PART, json=changed, headers={"If-Match": read.headers["etag"]})
            assert answer.status_code in (200, 412)
            done, told = done + (answer.status_code == 200), told + (answer.status_code == 412)
        return told

    told = at_once(editor, thicken)
    assert sum(told) > 0  # else they were not at it at once
    with editor() as caller:
        history = caller.get(f"{PART}/revisions?limit=200").json()["items"]
        assert len(history) == 1 + EDITORS * EDITS
        for revision in history:
            assert thickness(revision) == pytest.approx(20 + (revision["revision"] - 1) / 10)


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_withdrawal_and_changes_at_once(editor, method):
    with editor() as caller:
        read = caller.get(PART)

    def work(caller, number):
        if number == 0:
            return caller.request("DELETE", PART, headers={"If-Match": read.headers["etag"]})
        content = body_of(read) if method == "PUT" else None
        return caller.request(method, PART, json=content, headers={"If-Match": read.headers["etag"]})

    answers = at_once(editor, work)
    assert len([answer for answer in answers if answer.status_code in (200, 204)]) == 1
    assert statuses(answers)[1:] == [412] * (EDITORS - 1)


def test_a_name_is_given_once(editor):
    spacer = {"name": "Spacer", "supplier": "Invented Works", "kind": "strut_top_spacer", "thickness_mm": 15}

    def add(caller, number):
        return caller.post("/v1/parts", json={**spacer, "sku": "INV-ONE", "thickness_mm": 10 + number})

    answers = at_once(editor, add)
    assert statuses(answers) == [201] + [409] * (EDITORS - 1)
    with editor() as caller:
        kept = caller.get("/v1/parts/INV-ONE")
        assert kept.content in [answer.content for answer in answers if answer.status_code == 201]
        assert len(caller.get("/v1/parts/INV-ONE/revisions").json()["items"]) == 1


def test_a_first_measurement_is_made_once(editor, inline_axle):
    masses = inline_axle["vehicle_masses"]
    with editor() as caller:
        caller.post("/v1/vehicles", json={"vehicle_id": "sallow-2", "name": "Sallow", "vehicle_masses": masses})
    answers = at_once(
        editor, lambda caller, _: caller.put("/v1/vehicles/sallow-2/axles/front", json=inline_axle["inline"])
    )
    assert statuses(answers)[0] == 201
    assert set(statuses(answers)[1:]) <= {409, 428}  # told that there is one, or which revision it was made from


def test_masses_and_axle_changed_at_once_still_go_together(editor, inline_axle):
    """Light axles and heavy wheels: each change is right beside what was there before, both together are refused."""
    vehicle = {"vehicle_id": "sallow-2", "name": "Sallow"}

    def masses(kerb_kg):
        return {**vehicle, "vehicle_masses": {"wheelbase_mm": 2400, "front_axle_kg": kerb_kg, "rear_axle_kg": kerb_kg}}

    def axle(unsprung_kg):
        return {**inline_axle["inline"], "unsprung_kg_per_wheel": unsprung_kg}

    shelf = "/v1/vehicles/sallow-2"

    def change(caller, number):
        path, body = [(shelf, masses(250)), (f"{shelf}/axles/front", axle(150))][number]
        return caller.put(path, json=body, headers={"If-Match": "*"})

    with editor() as caller:
        assert caller.post("/v1/vehicles", json=masses(500)).status_code == 201
        assert caller.put(f"{shelf}/axles/front", json=axle(60)).status_code == 201
        for _ in range(8):
            assert statuses(at_once(editor, change, 2)) == [200, 422]
            for path, body in ((shelf, masses(500)), (f"{shelf}/axles/front", axle(60))):
                assert caller.put(path, json=body, headers={"If-Match": "*"}).status_code == 200


def test_a_verdict_never_rests_on_less_than_what_was_in_force_when_it_was_asked(editor):
    """One editor changes a part while others have it judged: an edit that was answered holds from then on."""
    in_force = [1]

    def work(caller, number):
        for _ in range(15):
            if number == 0:
                read = caller.get(PART)
                answer = caller.put(PART, json=body_of(read), headers={"If-Match": read.headers["etag"]})
                in_force.append(answer.json()["revision"])
            else:
                least = in_force[-1]
                record = caller.post("/v1/evaluations", json=QUESTION).json()
                used = record["provenance"]["part_revisions"]["KES-TOP-20"]
                assert used >= least
                assert caller.get(f"{PART}/revisions/{used}").status_code == 200

    at_once(editor, work, 4)
    assert in_force == list(range(1, 17))
