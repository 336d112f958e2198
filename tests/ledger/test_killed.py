"""kill -9 in the middle of it: every record that was acknowledged is there, byte for byte, and the chain is whole."""

import json
import random
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from threading import Timer

from killable_service import killable_service

from service.database import Database
from service.ledger.records import record_body
from service.ledger.verification import verify

ROUNDS, CALLERS = 50, 8
AXLE = {"vehicle": "tarn-300-double-cab", "end": "front"}
QUESTION = {"axle": AXLE, "parts": [{"sku": "KES-TOP-20"}], "remedies": False}
HEADERS = {"Content-Type": "application/json"}


def question_of(number):
    return json.dumps({**QUESTION, "load": {"occupants_kg": 100 + number}})


def ask_until_it_dies(port, number):
    """The bodies that were answered, by their ids. Each caller asks another question, so that none is ready."""
    question, answered = question_of(number), {}
    with closing(HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
        try:
            while True:
                connection.request("POST", "/v1/evaluations", question, HEADERS)
                answer = connection.getresponse()
                body = answer.read()
                assert answer.status == 201, body
                answered[answer.headers["Location"].rsplit("/", 1)[1]] = body
        except (OSError, HTTPException):
            return answered


def one_round(url, seconds):
    with killable_service(url) as (port, kill):
        first = HTTPConnection("127.0.0.1", port, timeout=20)
        first.request("POST", "/v1/evaluations", question_of(CALLERS), HEADERS)  # the moments count from its answer
        answer = first.getresponse()
        begun = {answer.headers["Location"].rsplit("/", 1)[1]: answer.read()}
        first.close()
        with ThreadPoolExecutor(CALLERS) as threads:
            callers = [threads.submit(ask_until_it_dies, port, number) for number in range(CALLERS)]
            killer = Timer(seconds, kill)
            killer.start()
            try:
                answered = [caller.result() for caller in callers]
            finally:
                killer.cancel()
                killer.join()
    return begun | {record_id: body for each in answered for record_id, body in each.items()}


def test_nothing_that_was_acknowledged_is_lost(demo_url):
    moments = random.Random(8785)  # noqa: S311 — the moments only have to differ
    acknowledged = {}
    with closing(Database(demo_url)) as database:
        for _ in range(ROUNDS):
            answered = one_round(demo_url, moments.uniform(0.02, 0.25))
            acknowledged |= answered
            with database.reading() as connection:
                for record_id, body in answered.items():
                    assert record_body(connection, record_id) == body
        with database.snapshot() as connection:
            verified = verify(connection)
    assert verified.flaws == ()
    assert verified.records >= len(acknowledged) > ROUNDS
