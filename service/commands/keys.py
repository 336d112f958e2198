"""``keys``: issue, list and revoke the keys of callers."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

from service.catalogue.upgrade import existing_database, ready_database
from service.keys.issuing import EVALUATE, SCOPES, UnknownKeyError, all_keys, issue, revoke, state
from service.settings import Settings

COLUMNS = ("key_id", "state", "scopes", "created_at", "expires_at", "last_used_at", "name")


def add(commands: Any) -> None:
    parser = commands.add_parser("keys", help="issue, list and revoke the keys of callers")
    verbs = parser.add_subparsers(title="what to do", metavar="VERB", required=True)
    issuing = verbs.add_parser("issue", help="make a new key and show it, once")
    issuing.add_argument("name", nargs="?", type=_name, default="unnamed", help="who it is for, such as 'shop till 3'")
    issuing.add_argument(
        "--scopes", action="append", type=_scopes, metavar="SCOPE,...",
        help=f"what it may do: {', '.join(SCOPES)} (which has all); {EVALUATE} if nothing is said",
    )  # fmt: skip
    issuing.add_argument(
        "--expires", type=_expiry, metavar="DATE", help="when it ends: a date, a time by RFC 3339, or days such as 90d"
    )
    issuing.set_defaults(run=_issue)
    verbs.add_parser("list", help="show every key that was issued, without its secret").set_defaults(run=_list)
    revoking = verbs.add_parser("revoke", help="end a key; running services notice within seconds")
    revoking.add_argument("key_id", help="its id, as `keys list` shows it")
    revoking.set_defaults(run=_revoke)


def _issue(settings: Settings, given: argparse.Namespace) -> int:
    scopes = {scope for stated in given.scopes or [[EVALUATE]] for scope in stated}
    with closing(ready_database(settings.database_url)) as database, database.writing() as connection:
        print(issue(connection, given.name, scopes, given.expires), flush=True)  # a key that nobody saw is not kept
    print("coilgap: keep this key now: it is stored as a hash and cannot be shown again.", file=sys.stderr)
    return 0


def _list(settings: Settings, _given: argparse.Namespace) -> int:
    with closing(existing_database(settings.database_url)) as database, database.reading() as connection:
        rows = [{**row, "state": state(row)} for row in all_keys(connection)]
    lines = [COLUMNS, *(tuple(str(row[name] or "-") for name in COLUMNS) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    for line in lines:
        print("  ".join(word.ljust(width) for word, width in zip(line, widths, strict=True)).rstrip())
    return 0


def _revoke(settings: Settings, given: argparse.Namespace) -> int:
    try:
        with closing(existing_database(settings.database_url)) as database, database.writing() as connection:
            revoke(connection, given.key_id)
    except UnknownKeyError as error:
        print(f"coilgap: {error}", file=sys.stderr)
        return 1
    print(f"coilgap: the key {given.key_id} is revoked.")
    return 0


def _name(text: str) -> str:
    if not text.strip() or not text.isprintable() or len(text) > 200:
        raise argparse.ArgumentTypeError("a name has 1 to 200 printable characters.")
    return text.strip()


def _scopes(text: str) -> list[str]:
    words = [word.strip() for word in text.split(",")]
    if not set(words) <= set(SCOPES):
        raise argparse.ArgumentTypeError(f"{text!r}: scopes are {', '.join(SCOPES)}, with commas between them.")
    return words


def _expiry(text: str) -> str:
    """The time at which a key ends, in UTC.

    >>> _expiry("2099-01-31"), _expiry("2099-01-31T10:00:00+02:00")
    ('2099-01-31T00:00:00Z', '2099-01-31T08:00:00Z')
    """
    try:
        if text.endswith("d") and text[:-1].isdigit():
            time = datetime.now(UTC) + timedelta(days=int(text[:-1]))
        else:
            time = datetime.fromisoformat(text)
            time = time.astimezone(UTC) if time.tzinfo else time.replace(tzinfo=UTC)
    except (ValueError, OverflowError):
        raise argparse.ArgumentTypeError(f"{text!r}: say a date such as 2027-01-31, a time, or 90d.") from None
    if time <= datetime.now(UTC):
        raise argparse.ArgumentTypeError(f"{text!r} is past.")
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")
