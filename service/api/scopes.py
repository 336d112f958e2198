"""Which scope a request needs, and how a caller without it is turned away."""

from __future__ import annotations

from service.keys.issuing import CATALOGUE, EVALUATE

READING = ("GET", "HEAD", "OPTIONS")


class KeyMissingError(Exception):
    """A request without a key where one is needed."""

    def __init__(self) -> None:
        super().__init__("Send the caller's key in the header Authorization: Bearer <key>.")
        self.headers = {"WWW-Authenticate": 'Bearer realm="coilgap"'}


class KeyUnknownError(Exception):
    """A key that is false, revoked or expired."""

    def __init__(self) -> None:
        super().__init__("The key is not known here, has been revoked, or has expired.")
        self.headers = {"WWW-Authenticate": 'Bearer realm="coilgap", error="invalid_token"'}


class ScopeMissingError(Exception):
    """A key that may not do what the request asks."""

    def __init__(self, scope: str) -> None:
        super().__init__(f"The key does not have the scope {scope}, which this request needs.")
        challenge = f'Bearer realm="coilgap", error="insufficient_scope", scope="{scope}"'
        self.headers = {"WWW-Authenticate": challenge}


def needed_scope(method: str, path: str) -> str | None:
    """The scope that a key must have for a request; ``None`` where nobody needs a key.

    What is below ``/v1/`` and not named here needs the stronger of the two, so that nothing new stands open by mistake.

    >>> needed_scope("GET", "/v1/parts"), needed_scope("PUT", "/v1/parts/X"), needed_scope("GET", "/healthz")
    ('evaluate', 'catalogue', None)
    """
    if path != "/v1" and not path.startswith("/v1/"):
        return None
    if method in READING or path in {"/v1/evaluations", "/v1/searches"} or path.startswith("/v1/evaluations/"):
        return EVALUATE
    return CATALOGUE
