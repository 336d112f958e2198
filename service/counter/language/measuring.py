"""Ways of measuring: the engine's sentence back to its key, so that it can be drawn and said in another language."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from service.engine.how_to_measure import HOW
from service.engine.words import JOINTS


@dataclass(frozen=True, slots=True)
class Way:
    """``joint`` is the engine's name of the joint that is measured, empty where none is."""

    key: str
    joint: str = ""


@cache
def _ways() -> dict[str, Way]:
    ways: dict[str, Way] = {}
    for key, text in HOW.items():
        if "{joint}" in text:
            ways |= {text.format(joint=name): Way(key, joint) for joint, name in JOINTS.items()}
        else:
            ways.setdefault(text, Way(key))
    return ways


def way_of(how_to_measure: str) -> Way:
    """The way that a record's ``how_to_measure`` tells; without a key where an older engine said it otherwise.

    >>> way_of("Measure the wire with a caliper, on bare steel, at three places.")
    Way(key='wire_mm', joint='')
    """
    return _ways().get(how_to_measure, Way(""))
