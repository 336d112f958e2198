"""A number stands on a sheet several times: in a sentence, in a drawing, in a table. It is the same one everywhere."""

import re

import pytest

from service.counter.language.reader import Reader
from service.counter.language.sentences import said
from service.counter.pictures.margins import margins_drawing
from service.counter.pictures.spring import spring_drawing
from service.engine.told import _printed

READERS = [Reader(language, units) for language in ("en", "de") for units in ("metric", "imperial")]
SENTENCES = {
    "mm": ("damper_bottoming", "At full bump {left} +-{plus_minus} mm of damper travel are left."),
    "kg": (
        "axle_rating",
        "Loaded, the axle carries 9 kg of its 10 kg; the {left} +-{plus_minus} kg left are not certain.",
    ),
}
STEPS = [0.0371 * step for step in range(1, 900)]


def numbers(text):
    """The numbers of a text as they are meant: ``5.0`` and ``5`` are the same."""
    return [float(each.replace(",", ".")) for each in re.findall(r"\d+(?:[.,]\d+)?", text)]


def figures(reader, unit, margin, spread):
    """The margin and its uncertainty as the sentence has them, and as the drawing does."""
    name, template = SENTENCES[unit]
    check = {
        "check": name, "outcome": "clear", "quantity": f"left_{unit}", "margin": margin, "reserve": 0.0,
        "standard_uncertainty": spread,
    }  # fmt: skip
    digits = 0 if unit == "kg" else 1
    sentence = template.format(left=_printed(margin, digits), plus_minus=_printed(2.0 * spread, digits))
    drawn = margins_drawing({"checks": [check]}, reader).description
    return numbers(said(sentence, reader, check).text)[-2:], numbers(drawn)[-2:]


@pytest.mark.parametrize("unit", SENTENCES)
@pytest.mark.parametrize("reader", READERS, ids=lambda reader: f"{reader.language} {reader.units}")
@pytest.mark.parametrize("times", [0.07, 0.4])
def test_sentence_and_drawing_have_the_same_numbers(reader, unit, times):
    differing = [
        (margin, pair)
        for margin in STEPS
        if (pair := figures(reader, unit, margin, times * margin)) and pair[0] != pair[1]
    ]
    assert differing == []


BUILDS = [
    ("tarn-300-double-cab", "front", "KES-SPR-4030", "KES-TOP-20"),
    ("veldram-18-flatbed", "front", "KES-SPR-V2540"),
    ("wendrith-4-estate", "front", "KES-SPR-W2500"),
    ("stenmoor-340-wagon", "front", "KES-SPR-S3540"),
]


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: f"{reader.language} {reader.units}")
@pytest.mark.parametrize("build", BUILDS, ids=" ".join)
def test_the_spring_is_as_long_in_its_drawing_as_in_its_reason(verdict, reader, build):
    record = verdict(*build)
    check = next(each for each in record["checks"] if each["check"] == "coil_bind")
    reason = numbers(said(check["because"], reader, check).text)
    gap, solid, *_ = numbers(spring_drawing(record, reader).description)
    if "seat gap" in check["because"]:
        assert {gap, solid} <= set(reason)
