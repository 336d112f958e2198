"""The engine's sentences as the page says them: in the reader's language and units.

A record holds its reasons as finished sentences. Each was made from a template of the engine's: it is recognised by
that template, its numbers are taken out, and it is made anew. A sentence that an older engine said otherwise stays English.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from math import ceil, floor, isclose
from typing import Any

from service.counter.language.english import ENGLISH
from service.counter.language.german_advice import GERMAN_HOW, GERMAN_NOTES, SENTENCES
from service.counter.language.german_reasons import GERMAN_REASONS
from service.counter.language.german_reasons import JOINTS as GERMAN_JOINTS
from service.counter.language.german_remedies import GERMAN_SAYS
from service.counter.language.measuring import way_of
from service.counter.language.reader import COARSE, Reader
from service.counter.language.refusals import refusal_in_german
from service.engine.remedies.sentences import SAYS
from service.engine.words import JOINTS, REASONS

Check = Mapping[str, Any]
CLEAR_HEAD = "Nothing in this build meets what it must not. Closest: "
GERMAN_CLEAR_HEAD = "Nichts an diesem Umbau berührt, was es nicht soll. Am nächsten: "
UNKNOWN = "an unknown number of"
NUMBER = rf"-?\d+(?:\.\d+)?|{UNKNOWN}"
WORDS = {"joint": "|".join(JOINTS.values()), "layout": ".+", "name": ".+", "typed": ".*", "article": "An?"}
"""What is no number, and the joints that have names in either language."""
PLACE = "{place} mm"
"""Where a mass sits: the one length that stands beside masses."""
AT_LEAST = ("at least {becomes}", "mindestens {becomes}")
"""Of all other remedies as much as this is the most."""
COVERAGE = 2.0
MOST_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence and the language that it is in."""

    text: str
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Template:
    """An English template, what recognises its sentences, and its German twin; empty where it has none."""

    english: str
    pattern: re.Pattern[str]
    german: str


@dataclass(frozen=True, slots=True)
class Recognised:
    template: Template
    values: Mapping[str, str]


def said(sentence: str, reader: Reader, check: Check | None = None) -> Said:
    """A reason, a headline, an assumption or a remedy; ``check`` is the one it is about, which says how well it is known.

    >>> said("At full bump 5.2 +-4.4 mm of damper travel are left.", Reader("de")).text
    'Voll eingefedert bleiben 5,2 ±4,4 mm Dämpferweg.'
    """
    head = CLEAR_HEAD if sentence.startswith(CLEAR_HEAD) else ""
    found = recognised(sentence.removeprefix(head))
    if found is None:
        return Said(sentence.replace("+-", "±"))
    german = reader.language == "de" and bool(found.template.german)
    template = found.template.german if german else found.template.english
    coarse = check is not None and COVERAGE * (check["standard_uncertainty"] or 0.0) >= COARSE
    text = _filled(template, found.values, reader, coarse=coarse)
    return Said((GERMAN_CLEAR_HEAD if german and head else head) + text, "de" if german else "en")


def said_beneath_its_name(check: Check, reader: Reader) -> Said:
    """A check's reason where the check is named before it: a joint is not named twice."""
    reason = said(check["because"], reader, check)
    head = f"{GERMAN_JOINTS.get(check['check'], '')}: "
    if reason.language != "de" or not reason.text.startswith(head):
        return reason
    rest = reason.text.removeprefix(head)
    return Said(rest[0].upper() + rest[1:], "de")


def said_note(note: Mapping[str, str], reader: Reader) -> Said:
    """A caution, by its code."""
    if reader.language == "de" and note["code"] in GERMAN_NOTES:
        return Said(GERMAN_NOTES[note["code"]], "de")
    return Said(note["text"])


def said_how(how_to_measure: str, reader: Reader) -> Said:
    """A way of measuring."""
    way = way_of(how_to_measure)
    if reader.language == "de" and way.key in GERMAN_HOW:
        return Said(GERMAN_HOW[way.key].format(joint=GERMAN_JOINTS.get(way.joint, "")), "de")
    return Said(how_to_measure)


def said_fault(detail: str, reader: Reader) -> Said:
    """Why the counter, the API or the engine refuses something."""
    if reader.language == "en":
        return Said(detail)
    found = _fault_told(detail)
    german = reader.say(found[0], **found[1]) if found else refusal_in_german(detail)
    return Said(german, "de") if german else Said(detail)


def _fault_told(detail: str) -> tuple[str, dict[str, str]] | None:
    """The counter's own fault and what stands in it, a decimal as Germans write it."""
    for key, pattern in _faults():
        match = pattern.fullmatch(detail)
        if match:
            told = match.groupdict()
            return key, told | {"decimal": told["decimal"].replace(".", ",")} if "decimal" in told else told
    return None


@cache
def _faults() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple((key, _pattern(text)) for key, text in ENGLISH.items() if key.startswith("fault_"))


@lru_cache(MOST_KEPT)
def recognised(sentence: str) -> Recognised | None:
    """The template that a sentence was made from, and what was put into it."""
    for template in _templates():
        match = template.pattern.fullmatch(sentence)
        if match:
            return Recognised(template, match.groupdict())
    return None


@cache
def _templates() -> tuple[Template, ...]:
    both = [(REASONS, GERMAN_REASONS), (SAYS, GERMAN_SAYS)]
    twins = [
        (english, germans.get(key, {}).get(situation, ""))
        for told, germans in both
        for key, situations in told.items()
        for situation, english in situations.items()
    ]
    return tuple(Template(english, _pattern(english), german) for english, german in (*twins, *SENTENCES.items()))


def _pattern(template: str) -> re.Pattern[str]:
    pattern, seen = "", set()
    for index, piece in enumerate(re.split(r"\{(\w+)\}", template)):
        if index % 2 == 0:
            pattern += re.escape(piece)
        elif piece in seen:
            pattern += f"(?P={piece})"
        else:
            seen.add(piece)
            pattern += f"(?P<{piece}>{WORDS.get(piece, NUMBER)})"
    return re.compile(pattern)


def _filled(template: str, values: Mapping[str, str], reader: Reader, *, coarse: bool) -> str:
    """A template with its numbers as the reader has them.

    No template has lengths beside masses but where a mass sits, so that one unit tells what all other numbers are.
    """
    if PLACE in template:
        length = reader.unit("place_mm")
        where = reader.number(float(values["place"]) * length.factor, 0) + length.sign
        template, values = template.replace(PLACE, "{place}"), {**values, "place": where}
    sort = "mm" if " mm" in template else "kg" if " kg" in template else ""
    unit = reader.unit(f"of_{sort}") if sort else None
    if unit is not None and reader.imperial:
        template = _in_their_unit(template, sort, reader).replace(f" {sort}", unit.sign)
        digits, factor = unit.coarse_digits if coarse else unit.digits, unit.factor
    else:
        digits, factor = 0 if coarse and sort == "mm" else -1, 1.0
    shown = {name: _shown(name, text, reader, digits, factor) for name, text in values.items()}
    if "becomes" in values and digits >= 0:
        shown["becomes"] = reader.number(_kept(template, float(values["becomes"]) * factor, digits), digits)
    return template.replace("+-", "±").format_map(shown)


def _kept(template: str, bound: float, digits: int) -> float:
    """What a remedy needs, with so many digits, and never rounded past it."""
    towards = ceil if any(words in template for words in AT_LEAST) else floor
    steps = bound * 10.0**digits
    nearest = round(steps)
    return (nearest if isclose(steps, nearest, rel_tol=1e-9) else towards(steps)) / 10.0**digits


def _in_their_unit(template: str, sort: str, reader: Reader) -> str:
    """A template whose own numbers, which are the same in every sentence, are in the reader's unit."""
    unit = reader.unit(f"of_{sort}")

    def converted(number: re.Match[str]) -> str:
        return reader.number(float(number[1]) * unit.factor, unit.digits) + unit.sign

    return re.sub(rf"(?<![\w.,])(\d+(?:\.\d+)?) {sort}\b", converted, template)


def _shown(name: str, text: str, reader: Reader, digits: int, factor: float) -> str:
    """``digits`` below nought leave them as the engine gave them."""
    german = reader.language == "de"
    if name == "joint":
        joint = next(joint for joint, called in JOINTS.items() if called == text)
        return GERMAN_JOINTS[joint] if german else text
    if name in WORDS or name == "place":
        return text
    if text == UNKNOWN:
        return "unbekannt viele" if german else text
    if digits < 0:
        text = text.replace("-", "−")
        return text.replace(".", ",") if german else text
    return reader.number(float(text) * factor, digits)
