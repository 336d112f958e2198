"""How often a request is sent again, and how long to wait before it is."""

from __future__ import annotations

import random
from dataclasses import dataclass

import httpx

from service.client.calls import Call

NEVER_SENT = (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout)
"""After these the service cannot have done anything."""
WORTH_REPEATING = (429, 503)
"""With either the service says that it has done nothing."""
STILL_AT_WORK = 409
"""Together with Retry-After: the first request under the same Idempotency-Key is still under way."""


@dataclass(frozen=True, slots=True)
class Patience:
    """``attempts`` in all; waits double from ``first_wait_s``; a service that asks for more is given up on."""

    attempts: int = 5
    first_wait_s: float = 0.25
    longest_wait_s: float = 30.0

    def after_failure(self, call: Call[object], attempt: int, error: httpx.RequestError) -> float | None:
        """Seconds to wait after a request without an answer; ``None``: it must not, or need not, be sent again."""
        lost = isinstance(error, httpx.TransportError) and (call.repeatable or isinstance(error, NEVER_SENT))
        if attempt >= self.attempts or not lost:
            return None
        return self._backoff(attempt)

    def after_answer(self, answer: httpx.Response, attempt: int) -> float | None:
        """Seconds to wait after an answer that asks for patience; ``None``: take it as it is."""
        asked_s = _retry_after(answer)
        again = answer.status_code in WORTH_REPEATING or (answer.status_code == STILL_AT_WORK and asked_s is not None)
        if not again or attempt >= self.attempts or (asked_s or 0.0) > self.longest_wait_s:
            return None
        return max(asked_s or 0.0, self._backoff(attempt))

    def _backoff(self, attempt: int) -> float:
        """Between half and all of the doubled wait, so that clients that failed together do not come back together."""
        wait: float = min(self.first_wait_s * 2.0 ** (attempt - 1), self.longest_wait_s)
        return wait * random.uniform(0.5, 1.0)  # noqa: S311 — chance here keeps no secret


def _retry_after(answer: httpx.Response) -> float | None:
    text = answer.headers.get("retry-after", "")
    return float(text) if text.isascii() and text.isdigit() else None


PATIENT = Patience()
