"""What to measure next, as rows with an input: a verdict that cannot be given becomes a sheet to be filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from service.counter.form import READING
from service.counter.language.measuring import Way, way_of
from service.counter.language.reader import Reader
from service.counter.language.sentences import Said, said_how
from service.counter.pictures.svg import beside_words
from service.counter.pictures.tape import tape_drawing
from service.counter.readings import CHOICES

STATIONS = "/axle/travel/stations"
TAPED = {"height_at_": "arch_to_hub_mm", "seat_gap_at_": "seat_gap_mm", "damper_length_at_": "damper_length_mm"}
UNITS = ("n_per_mm", "mm", "deg", "kg", "mpa", "n")
UNBROKEN = "\N{NO-BREAK SPACE}"
NO_SINGLE_NUMBER = ("hard_points", "tyre_gap")


@dataclass(frozen=True, slots=True)
class Row:
    """``name`` is the input's, empty where one number does not answer; ``choices`` where words do, each in words."""

    name: str
    how: Said
    needed_for: str
    unit: str
    choices: tuple[tuple[str, str], ...]
    drawing: Markup

    def for_a_pen(self, length: int) -> str:
        """On paper: the words to mark one of, or a line to write on, with its unit where one number answers."""
        if self.choices:
            return "  ".join(f"○ {word}".replace(" ", UNBROKEN) for _, word in self.choices)
        return f"{self.unit}:{UNBROKEN}{'_' * length}" if self.name else "_" * length


def rows(record: Mapping[str, Any], reader: Reader) -> list[Row]:
    """The record's missing readings."""
    return list(_rows(record, reader))


def _rows(record: Mapping[str, Any], reader: Reader) -> Iterator[Row]:
    drawn: set[str] = set()
    for missing in record["missing"]:
        way = way_of(missing["how_to_measure"])
        pointer = input_pointer(missing["field"], way)
        field = pointer.rsplit("/", 1)[-1]
        drawing = tape_drawing(way.key) if way.key not in drawn else None
        drawn.add(way.key)
        yield Row(
            READING + pointer if pointer else "",
            said_how(missing["how_to_measure"], reader),
            ", ".join(reader.say("check_" + check) for check in missing["needed_for"]),
            reader.say("unit_" + unit_of(field)),
            tuple((choice, reader.say("choice_" + choice)) for choice in CHOICES.get(field, ())),
            Markup(beside_words(drawing)) if drawing else Markup(),  # noqa: S704 - our own
        )


def input_pointer(field: str, way: Way) -> str:
    """Where a reading goes; empty where a single number does not say it.

    >>> input_pointer("/axle/travel/stations", Way("seat_gap_at_bump_contact"))
    '/axle/travel/stations/+bump_contact/seat_gap_mm'
    """
    if field == STATIONS:
        for start, name in TAPED.items():
            if way.key.startswith(start):
                return f"{STATIONS}/+{way.key.removeprefix(start)}/{name}"
        return ""
    if field.startswith("/axle/limits/") and field.count("/") == 3:
        return f"{field}/reached_at_arch_to_hub_mm"
    return "" if any(name in field for name in NO_SINGLE_NUMBER) else field


def unit_of(field: str) -> str:
    """The unit at the end of a field's name; none of a count or a ratio.

    >>> unit_of("rate_n_per_mm"), unit_of("total_coils")
    ('n_per_mm', '')
    """
    return next((unit for unit in UNITS if field.endswith("_" + unit)), "kg" if "_kg_" in field else "")
