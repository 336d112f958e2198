"""What only looks like an answer of the service is never given back as one; nor is a false address or key tried."""

import gzip

import httpx
import pytest
from real_server import serving
from starlette.applications import Starlette
from starlette.responses import Response
from starlette.routing import Route

from service.client import UnexpectedAnswerError
from service.client.answers import ACTIONS, ACTIONS_AT_SHELF, MEDIA_TYPES
from service.client.problems import NotFoundError
from service.engine import decision
from service.shelf.judging import STOP

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}}
RECORD = {
    "id": None,
    "verdict": "unsafe",
    "action": "stop",
    "headline": "The coil goes solid.",
    "checks": [{"check": "coil_bind", "outcome": "unsafe"}],
    "missing": [],
    "provenance": {},
}
FITS = {"vehicle": "v", "end": "front", "items": [{"sku": "X", "verdict": None, "action": "stop"}]}
SEARCH = {"id": "s", "status": "done", "counts": None, "items": [], "near_misses": [], "next": None, "problem": None}
STORED = {"sku": "X", "revision": 1}
REPORT = {"imported": True, "rows": 0, "created": 0, "errors": []}
PROBLEM = {"type": "/problems/not-found", "title": "T", "status": 404, "detail": "D", "instance": "/"}
ETAG = {"ETag": '"1"'}
CALLS = {
    "evaluate": lambda client: client.evaluate(QUESTION),
    "evaluate_batch": lambda client: client.evaluate_batch([QUESTION]),
    "evaluation": lambda client: client.evaluation("x"),
    "evaluations": lambda client: list(client.evaluations()),
    "search": lambda client: client.search({"axle": QUESTION["axle"], "kinds": ["strut"]}),
    "fits": lambda client: client.fits("v", "front"),
    "import": lambda client: client.import_file(b"", "csv"),
    "export": lambda client: client.export_file("csv"),
    "read": lambda client: client.parts.read("X"),
    "add": lambda client: client.parts.add({}),
    "change": lambda client: client.parts.change("X", {}, '"1"'),
    "withdraw": lambda client: client.parts.withdraw("X", '"1"'),
    "every": lambda client: list(client.parts.every()),
    "revisions": lambda client: list(client.vehicles.revisions("v")),
    "axle": lambda client: client.axles.put("v", "front", {}),
}
PAGE = httpx.Response(200, text="<h1>Welcome</h1>", headers={"Content-Type": "text/html", **ETAG})
NESTED = httpx.Response(200, content=b"[" * 100_000)
NOT_UNICODE = httpx.Response(200, content=b'{"a":"\xff\xfe"}')


@pytest.mark.parametrize("call", CALLS)
@pytest.mark.parametrize("status", [200, 201, 202, 206])
def test_a_page_of_somebody_else_is_no_answer(against, call, status):
    client, _ = against(httpx.Response(status, content=PAGE.content, headers=PAGE.headers))
    with pytest.raises(UnexpectedAnswerError, match=rf"{status} from http://service.test/v1/"):
        CALLS[call](client)


@pytest.mark.parametrize("call", [call for call in CALLS if call != "withdraw"])
@pytest.mark.parametrize(
    "answer",
    [httpx.Response(204), NESTED, NOT_UNICODE]
    + [httpx.Response(200, json=body, headers=ETAG) for body in ({}, [], None, 1, "clear", [{}], {"items": {}})],
)
def test_json_of_somebody_else_is_no_answer(against, call, answer):
    client, _ = against(answer)
    with pytest.raises(UnexpectedAnswerError):
        CALLS[call](client)


@pytest.mark.parametrize(
    "wrong",
    [
        {"verdict": "safe"},
        {"verdict": None},
        {"verdict": ["clear"]},
        {"action": "buy"},
        {"action": None},
        {"action": "sell"},
        {"verdict": "clear"},
        {"checks": {}},
        {"checks": [{"check": "coil_bind"}]},
    ],
)
def test_a_verdict_is_one_that_is_known_with_the_action_that_goes_with_it(against, wrong):
    for call, body in (
        ("evaluate", RECORD | wrong),
        ("evaluation", RECORD | wrong),
        ("evaluate_batch", {"results": [RECORD | wrong]}),
    ):
        client, _ = against(httpx.Response(200, json=body))
        with pytest.raises(UnexpectedAnswerError):
            CALLS[call](client)


@pytest.mark.parametrize("member", RECORD)
def test_a_verdict_has_what_the_contract_requires(against, member):
    client, _ = against(httpx.Response(200, json={name: RECORD[name] for name in RECORD if name != member}))
    with pytest.raises(UnexpectedAnswerError, match=member):
        client.evaluate(QUESTION)


@pytest.mark.parametrize(
    ("call", "body"),
    [
        ("evaluate_batch", {"results": []}),
        ("evaluate_batch", {"results": [RECORD, RECORD]}),
        ("evaluate_batch", {"results": [{"type": "/problems/not-found"}]}),
        ("evaluations", {"items": [{**RECORD, "action": "sell"}], "next": None}),
        ("evaluations", {"items": [RECORD], "next": 2}),
        ("every", {"items": [{"sku": "X"}], "next": None}),
        ("every", {"items": [STORED]}),
        ("fits", {**FITS, "items": [{"sku": "X", "verdict": None, "action": "sell"}]}),
        ("search", {**SEARCH, "items": [{"verdict": "unsafe", "action": "sell"}]}),
        ("search", {**SEARCH, "problem": {"title": "T"}}),
    ],
)
def test_half_an_answer_is_none(against, call, body):
    client, _ = against(httpx.Response(200, json=body))
    with pytest.raises(UnexpectedAnswerError):
        CALLS[call](client)


def test_a_thing_without_its_tag_is_no_answer(against):
    client, _ = against(httpx.Response(200, json=STORED))
    with pytest.raises(UnexpectedAnswerError, match="etag"):
        client.parts.read("X")


def test_what_is_the_services_is_given_back(against):
    for call, body, found in (
        ("evaluate", RECORD, RECORD),
        ("evaluate_batch", {"results": [RECORD]}, [RECORD]),
        ("evaluations", {"items": [RECORD], "next": None}, [RECORD]),
        ("search", SEARCH, SEARCH),
        ("fits", FITS, FITS),
        ("import", REPORT, REPORT),
        ("every", {"items": [STORED], "next": None}, [STORED]),
    ):
        client, _ = against(httpx.Response(200, json=body))
        assert CALLS[call](client) == found
    client, _ = against(httpx.Response(200, json={"results": [PROBLEM]}))
    (problem,) = client.evaluate_batch([QUESTION])
    assert isinstance(problem, NotFoundError)


def test_the_actions_are_those_of_the_service():
    assert ACTIONS == decision.ACTIONS
    assert {**ACTIONS, None: STOP} == ACTIONS_AT_SHELF


async def broken(_request):
    """Half of a body that says it is compressed."""
    return Response(gzip.compress(b"{}")[3:], media_type="application/json", headers={"Content-Encoding": "gzip"})


def test_a_body_that_cannot_be_unpacked_is_no_answer_and_not_asked_for_again(new_connection):
    app = Starlette(routes=[Route("/{path:path}", broken)])
    with (
        serving(app) as address,
        pytest.raises(UnexpectedAnswerError, match="GET /v1/parts/X: no answer that can be read"),
    ):
        new_connection(address).parts.read("X")


@pytest.mark.parametrize(
    "address",
    [
        "",
        "localhost",
        "localhost:8000",
        "127.0.0.1:8000",
        "ftp://service.test",
        "http://",
        "http:/service.test",
        "http://[::1",
        "http://service.test:port",
        "http://service.test:65536",
        "/v1",
    ],
)
def test_an_address_that_can_be_none_is_refused_at_once(new_connection, address):
    with pytest.raises(ValueError, match="address "):
        new_connection(address)


@pytest.mark.parametrize("key", ["ä", "", "key\n", "two keys", "\x00", "ключ"])
def test_a_key_that_can_be_none_is_refused_at_once_and_not_told(new_connection, key):
    with pytest.raises(ValueError, match="key: expected one as it was issued") as caught:
        new_connection("http://service.test", key)
    assert not isinstance(caught.value, UnicodeError)


@pytest.mark.parametrize("form", ["xml", "CSV", "", None])
def test_a_form_that_is_none_is_refused_before_anything_is_sent(against, form):
    client, seen = against()
    with pytest.raises(ValueError, match=" or ".join(MEDIA_TYPES)):
        client.import_file(b"", form)
    with pytest.raises(ValueError, match=" or ".join(MEDIA_TYPES)):
        client.export_file(form)
    assert seen == []
