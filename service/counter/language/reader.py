"""Who reads: in which language, in which units, and how figures are written for them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.counter.language.english import ENGLISH
from service.counter.language.german import GERMAN
from service.counter.language.german_readings import GERMAN_OWNERS, GERMAN_READINGS

LANGUAGES: Mapping[str, Mapping[str, str]] = {"en": ENGLISH, "de": GERMAN}
UNITS = ("metric", "imperial")
COARSE = 10.0
"""From this expanded uncertainty on, in millimetres, decimals of a millimetre say nothing (JCGM 100:2008, 7.2.6: at
most two digits of the uncertainty)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """``digits`` of a figure that is known well, and of one that is not."""

    sign: str
    factor: float = 1.0
    digits: int = 0
    coarse_digits: int = 0


METRIC = {
    "mm": Unit(" mm", digits=1),
    "deg": Unit("°", digits=1, coarse_digits=0),
    "kg": Unit(" kg"),
    "mpa": Unit(" MPa"),
    "percent": Unit(" %"),
    "n": Unit(" N"),
}
IMPERIAL = METRIC | {
    "mm": Unit(" in", 1 / 25.4, 2, 1),  # an inch is 25.4 mm exactly
    "kg": Unit(" lb", 1 / 0.45359237),  # the international pound, exact
    "n": Unit(" lbf", 1 / 4.4482216152605),  # the pound under standard gravity
}


@dataclass(frozen=True, slots=True)
class Reader:
    language: str = "en"
    units: str = "metric"

    def say(self, key: str, **values: object) -> str:
        """A sentence or word of the page. Raises ``KeyError`` for one that the language lacks."""
        text = LANGUAGES[self.language][key]
        return text.format_map(values) if values else text

    def reading(self, pointer: str) -> str:
        """What a reading is of, in a few words.

        >>> Reader().reading("/axle/travel/stations/+ride/seat_gap_mm")
        'ride seat gap mm'
        >>> Reader("de").reading("/axle/fitted/bump_stop/free_height_mm")
        'Anschlag: Höhe unbelastet, mm'
        """
        owner, field = ["", *pointer.replace("+", "").strip("/").split("/")][-2:]
        if self.language == "de" and field in GERMAN_READINGS:
            owner = f"{self.say('position')} {owner}" if owner.isdigit() else GERMAN_OWNERS.get(owner, owner)
            return f"{owner}: {GERMAN_READINGS[field]}"
        return f"{owner} {field}".strip().replace("_", " ")

    def kind(self, kind: str) -> str:
        """A kind of part.

        >>> Reader().kind("upper_arm"), Reader("de").kind("upper_arm")
        ('upper arm', 'oberer Lenker')
        """
        return GERMAN_OWNERS[kind] if self.language == "de" and kind in GERMAN_OWNERS else kind.replace("_", " ")

    def dimension(self, field: str) -> str:
        """What a field of a part is, without its unit.

        >>> Reader().dimension("thickness_mm"), Reader("de").dimension("thickness_mm")
        ('thickness', 'Dicke')
        """
        if self.language == "de" and field in GERMAN_READINGS:
            return GERMAN_READINGS[field].rpartition(",")[0] or GERMAN_READINGS[field]
        return field.removesuffix("_n_per_mm").removesuffix("_mm").removesuffix("_deg").replace("_", " ")

    @property
    def imperial(self) -> bool:
        return self.units == "imperial"

    def unit(self, quantity: str) -> Unit:
        """The unit of a quantity, by the end of its name."""
        return (IMPERIAL if self.imperial else METRIC)[_sort(quantity)]

    def figure(self, quantity: str, value: float, plus_minus: float | None = None, *, signed: bool = False) -> str:
        """A value with its unit, and its expanded uncertainty where it has one, as exact as that allows.

        Rounded as the engine's sentences are before it is converted, so that both have the same number.

        >>> Reader().figure("lift_mm", 35.871, 4.2), Reader().figure("lift_mm", 35.871, 12.4)
        ('35.9 ±4.2 mm', '36 ±12 mm')
        >>> Reader("de", "imperial").figure("margin_mm", -8.4, signed=True)
        '−0,33 in'
        """
        text = self._rounded(quantity, value, plus_minus, signed=signed)
        if plus_minus is not None:
            text += f" ±{self._rounded(quantity, plus_minus, plus_minus)}"
        return text + self.unit(quantity).sign

    def figure_as_exact(self, quantity: str, value: float, plus_minus: float) -> str:
        """A value with its unit alone, as exact as one with this expanded uncertainty.

        >>> Reader().figure_as_exact("gap_mm", 196.24, 4.3), Reader().figure_as_exact("gap_mm", 196.24, 12.4)
        ('196.2 mm', '196 mm')
        """
        return self._rounded(quantity, value, plus_minus) + self.unit(quantity).sign

    def _rounded(self, quantity: str, value: float, plus_minus: float | None, *, signed: bool = False) -> str:
        unit, told_digits = self.unit(quantity), METRIC[_sort(quantity)].digits
        digits = unit.coarse_digits if (plus_minus or 0.0) >= COARSE else unit.digits
        return self.number(round(value, told_digits) * unit.factor, digits, signed=signed)

    def stated(self, quantity: str, value: float) -> str:
        """A number that somebody stated, with all its decimals where it is not converted.

        >>> Reader("de").stated("mass_kg", 12.5), Reader("en", "imperial").stated("mass_kg", 12.5)
        ('12,5 kg', '28 lb')
        """
        unit = self.unit(quantity)
        text = self.number(value * unit.factor, unit.digits)
        if unit.factor == 1.0:
            text = f"{value:.10g}".replace(".", "," if self.language == "de" else ".")
        return text + unit.sign

    def number(self, value: float, digits: int, *, signed: bool = False) -> str:
        """A number with so many decimals, and with one more where these would make nothing of a little.

        >>> Reader().number(0.0039, 2), Reader().number(0.0, 2)
        ('0.004', '0.00')
        """
        if digits and value and not round(value, digits):
            digits += 1
        text = f"{value:+.{digits}f}" if signed else f"{value:.{digits}f}"
        if not text.strip("+-0."):
            text = text.lstrip("+-")
        text = text.replace("-", "−")
        return text.replace(".", ",") if self.language == "de" else text


def _sort(quantity: str) -> str:
    return quantity.rsplit("_", 1)[-1]
