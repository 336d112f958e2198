"""Which language a request asks for: by its query first, else by ``Accept-Language``."""

from __future__ import annotations

from collections.abc import Mapping

from service.counter.language.reader import LANGUAGES, UNITS, Reader


def reader_of(query: Mapping[str, str], accept_language: str) -> Reader:
    """Who reads. What is not known is passed over: a page in English is better than none."""
    language = query.get("lang", "")
    units = query.get("units", "")
    return Reader(
        language if language in LANGUAGES else preferred(accept_language), units if units in UNITS else UNITS[0]
    )


def preferred(accept_language: str) -> str:
    """The language that a header likes best of those there are (RFC 9110, 12.5.4), else English.

    >>> preferred("fr, de-AT;q=0.8, en;q=0.5"), preferred("de;q=0"), preferred("")
    ('de', 'en', 'en')
    """
    ranked: list[tuple[float, int, str]] = []
    for place, entry in enumerate(accept_language.split(",")):
        name, _, quality = entry.strip().lower().partition(";q=")
        language = name.split("-", 1)[0]
        weight = _weight(quality)
        if language in LANGUAGES and weight > 0.0:
            ranked.append((-weight, place, language))
    return min(ranked)[2] if ranked else "en"


def _weight(quality: str) -> float:
    try:
        return float(quality or "1")
    except ValueError:
        return 0.0
