"""Pages of other origins: which ones may call from a browser, what they may send, and what they may read."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.middleware.cors import CORSMiddleware

METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE")
SENT = ("Authorization", "Content-Type", "Idempotency-Key", "If-Match", "If-None-Match", "Prefer", "X-Request-Id")
READ = (
    "ETag",
    "Link",
    "Location",
    "Preference-Applied",
    "RateLimit",
    "RateLimit-Policy",
    "Retry-After",
    "WWW-Authenticate",
    "X-Request-Id",
)


def allow_origins(app: FastAPI, origins: tuple[str, ...]) -> None:
    """Answer preflights, and let pages of these origins read the answers. Cookies play no part: a key is a header."""
    app.add_middleware(
        CORSMiddleware, allow_origins=origins, allow_methods=METHODS, allow_headers=SENT, expose_headers=READ
    )
