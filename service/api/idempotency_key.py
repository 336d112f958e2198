"""The header Idempotency-Key: a structured-field string (RFC 9651, 3.3.3), by the IETF's draft on the header."""

from __future__ import annotations

import re

from starlette.requests import Request

PATTERN = r'^("([ !#-\[\]-~]|\\["\\]){1,255}"|[!#-+\--:<-\[\]-~]{1,255})$'
"""A text in quotes; or bare, without the signs that would mean something to a reader of structured fields."""
KEY = re.compile(PATTERN)


class IdempotencyKeyError(ValueError):
    """The header cannot be read."""

    def __init__(self) -> None:
        super().__init__(
            "Idempotency-Key must be one text in double quotes, of 1 to 255 printable ASCII characters, such as "
            '"8e03978e-40d5-43e8-bc93-6894a57f9324".'
        )


class IdempotencyKeyReusedError(Exception):
    """The key has been used for another request."""

    parameter = "Idempotency-Key"

    def __init__(self) -> None:
        super().__init__("stands for another request that was sent with it before: take a new key for a new request")


def idempotency_key(request: Request) -> str | None:
    """The key that a request brings. Raises ``IdempotencyKeyError`` for one that cannot be read."""
    stated = request.headers.getlist("idempotency-key")
    if not stated:
        return None
    if len(stated) > 1 or not KEY.fullmatch(stated[0]):
        raise IdempotencyKeyError
    return unquoted(stated[0])


def unquoted(text: str) -> str:
    r"""The text itself.

    >>> unquoted(r'"a \"b\""'), unquoted("bare-1")
    ('a "b"', 'bare-1')
    """
    return re.sub(r'\\(["\\])', r"\1", text[1:-1]) if text.startswith('"') else text
