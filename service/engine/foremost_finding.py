"""For each of many builds the one finding that its headline tells, without putting all the others into words.

A record with its sentences costs more than the evaluation itself. Here the finding is chosen over arrays, by the very
rule that a record follows (see ``told``), and it alone is worded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.decision import ACTIONS, OUTCOMES
from service.engine.evaluation import Verdicts
from service.engine.sensitivity import Array
from service.engine.settled import COVERAGE, Settled, rounded
from service.engine.told import LEAST_SPREAD, Told

Flags = NDArray[np.bool_]
Places = NDArray[np.intp]


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
    """Which finding (n,) makes the headline of each build of a chunk: a record's rule, over arrays.

    Of each check its worst finding counts: by outcome, the axle's before the whole vehicle's, what is required, what is
    left. Among these the worst with the verdict's own outcome is told, or the worst of all where none has it.
    """
    margin, spread = _decided_by(settled)
    labels = settled.labels
    reserve = np.array(_reserves(settled))[:, None]
    with np.errstate(invalid="ignore"):
        room = (margin - reserve) / np.maximum(spread, LEAST_SPREAD)
    room[np.isnan(room)] = -np.inf
    milder = -settled.codes.astype(np.float64)
    advisory = _column([not label.required for label in labels])
    whole_vehicle = _column([label.case == "gross" for label in labels])
    worst = np.stack(
        [
            places[_first_least((milder[places], whole_vehicle[places], advisory[places], room[places]))]
            for places in _of_each_check(settled)
        ]
    )

    def of_worst(quantity: Array) -> Array:
        return np.take_along_axis(np.broadcast_to(quantity, room.shape), worst, axis=0)

    other = (of_worst(milder) != -settled.verdict).astype(np.float64)
    chosen = _first_least((other, of_worst(milder), of_worst(advisory), of_worst(room)))
    return np.asarray(np.take_along_axis(worst, chosen[None, :], axis=0)[0], dtype=np.intp)


def _decided_by(settled: Settled) -> tuple[Array, Array]:
    """Margin and spread (f, n) of each finding as reported; its bound's where that condemned."""
    judged, spreads = (np.where(settled.by_bound, each[:, 1], each[:, 0]) for each in (settled.judged, settled.spreads))
    return rounded(judged), rounded(spreads)


def _reserves(settled: Settled) -> list[float]:
    policy = settled.builds[0].axle.axle.policy
    return [policy.reserve(label.check, label.quantity) for label in settled.labels]


def _of_each_check(settled: Settled) -> list[Places]:
    """The places of each check's findings, in the order in which the checks come first."""
    places: dict[str, list[int]] = {}
    for place, label in enumerate(settled.labels):
        places.setdefault(label.check, []).append(place)
    return [np.array(each, dtype=np.intp) for each in places.values()]


def _column(flags: Sequence[bool]) -> Array:
    return np.array(flags, dtype=np.float64)[:, None]


def _first_least(keys: Sequence[Array]) -> Places:
    """Of rows (m, n), or (m, 1), compared by one key after the other the first that is least, (n,)."""
    left: Flags = np.ones(np.broadcast_shapes(*(key.shape for key in keys)), dtype=bool)
    for key in keys if len(left) > 1 else ():
        among = np.where(left, key, np.inf)
        left &= among == among.min(axis=0)
    return np.asarray(left.argmax(axis=0), dtype=np.intp)


def _chunk_in_short(settled: Settled) -> Iterator[InShort]:
    places = foremost_places(settled)
    chosen = (places, np.arange(len(places)))
    margin, spread = _decided_by(settled)
    decided = (settled.codes, margin, spread, settled.by_bound, settled.by_factory)
    findings = zip(places.tolist(), *(each[chosen].tolist() for each in decided), strict=True)
    reserves = _reserves(settled)
    lifts = (settled.positions.single_values[0], COVERAGE * settled.positions.single_spreads[0])
    lift, plus_minus = (rounded(each).tolist() for each in lifts)
    numbers, verdicts = _as_read(settled, places), settled.verdict.tolist()
    for row, (place, code, left, unsure, condemned, acquitted) in enumerate(findings):
        value, limit, *details = numbers[row]
        verdict = OUTCOMES[verdicts[row]]
        finding = Told(
            settled.labels[place], code, left + limit if condemned else value, limit, reserves[place], left, unsure,
            condemned, acquitted, dict(zip(settled.detail_names[place], details, strict=True)), place,
        )  # fmt: skip
        known = isfinite(lift[row]) and isfinite(plus_minus[row])
        yield InShort(
            verdict, ACTIONS[verdict], finding.label.check, finding.because(),
            (lift[row], plus_minus[row]) if known else None,
        )  # fmt: skip


def _as_read(settled: Settled, places: Places) -> list[list[float]]:
    """Value, limit and details of the chosen finding of each build, as reported."""
    starts = settled.places
    numbers: list[list[float]] = [[]] * len(places)
    for place in np.unique(places).tolist():
        rows = np.flatnonzero(places == place)
        told = rounded(settled.as_read[starts[place] : starts[place + 1], rows].T).tolist()
        for row, each in zip(rows.tolist(), told, strict=True):
            numbers[row] = each
    return numbers
