"""Issuing, listing and revoking keys, and what a key looks like.

A key is ``coilgap_<id>_<secret>``. The id is public and finds the row. The secret is 256 random bits, of which a fast
hash is kept, keyed with the id so that it fits this row only. A slow hash guards secrets that can be guessed; nobody
guesses 256 random bits, and a slow one would be paid on every request, and for strangers with false keys as well.
"""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, insert, or_, select, update

from service.database import table_of, utc_now
from service.keys.tables import ApiKey

KEYS = table_of(ApiKey)
EVALUATE, CATALOGUE, ADMIN = "evaluate", "catalogue", "admin"
SCOPES = (EVALUATE, CATALOGUE, ADMIN)
KEY = re.compile(r"coilgap_([0-9a-f]{12})_([A-Za-z0-9_-]{43})")


class UnknownKeyError(LookupError):
    """There is no key of that id; the message says which."""


def secret_hash(key_id: str, secret: str) -> str:
    """What is kept of a secret: BLAKE2b, keyed with the key's public id.

    >>> secret_hash("0" * 12, "a")[:8]
    '2a1c47c3'
    """
    return hashlib.blake2b(secret.encode(), digest_size=32, key=key_id.encode()).hexdigest()


def issue(connection: Connection, name: str, scopes: Iterable[str], expires_at: str | None = None) -> str:
    """A new key. It cannot be shown again."""
    key_id, secret = secrets.token_hex(6), secrets.token_urlsafe(32)
    wanted = set(scopes)
    row = {
        "key_id": key_id,
        "name": name,
        "scopes": " ".join(scope for scope in SCOPES if scope in wanted),
        "secret_hash": secret_hash(key_id, secret),
        "created_at": utc_now(),
        "expires_at": expires_at,
    }
    connection.execute(insert(KEYS).values(**row))
    return f"coilgap_{key_id}_{secret}"


def revoke(connection: Connection, key_id: str) -> None:
    """End a key; a second time changes nothing. Raises ``UnknownKeyError``."""
    if key_row(connection, key_id) is None:
        raise UnknownKeyError(f"There is no key {key_id}: `keys list` shows the ids.")
    still = (KEYS.c.key_id == key_id, KEYS.c.revoked_at.is_(None))
    connection.execute(update(KEYS).where(*still).values(revoked_at=utc_now()))


def key_row(connection: Connection, key_id: str) -> RowMapping | None:
    return connection.execute(select(KEYS).where(KEYS.c.key_id == key_id)).mappings().first()


def all_keys(connection: Connection) -> Sequence[RowMapping]:
    """Every key that was ever issued, the oldest first."""
    return connection.execute(select(KEYS).order_by(KEYS.c.created_at, KEYS.c.key_id)).mappings().all()


def any_key_in_force(connection: Connection) -> bool:
    return connection.execute(select(KEYS.c.key_id).where(_in_force()).limit(1)).first() is not None


def state(row: RowMapping | dict[str, Any]) -> str:
    """Whether a key works: ``in force``, ``expired`` or ``revoked``.

    >>> state({"revoked_at": None, "expires_at": "2020-01-01T00:00:00Z"})
    'expired'
    """
    if row["revoked_at"] is not None:
        return "revoked"
    return "in force" if row["expires_at"] is None or row["expires_at"] > utc_now() else "expired"


def note_use(connection: Connection, key_id: str, *, unless_since: str) -> None:
    """Write down that a key is in use now, unless that was done lately."""
    long_ago = or_(KEYS.c.last_used_at.is_(None), KEYS.c.last_used_at < unless_since)
    connection.execute(update(KEYS).where(KEYS.c.key_id == key_id, long_ago).values(last_used_at=utc_now()))


def _in_force() -> ColumnElement[bool]:
    lasts = or_(KEYS.c.expires_at.is_(None), KEYS.c.expires_at > utc_now())
    return KEYS.c.revoked_at.is_(None) & lasts
