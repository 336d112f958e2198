"""Who is let in: whose request it is, whether its key allows it, and whether it comes too often."""

from __future__ import annotations

from starlette.types import Scope

from service.api.hosts import refuse_other_names
from service.api.rate_limits import Headers, RateLimits
from service.api.scopes import KeyMissingError, KeyUnknownError, ScopeMissingError, needed_scope
from service.keys.ring import ANYBODY, Caller, KeyRing


class Admission:
    """Without ``needs_keys`` a request may come without a key; one that it does bring is looked at all the same.

    ``only_at_home``: whoever serves without keys lets in only what asks for this machine by a name of its own.
    """

    only_at_home = False

    def __init__(self, keys: KeyRing, limits: RateLimits, *, needs_keys: bool) -> None:
        self.keys, self.limits, self.needs_keys = keys, limits, needs_keys

    async def admit(self, scope: Scope, stated: Headers) -> None:
        """Let a request in, and add to what is ``stated`` with its answer, whatever that will be, how much of its rate
        limit is left. Raises what the error table knows.
        """
        if self.only_at_home:
            refuse_other_names(scope)
        needed = needed_scope(scope["method"], scope["path"])
        if needed is None:
            return
        caller = await self._caller(scope, stated)
        stated += await self.limits.take(caller.key_id, _address(scope))
        if needed not in caller.scopes:
            raise ScopeMissingError(needed)
        scope["state"]["caller"] = caller

    async def _caller(self, scope: Scope, stated: Headers) -> Caller:
        given = _bearer(scope)
        if given is not None:
            caller = await self.keys.find(given)
            if caller is not None:
                return caller
            stated += await self.limits.take("", _address(scope))  # whoever tries keys is told so only so often
            raise KeyUnknownError
        if self.needs_keys:
            stated += await self.limits.take("", _address(scope))
            raise KeyMissingError
        return ANYBODY


def _bearer(scope: Scope) -> str | None:
    """The key that a request brings. Credentials of another sort belong to somebody in between."""
    for name, value in scope["headers"]:
        if name == b"authorization":
            scheme, _, given = value.decode("latin-1").partition(" ")
            if scheme.lower() == "bearer":
                return str(given.strip())
    return None


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return client[0] if client else ""
