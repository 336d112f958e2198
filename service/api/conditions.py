"""Conditional requests: entity tags by RFC 9110, section 13."""

from __future__ import annotations

import re

from starlette.requests import Request

from service.catalogue.revisions import StaleRevisionError, Stored

ENTITY_TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')


class IfMatchMissingError(Exception):
    """A change that does not say which revision it was made from."""

    def __init__(self, stored: Stored) -> None:
        super().__init__(
            f'Send the header If-Match with the ETag of the revision that was read; it is "{stored.revision}" now.'
        )


def entity_tag(revision: int, status: str = "") -> str:
    """The strong entity tag of a revision, with a status that the revision itself does not say.

    >>> entity_tag(3), entity_tag(3, "withdrawn")
    ('"3"', '"3-withdrawn"')
    """
    return f'"{revision}-{status}"' if status else f'"{revision}"'


def whole_list(request: Request, name: str) -> str | None:
    """A header that is a list: several lines of it are one list, in their order (RFC 9110, section 5.3)."""
    lines = request.headers.getlist(name)
    return ", ".join(lines) if lines else None


def require_match(if_match: str | None, stored: Stored, tag: str) -> None:
    """Let a change through only if it was made from the revision in force, or from what has this tag now.

    The comparison is strong (13.1.1).
    """
    if if_match is None:
        raise IfMatchMissingError(stored)
    if if_match.strip() != "*" and not {("", tag), ("", entity_tag(stored.revision))} & _tags(if_match):
        raise StaleRevisionError(stored.revision)


def is_known(if_none_match: str | None, tag: str) -> bool:
    """Whether the client has this representation already. The comparison is weak (13.1.2)."""
    if if_none_match is None:
        return False
    return if_none_match.strip() == "*" or tag in {opaque for _, opaque in _tags(if_none_match)}


def _tags(header: str) -> set[tuple[str, str]]:
    """The (weakness, tag) pairs of a header.

    >>> sorted(_tags('W/"1", "2"'))
    [('', '"2"'), ('W/', '"1"')]
    """
    return {(weak, f'"{opaque}"') for weak, opaque in ENTITY_TAG.findall(header)}
