"""Refusals of the API and of the engine, recognised by their templates and said in German."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from service.counter.language.german_readings import GERMAN_OWNERS
from service.counter.language.german_refusals import (
    GERMAN_ENDS,
    GERMAN_LAYOUTS,
    GERMAN_QUANTITIES,
    GERMAN_REFUSALS,
    GERMAN_SPANS,
    GERMAN_STATIONS,
    GERMAN_UNITS,
)
from service.engine.parts import PART_KINDS

NUMBER = r"-?(?:\d[\d,]*(?:\.\d+)?(?:e[+-]?\d+)?|inf)|nan"
VOCABULARY: Mapping[str, Mapping[str, str]] = {
    "part": {kind.replace("_", " "): GERMAN_OWNERS[kind] for kind in PART_KINDS},
    "end": GERMAN_ENDS,
    "layout": GERMAN_LAYOUTS,
    "at": GERMAN_STATIONS,
    "span": GERMAN_SPANS,
    "what": GERMAN_QUANTITIES,
}
"""Words that a place in a template may hold, in both languages."""
AS_IT_IS = {
    "sku": r"\S+",
    "kit": r"\S+",
    "vehicle": r"\S+",
    "unit": r"[\w/ ]+",
    "pattern": ".+",
    "expected": ".+",
    "choices": "'.+'",
}
"""Places whose words are nobody's to translate, but for units in words."""
NAMED_FIRST = ("{part}", "{what}", "{span}")
"""A sentence that begins with one of these begins with a capital."""


def refusal_in_german(detail: str) -> str | None:
    """A refusal in German; nothing where it is none that is known.

    >>> refusal_in_german("12 is no wheelbase: expected 1000 to 10000 (mm).")
    'Radstand: 12 kann nicht stimmen; zu erwarten sind 1000 bis 10000 (mm).'
    """
    for pattern, german in _refusals():
        match = pattern.fullmatch(detail)
        if match:
            said = german.format_map({name: _in_german(name, text) for name, text in match.groupdict().items()})
            return said[:1].upper() + said[1:] if german.startswith(NAMED_FIRST) else said
    return None


@cache
def _refusals() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((_pattern(english), german) for english, german in GERMAN_REFUSALS.items())


def _pattern(template: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w+)\}", template)
    return re.compile("".join(f"(?P<{p}>{_words(p)})" if i % 2 else re.escape(p) for i, p in enumerate(pieces)))


def _words(place: str) -> str:
    name = place.rstrip("2")
    if name in VOCABULARY:
        return "|".join(map(re.escape, VOCABULARY[name]))
    return {"article": "[Aa]n?", "inner": ".+", **AS_IT_IS}.get(name, NUMBER)


def _in_german(place: str, text: str) -> str:
    name = place.rstrip("2")
    if name in VOCABULARY:
        return VOCABULARY[name][text]
    if name == "inner":
        return refusal_in_german(text) or text
    if name == "choices":
        return text.replace(" or ", " oder ")
    if name in AS_IT_IS or name == "article":
        return GERMAN_UNITS.get(text, text)
    number = text.replace(",", "").replace(".", ",")
    return f"−{number[1:]}" if number.startswith("-") else number
