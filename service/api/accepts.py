"""Which of several representations a client likes best, by its header Accept (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Iterable


def preferred_type(accept: str | None, offered: Iterable[str]) -> str:
    """The media type of those offered; of equals the one that is offered first, which is also the last resort.

    >>> offered = ("application/json", "text/html")
    >>> preferred_type("text/html, */*;q=0.8", offered), preferred_type("*/*", offered), preferred_type(None, offered)
    ('text/html', 'application/json', 'application/json')
    """
    ranges = [_range(entry) for entry in (accept or "*/*").split(",")]
    return max(offered, key=lambda media_type: _quality(media_type, ranges))


def _range(entry: str) -> tuple[str, float]:
    name, *parameters = (part.strip().lower() for part in entry.split(";"))
    stated = next((part[2:] for part in parameters if part.startswith("q=")), "1")
    try:
        return name, float(stated)
    except ValueError:
        return name, 0.0


def _quality(media_type: str, ranges: list[tuple[str, float]]) -> float:
    """That of the narrowest range that the type is in."""
    whole, sort = media_type, media_type.split("/", 1)[0] + "/*"
    for wanted in (whole, sort, "*/*"):
        for name, quality in ranges:
            if name == wanted:
                return quality
    return 0.0
