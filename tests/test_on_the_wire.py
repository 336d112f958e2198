"""What only a socket shows: hosts, bodies that are too large, and requests that a stop cannot wait for."""

import asyncio
import json
import socket
import subprocess
import threading
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlsplit

import httpx
import pytest
from real_server import serving

from service.judging.batches import Batches
from service.web import Service

READY = "GET /readyz HTTP/1.1"
BATCH = {"requests": [{"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}}]}
TOO_MUCH = 50_000_000
SECONDS = 30


@pytest.fixture(scope="module")
def served(shared_client):
    with serving(shared_client.app) as address:
        yield address


def sent(address, *pieces):
    """All that is answered to some bytes until the connection ends."""
    to = urlsplit(address)
    with socket.create_connection((to.hostname, to.port), SECONDS) as connection:
        for piece in pieces:
            connection.sendall(piece)
        return b"".join(iter(lambda: connection.recv(65536), b""))


def asked(address, *lines):
    return sent(address, "\r\n".join([*lines, "Connection: close", "", ""]).encode())


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost:8000", "[::1]:8000", "shop.example.", "a_b", "caf%C3%A9", ""])
def test_one_host_is_asked_for(served, host):
    assert asked(served, READY, f"Host: {host}").startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize(
    "hosts", [[], ["Host: a", "Host: a"], ["Host: a", "host: b"], ["Host: a b"], ["Host: a/b"], ["Host: u@a"]]
)
def test_none_or_several_are_refused(served, hosts):
    """RFC 9112, section 3.2 (text read)."""
    answer = asked(served, READY, *hosts)
    assert answer.startswith(b"HTTP/1.1 400 ")
    assert b"application/problem+json" in answer
    assert b"/problems/malformed-body" in answer


@pytest.mark.parametrize(
    "lines",
    [
        ["GET /readyz"],
        ["hello"],
        ["GET /readyz HTTP/1.1", "Host: a", "no colon"],
        ["GET /readyz HTTP/1.1", "Host: a", "Bad Name: b"],
        ["POST /v1/evaluations HTTP/1.1", "Host: a", "Content-Length: -5"],
        ["POST /v1/evaluations HTTP/1.1", "Host: a", "Content-Length: 5", "Transfer-Encoding: chunked"],
    ],
)
def test_what_is_no_request_is_a_problem_too(served, lines):
    head, body = asked(served, *lines).split(b"\r\n\r\n", 1)
    status, *headers = head.decode().split("\r\n")
    told = dict(line.split(": ", 1) for line in headers)
    assert status == "HTTP/1.1 400 Bad Request"
    assert told["content-type"] == "application/problem+json"
    assert (told["connection"], int(told["content-length"])) == ("close", len(body))
    assert told["x-content-type-options"] == "nosniff"
    assert len(told["x-request-id"]) == 36
    assert json.loads(body)["type"] == "/problems/malformed-body"


def test_the_protocol_before_had_no_host(served):
    assert asked(served, "GET /readyz HTTP/1.0").startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize("sizes", [[TOO_MUCH], None], ids=["stated", "in pieces"])
def test_who_sends_too_much_reads_the_answer_when_all_is_sent(served, sizes):
    """A client that reads nothing before it has sent everything."""
    head = "POST /v1/evaluations HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
    blanks = b" " * 1_000_000
    if sizes:
        pieces = [f"{head}Content-Length: {TOO_MUCH}\r\n\r\n".encode(), *[blanks] * 50]
    else:
        chunk = b"%x\r\n%b\r\n" % (len(blanks), blanks)
        pieces = [f"{head}Transfer-Encoding: chunked\r\n\r\n".encode(), *[chunk] * 50, b"0\r\n\r\n"]
    answer = sent(served, *pieces)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert b"/problems/body-too-large" in answer


@pytest.mark.parametrize("expects", ["100-continue", ""])
def test_curl_shows_the_answer_to_a_body_that_is_too_large(served, tmp_path, expects):
    body = tmp_path / "body.json"
    body.write_bytes(b" " * TOO_MUCH)
    command = ["curl", "-sS", "--data-binary", f"@{body}", "-H", "Content-Type: application/json"]
    shown = subprocess.run(
        [*command, "-H", f"Expect: {expects}", f"{served}/v1/evaluations"],
        check=True, capture_output=True, text=True, timeout=SECONDS,
    )  # fmt: skip
    assert '"/problems/body-too-large"' in shown.stdout
    assert shown.stderr == ""


def test_who_goes_on_sending_is_left_in_the_end(served, monkeypatch):
    monkeypatch.setattr("service.api.gate.LINGER_S", 0.2)
    head = b"POST /v1/evaluations HTTP/1.1\r\nHost: a\r\nContent-Length: 9000000000\r\n\r\n"
    assert sent(served, head, b" " * 1000).startswith(b"HTTP/1.1 413 ")


@pytest.fixture
def stopped(app, monkeypatch):
    """The answer to a batch that takes longer than a stop waits; it is there before the service has closed."""
    waits, answered, close = threading.Event(), threading.Event(), Service.close

    async def take_long(*_):
        waits.set()
        await asyncio.sleep(SECONDS)

    def close_late(service):
        assert answered.wait(SECONDS)
        close(service)

    monkeypatch.setattr(Batches, "judge_all", take_long)
    monkeypatch.setattr(Service, "close", close_late)
    with ThreadPoolExecutor(1) as caller:
        with serving(app, timeout_graceful_shutdown=1) as address:
            answer = caller.submit(httpx.post, f"{address}/v1/evaluations/batch", json=BATCH, timeout=SECONDS)
            answer.add_done_callback(lambda _: answered.set())
            assert waits.wait(SECONDS)
        return answer.result(SECONDS)


def test_who_waits_for_longer_than_a_stop_does_is_told_to_come_again(stopped):
    assert (stopped.status_code, stopped.headers["content-type"]) == (503, "application/problem+json")
    assert stopped.json()["type"] == "/problems/service-ending"
    assert int(stopped.headers["retry-after"]) > 0
    assert stopped.headers["x-request-id"]
