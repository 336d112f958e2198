"""For each of many builds the one finding that its headline tells, without putting all the others into words.

A record with its sentences costs more than the evaluation itself. Here the finding is chosen over arrays, by the very
rule that a record follows (see ``told``), and it alone is worded.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import NamedTuple

import numpy as np

from service.engine.decision import ACTIONS, OUTCOMES
from service.engine.evaluation import Verdicts
from service.engine.settled import COVERAGE, Settled, rounded
from service.engine.told import finding
from service.engine.worst_first import Places


class InShort(NamedTuple):
    """The verdict on a build with its one reason.

    ``because`` is what the headline of its record says of the ``check`` that the verdict rests on; ``lift_mm`` is the
    lift and its expanded uncertainty, mm, None where it is not known.
    """

    verdict: str
    action: str
    check: str
    because: str
    lift_mm: tuple[float, float] | None


def in_short(verdicts: Verdicts) -> list[InShort]:
    """Each verdict with its foremost reason, in the order of the builds.

    >>> from service.engine import STANDARD, AxleEnvelope, Reading, Station, Travel, assemble, compile_axle, evaluate
    >>> ride = Station("ride", Reading(520.0), Reading(280.0))
    >>> axle = compile_axle(AxleEnvelope("macpherson", Travel((ride,))), None, "front", STANDARD)
    >>> in_short(evaluate([assemble(axle)]))[0].action  # the axle as it left the factory
    'sell'
    """
    chunks: dict[int, tuple[Settled, list[tuple[int, int]]]] = {}
    for index in range(len(verdicts.codes)):
        settled, row = verdicts.place(index)
        chunks.setdefault(id(settled), (settled, []))[1].append((index, row))
    found: dict[int, InShort] = {}
    for settled, places in chunks.values():
        told = list(_chunk_in_short(settled))
        found.update((index, told[row]) for index, row in places)
    return [found[index] for index in range(len(verdicts.codes))]


def foremost_places(settled: Settled) -> Places:
    """Which finding (n,) makes the headline of each build of a chunk, as ``told.decisive`` has it: the worst one with
    the verdict's own outcome, or the worst of all where none has it.
    """
    of_build = np.arange(len(settled.verdict))
    has_it = settled.codes[settled.worst_first, of_build] == settled.verdict
    return np.asarray(settled.worst_first[has_it.argmax(axis=0), of_build], dtype=np.intp)


def _chunk_in_short(settled: Settled) -> Iterator[InShort]:
    lifts = (settled.positions.single_values[0], COVERAGE * settled.positions.single_spreads[0])
    lift, plus_minus = (rounded(each).tolist() for each in lifts)
    places, verdicts, wording = foremost_places(settled).tolist(), settled.verdict.tolist(), settled.wording
    for row, (place, code) in enumerate(zip(places, verdicts, strict=True)):
        told = finding(wording, place, settled.told[row, slice(*wording.told_spans[place])].tolist())
        known = isfinite(lift[row]) and isfinite(plus_minus[row])
        yield InShort(
            OUTCOMES[code], ACTIONS[OUTCOMES[code]], told.label.check, told.because(),
            (lift[row], plus_minus[row]) if known else None,
        )  # fmt: skip
