"""How often a caller may ask: fixed windows, counted in this process or, for several of them, in Redis.

The limits are a fuse against a client that has run wild, and no part of the verdicts' safety: where the counting store
cannot be reached, requests pass.
"""

from __future__ import annotations

import logging
from math import ceil
from time import monotonic, time

from limits import RateLimitItem, parse
from limits.aio.storage import Storage
from limits.errors import ConfigurationError, StorageError
from limits.storage import storage_from_string

from service.settings import PREFIX, Settings, StartRefusedError

log = logging.getLogger("coilgap")

Headers = list[tuple[bytes, bytes]]
STORE_RESTS_S = 5.0
"""How long a store that did not answer is left alone: each request would wait for it otherwise."""
STORE_TIMEOUT_S = 0.25


class TooManyRequestsError(Exception):
    """A caller has used up its window."""

    def __init__(self, rate: RateLimitItem, seconds_left: int, stated: Headers) -> None:
        super().__init__(
            f"At most {rate.amount} requests are answered in {rate.get_expiry()} s; wait {seconds_left} s."
        )
        self.headers = {"Retry-After": str(seconds_left)}
        self.headers.update((name.decode(), value.decode()) for name, value in stated)


class RateLimit:
    """One limit, for any number of callers."""

    def __init__(self, rate: str, store: Storage) -> None:
        self.rate = parse(rate)
        self.store = store
        self._window_s = self.rate.get_expiry()
        self._rests_until = 0.0
        self._policy = f'"default";q={self.rate.amount};w={self._window_s}'.encode()

    async def take(self, caller: str) -> Headers:
        """Count a request, and say what is left of the window in the fields of the IETF's RateLimit draft.

        Raises ``TooManyRequestsError`` when nothing is left.
        """
        if self._rests_until > monotonic():
            return []
        window = self.rate.key_for(caller)
        try:  # the library's own strategy does the same, and asks its store once more
            taken = await self.store.incr(window, self._window_s)
            ends = await self.store.get_expiry(window)
        except StorageError as error:
            self._rests_until = monotonic() + STORE_RESTS_S
            log.warning("requests are not counted: the store of the rate limits is away: %s", error)
            return []
        seconds_left = max(1, ceil(ends - time()))
        left = b'"default";r=%d;t=%d' % (max(0, self.rate.amount - taken), seconds_left)
        stated = [(b"ratelimit-policy", self._policy), (b"ratelimit", left)]
        if taken > self.rate.amount:
            raise TooManyRequestsError(self.rate, seconds_left, stated)
        return stated


class RateLimits:
    """The limit of callers with a key, each by its key, and that of others, each by its address."""

    def __init__(self, settings: Settings) -> None:
        store = _store(settings.rate_limit_store)
        self.of_keys = None if settings.rate_limit == "off" else RateLimit(settings.rate_limit, store)
        without = settings.rate_limit_without_key
        self.of_addresses = None if without == "off" else RateLimit(without, store)

    async def take(self, key_id: str, address: str) -> Headers:
        limit, caller = (self.of_keys, key_id) if key_id else (self.of_addresses, f"address {address}")
        return [] if limit is None else await limit.take(caller)


def _store(address: str) -> Storage:
    if address == "memory://":
        store = storage_from_string("async+memory://")
    else:
        timeouts = {"socket_timeout": STORE_TIMEOUT_S, "socket_connect_timeout": STORE_TIMEOUT_S}
        try:
            store = storage_from_string(
                f"async+{address}", wrap_exceptions=True, implementation="redispy", key_prefix="coilgap", **timeouts
            )
        except ConfigurationError as error:
            raise StartRefusedError(f"{PREFIX}RATE_LIMIT_STORE cannot be used: {error}.") from error
    assert isinstance(store, Storage)  # noqa: S101 — the scheme says so, the library's type does not
    return store
