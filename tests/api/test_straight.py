"""The straight way past the framework's: for its own method and address alone, and with the same answers."""

import asyncio

import pytest
from fastapi import APIRouter
from starlette.responses import PlainTextResponse

from service.api.body import RawRoute
from service.api.straight import Straight

router = APIRouter(prefix="/busy", route_class=RawRoute)


@router.post("/here")
async def answer(request):
    return PlainTextResponse(f"straight to {request.url.path}")


async def others(scope, receive, send):
    await PlainTextResponse("by the others")(scope, receive, send)


def asked(**scope):
    """What a request is answered with, and the route that it went by."""
    sent = []

    async def send(message):
        sent.append(message)

    whole = {"type": "http", "headers": [], "query_string": b"", "server": ("host", 80), "scheme": "http", **scope}
    asyncio.run(Straight(others, router.routes)(whole, None, send))
    return sent[1]["body"].decode(), getattr(whole.get("route"), "path_format", None)


def test_its_own_address_goes_straight_and_is_counted_as_its_route():
    assert asked(method="POST", path="/busy/here") == ("straight to /busy/here", "/busy/here")


@pytest.mark.parametrize(
    "scope",
    [
        {"method": "GET", "path": "/busy/here"},
        {"method": "POST", "path": "/busy/here/"},
        {"method": "POST", "path": "/prefix/busy/here", "root_path": "/prefix"},
        {"type": "lifespan"},
    ],
)
def test_all_else_goes_by_the_others(scope):
    assert asked(**scope) == ("by the others", None)


@pytest.mark.parametrize(
    ("sent", "kind"),
    [
        ({"content": b"{", "headers": {"Content-Type": "application/json"}}, "malformed-body"),
        ({"content": b"{}", "headers": {"Content-Type": "text/plain"}}, "unsupported-media-type"),
        ({"json": {}}, "not-valid"),
        ({"json": {"axle": {"vehicle": "no-such", "end": "front"}}}, "not-valid"),
        ({"json": {}, "headers": {"Idempotency-Key": '"'}}, "idempotency-key-malformed"),
    ],
)
def test_what_is_raised_on_it_is_a_problem_as_elsewhere(shared_client, sent, kind):
    answer = shared_client.request("POST", "/v1/evaluations", **sent)
    assert 400 <= answer.status_code < 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-request-id"]
    assert answer.headers["ratelimit-policy"]
    assert answer.json()["type"] == f"/problems/{kind}"
