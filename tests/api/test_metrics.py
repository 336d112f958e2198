"""The numbers that the service keeps about itself: each moves with what it counts."""

import os
import subprocess
import sys

import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.metrics import FOLDER_VARIABLE

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [{"sku": "KES-TOP-20"}]}


def samples(text):
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


@pytest.fixture
def moved(client):
    """What a few requests add to the numbers."""

    def moved(*send):
        before = samples(client.get("/metrics").text)
        for each in send:
            each(client)
        after = samples(client.get("/metrics").text)
        return {name: value - before.get(name, 0) for name, value in after.items() if value != before.get(name, 0)}

    return moved


def test_the_text_is_prometheus_own_format(client):
    answer = client.get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain; version=")
    assert ("coilgap_ledger_queue", ()) in samples(answer.text)


def test_requests_and_their_times_are_counted_by_route_and_status(moved):
    counted = moved(lambda client: client.get("/v1/parts/KES-TOP-20"), lambda client: client.get("/v1/parts/none"))
    route = ("method", "GET"), ("route", "/v1/parts/{sku}")
    assert counted[("coilgap_requests_total", (*route, ("status", "200")))] == 1
    assert counted[("coilgap_requests_total", (*route, ("status", "404")))] == 1
    assert counted[("coilgap_request_seconds_count", route)] == 2
    assert 0 < counted[("coilgap_request_seconds_sum", route)] < 10


def test_invented_addresses_and_methods_do_not_fill_the_memory(moved):
    counted = moved(
        *(lambda client, n=n: client.get(f"/v1/{n}") for n in range(5)),
        *(lambda client, n=n: client.request(f"METHOD{n}", "/v1/parts") for n in range(5)),
    )
    labels = {labels for name, labels in counted if name == "coilgap_requests_total"}
    assert (("method", "GET"), ("route", "none"), ("status", "404")) in labels
    assert (("method", "other"), ("route", "/v1/parts"), ("status", "405")) in labels
    assert len(labels) == 3  # and the asking for the numbers


def test_verdicts_are_counted_by_outcome(moved, client):
    verdict = client.post("/v1/evaluations", QUESTION).json()["verdict"]
    counted = moved(
        lambda client: client.post("/v1/evaluations", QUESTION),
        lambda client: client.post("/v1/evaluations", {**QUESTION, "record": False}),
        lambda client: client.post("/v1/evaluations/batch", {"requests": [QUESTION, {}]}),
    )
    assert counted[("coilgap_verdicts_total", (("verdict", verdict),))] == 3


def test_searches_are_counted_by_outcome_and_their_times(moved):
    tarn = {"vehicle": "tarn-300-double-cab", "end": "front"}
    counted = moved(
        *[lambda client: client.post("/v1/searches", {"axle": tarn, "kinds": ["strut"]})] * 2,
        lambda client: client.post("/v1/searches", {"axle": tarn, "kinds": ["strut"], "target_lift_mm": 300}),
        lambda client: client.post("/v1/searches", {"axle": tarn, "kinds": ["leaf_pack"]}),
    )
    outcomes = {labels[0][1]: times for (name, labels), times in counted.items() if name == "coilgap_searches_total"}
    assert outcomes == {"found": 2, "nothing": 1}
    assert counted[("coilgap_search_seconds_count", ())] == 3


def test_the_cache_of_ready_answers_is_counted(moved):
    counted = moved(*[lambda client: client.post("/v1/evaluations", QUESTION)] * 3)
    hits, misses = (
        counted[("coilgap_cache_lookups_total", (("cache", "ready_answers"), ("result", result)))]
        for result in ("hit", "miss")
    )
    assert (hits, misses) == (2, 1)


def test_the_ledgers_queue_is_empty_when_all_is_answered(client):
    client.post("/v1/evaluations", QUESTION)
    assert samples(client.get("/metrics").text)[("coilgap_ledger_queue", ())] == 0


def test_repeats_under_a_key_are_counted(moved):
    counted = moved(*[lambda client: client.post("/v1/evaluations", QUESTION, headers={"Idempotency-Key": "a"})] * 3)
    assert counted[("coilgap_repeated_requests_total", ())] == 2


def test_workers_of_one_service_are_added_up(tmp_path):
    """Two processes count into one folder; a third one, that has counted nothing, tells the sum."""
    environment = {**os.environ, FOLDER_VARIABLE: str(tmp_path)}
    counting = (
        "from service.metrics import LEDGER_QUEUE, count_request;"
        "LEDGER_QUEUE.inc(3); count_request('GET', '/v1/parts', 200, 0.25)"
    )
    telling = "from service.metrics import exposition; print(exposition().decode())"
    for _ in range(2):
        subprocess.run([sys.executable, "-c", counting], env=environment, check=True)
    told = subprocess.run([sys.executable, "-c", telling], env=environment, check=True, capture_output=True, text=True)
    labels = (("method", "GET"), ("route", "/v1/parts"), ("status", "200"))
    assert samples(told.stdout)[("coilgap_requests_total", labels)] == 2
    assert samples(told.stdout).get(("coilgap_ledger_queue", ()), 0) == 0  # both have ended, and with them their queues
