"""Reading a request: what is no JSON is told so, and what JSON or an address leaves vague is refused.

A name that stands twice in one object is refused: a reader would silently drop one of the two dimensions. NaN and
infinities are let through to the schema, which names the field that holds them.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Coroutine, Iterable
from math import inf
from typing import Any

import orjson
from fastapi.routing import APIRoute
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.api.conditions import whole_list
from service.api.once import once

Handler = Callable[[Request], Coroutine[Any, Any, Response]]
MOST_DIGITS = 18
"""An integer of more digits is read as a floating-point number, as most readers of JSON do."""
LONG = 10 ** (MOST_DIGITS - 1)
"""An integer this far from zero may have more, its sign among them."""


class MalformedBodyError(HTTPException):
    """The body is no JSON, or JSON that could be read in two ways."""

    def __init__(self, detail: str) -> None:
        super().__init__(400, detail)


class BodyTooLargeError(HTTPException):
    """The body is over the limit, by what its header says or by what has come in."""

    def __init__(self, most_bytes: int) -> None:
        super().__init__(413, f"The body may have {most_bytes:,} bytes at most.", {"Connection": "close"})


class MediaTypeError(HTTPException):
    """The body is not declared to be of a media type that the operation takes."""

    def __init__(
        self, declared: str | None, taken: str = "JSON, with the header Content-Type: application/json"
    ) -> None:
        said = f"{declared} is not understood here" if declared else "the request does not say what its body is"
        super().__init__(415, f"Send the body as {taken}; {said}.")


class ParameterError(ValueError):
    """A query parameter that cannot be used as it is."""

    def __init__(self, parameter: str, detail: str) -> None:
        super().__init__(detail)
        self.parameter = parameter


class JsonRequest(Request):
    """A request whose JSON is read by this module's rules."""

    async def json(self) -> Any:
        return parse(await self.body())


class JsonRoute(APIRoute):
    """A route that reads its body, if it takes one, by this module's rules, and does each keyed POST once."""

    def get_route_handler(self) -> Handler:
        handle = asked_once(self.handler()) if self.dependant.query_params else self.handler()
        takes_json, is_post = self.body_field is not None, "POST" in (self.methods or ())
        if not takes_json and not is_post:
            return handle
        answer = once(handle) if is_post else handle

        async def answer_json(request: Request) -> Response:
            json_request = JsonRequest(request.scope, request.receive)
            if takes_json:
                await json_text(json_request)
            return await answer(json_request)

        return answer_json

    def handler(self) -> Handler:
        """What answers, once the body has been looked at."""
        return super().get_route_handler()


class RawRoute(JsonRoute):
    """A POST whose function takes the request as it is: the framework's way to it costs more than a ready answer."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.app = self._answer
        self._answer_once = once(self.endpoint)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        response = await self._answer_once(Request(scope, receive))
        await response(scope, receive, send)


def asked_once(handle: Handler) -> Handler:
    """Refuse a parameter that stands twice in the address: one of the two would be dropped without a word."""

    async def answer(request: Request) -> Response:
        counted = Counter(name for name, _ in request.query_params.multi_items())
        for name, times in counted.items():
            if times > 1:
                raise ParameterError(name[:100], f"stands {times} times in the address: state it once")
        return await handle(request)

    return answer


def refuse_packed(request: Request) -> None:
    packed = (whole_list(request, "content-encoding") or "identity").strip().lower()
    if packed != "identity":
        raise MediaTypeError(packed, "it is, without Content-Encoding")


async def json_text(request: Request) -> bytes:
    """The body of a request that says it is JSON, unread."""
    _check_media_type(whole_list(request, "content-type"))
    refuse_packed(request)
    text = await request.body()
    if not text:
        raise MalformedBodyError("The body is empty.")
    return text


def parse(body: bytes) -> Any:
    """The JSON value of a body.

    The quick reader takes nothing that the careful one refuses, but lets names stand twice and integers be long. Each
    name has its colon, and strings may hold more of them: where there are no more than names, none was dropped.

    >>> parse(b'{"wire_mm": 16}')
    {'wire_mm': 16}
    """
    try:
        value = orjson.loads(body)
        if _names([value]) == body.count(b":"):
            return value
    except (orjson.JSONDecodeError, RecursionError):
        pass
    return _parse_carefully(body)


def _names(values: Iterable[Any]) -> float:
    """How many names stand in some values; none that could be counted where an integer is too long."""
    number = 0.0
    for value in values:
        kind = type(value)
        if kind is dict:
            number += len(value) + _names(value.values())
        elif kind is list:
            number += _names(value)
        elif kind is int and not -LONG < value < LONG:
            return -inf
    return number


def _parse_carefully(body: bytes) -> Any:
    """The same by the standard library's reader, which tells what is wrong."""
    try:
        text = body.decode()
        value = json.loads(text, object_pairs_hook=_object, parse_int=_integer)
        if "\\ud" in text.lower():
            json.dumps(value, ensure_ascii=False).encode()  # raises for one half of a surrogate pair
    except UnicodeEncodeError:
        raise MalformedBodyError("The body holds half a character (an unpaired surrogate).") from None
    except UnicodeDecodeError:
        raise MalformedBodyError("The body is not UTF-8.") from None
    except json.JSONDecodeError as error:
        raise MalformedBodyError(f"The body is no JSON: {error}.") from None
    except RecursionError:
        raise MalformedBodyError("The body is nested too deeply.") from None
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) < len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise MalformedBodyError(f"The name {json.dumps(twice)[:100]} stands twice in one object.")
    return value


def _integer(digits: str) -> int | float:
    return int(digits) if len(digits) <= MOST_DIGITS else float(digits)


def _check_media_type(declared: str | None) -> None:
    essence, _, parameters = (declared or "").lower().partition(";")
    essence = essence.strip()
    is_json = essence == "application/json" or (essence.startswith("application/") and essence.endswith("+json"))
    if not is_json or "," in parameters or ("charset=" in parameters and "utf-8" not in parameters):
        raise MediaTypeError(declared)
