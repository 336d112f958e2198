"""What the findings of a chunk are put into words with: the same for all chunks of like axles and like parts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import accumulate, chain, pairwise
from typing import NamedTuple

import numpy as np

from service.engine.checks.finding import Label
from service.engine.headings import Headings
from service.engine.reading_pointers import Readings, pointers_of
from service.engine.words import JOINTS
from service.engine.worst_first import Places

HEAD = 5
"""How many numbers of a told finding stand before its value: code, condemned, acquitted, margin, spread."""


class Subject(NamedTuple):
    """What one finding is about: how much of its margin must be there for certain, and how its details are named."""

    label: Label
    reserve: float
    detail_names: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Wording:
    """The ``subjects`` of some findings, and where the request would state the readings that they rest on: of a build
    whose spring has no force table, and of one whose spring has one. It equals itself alone.
    """

    subjects: tuple[Subject, ...]
    pointers: tuple[tuple[str, ...], tuple[str, ...]]

    @cached_property
    def spans(self) -> tuple[tuple[int, int], ...]:
        """Where each finding's value, limit and details begin among those of all, and where they end."""
        return tuple(pairwise((0, *accumulate(2 + len(subject.detail_names) for subject in self.subjects))))

    @cached_property
    def told_spans(self) -> tuple[tuple[int, int], ...]:
        """The same of all that is told of each finding."""
        return tuple((first + place * HEAD, end + (place + 1) * HEAD) for place, (first, end) in enumerate(self.spans))

    @cached_property
    def told_bytes(self) -> tuple[slice, ...]:
        """The same in bytes."""
        size = np.dtype(np.float64).itemsize
        return tuple(slice(first * size, end * size) for first, end in self.told_spans)

    @cached_property
    def joints(self) -> list[tuple[str, str, list[int]]]:
        """The joints that findings are about: at which position, which one, and the places of those findings."""
        places: dict[tuple[str, str], list[int]] = {}
        for place, (label, *_) in enumerate(self.subjects):
            if label.check in JOINTS:
                places.setdefault((label.at, label.check), []).append(place)
        return [(at, joint, found) for (at, joint), found in places.items()]

    @cached_property
    def order(self) -> Places:
        """Brings the heads of all findings, each of their numbers for itself, and what follows them finding by finding
        into the order in which they are told.
        """
        count = len(self.subjects)
        heads = ([number * count + place for number in range(HEAD)] for place in range(count))
        rests = (range(HEAD * count + first, HEAD * count + end) for first, end in self.spans)
        return np.array([*chain.from_iterable(chain(*pair) for pair in zip(heads, rests, strict=True))], dtype=np.intp)


@lru_cache(256)
def wording_of(headings: Headings, detail_names: tuple[tuple[str, ...], ...], readings: Readings) -> Wording:
    """What findings of these headings are put into words with."""
    reserves = headings.reserves[:, 0].tolist()
    subjects = tuple(map(Subject, headings.labels, reserves, detail_names))
    return Wording(subjects, (pointers_of(readings, by_table=False), pointers_of(readings, by_table=True)))
