"""Builds in, verdicts out: one path for one build and for a million."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.brought import brought_by
from service.engine.build import Build
from service.engine.decided import decided, findings_of, reduced
from service.engine.decision import Codes
from service.engine.followers import followed_of
from service.engine.positions import Positions
from service.engine.record import LIFT, record_of
from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.settled import Settled, SettledPositions
from service.engine.told import Told, told_worst_first

CHUNK = 128
"""Builds computed at once: large enough to spread the cost of a call, small enough for its arrays to stay in cache."""


@dataclass(frozen=True, slots=True)
class Verdicts:
    """``codes[i]`` is the outcome code of build i (see ``decision``); ``record(i)`` everything that is known of it."""

    codes: Codes
    _settled: tuple[Settled, ...]
    _place: tuple[tuple[int, int], ...]

    def record(self, index: int) -> dict[str, object]:
        """The verdict on build ``index`` as plain values ready for JSON, in the form of the HTTP contract.

        Its checks are those of other records too, where the same is said of them: they must not be changed.
        """
        return record_of(*self.place(index))

    def checks(self, index: int) -> list[Told]:
        """The worst finding of each check on build ``index``, worst check first."""
        return told_worst_first(*self.place(index))

    def fails(self, index: int) -> bool:
        """Whether a required check on build ``index`` is not clear: something is there to be mended."""
        settled, row = self.place(index)
        return settled.fails[row]

    def lift_mm(self, index: int) -> tuple[float, float]:
        """Lift of build ``index`` and its expanded uncertainty, mm; not-a-number where it is not known."""
        settled, row = self.place(index)
        values, plus_minus = settled.positions.reported
        return values[row][LIFT], plus_minus[row][LIFT]

    def place(self, index: int) -> tuple[Settled, int]:
        """Where build ``index`` stands: the chunk in which it was settled, and its row there."""
        chunk, row = self._place[index]
        return self._settled[chunk], row


def evaluate(builds: Sequence[Build]) -> Verdicts:
    """The verdicts on ``builds``, in their order; a batch of one is the single case.

    Builds on one axle are computed together. Never raises on a build that ``assemble`` made: what cannot be told is
    an outcome.
    """
    codes = np.zeros(len(builds), dtype=np.int8)
    place = [(0, 0)] * len(builds)
    settled: list[Settled] = []
    for members in _chunks(builds):
        result = _settle([builds[i] for i in members])
        codes[members] = result.verdict
        for row, member in enumerate(members):
            place[member] = (len(settled), row)
        settled.append(result)
    return Verdicts(codes, tuple(settled), tuple(place))


def _chunks(builds: Sequence[Build]) -> Iterator[list[int]]:
    by_axle: dict[int, list[int]] = {}
    for index, build in enumerate(builds):
        by_axle.setdefault(id(build.axle), []).append(index)
    for members in by_axle.values():
        for start in range(0, len(members), CHUNK):
            yield members[start : start + CHUNK]


def _settle(builds: Sequence[Build]) -> Settled:
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        rows = Rows(brought_by(builds))
        build, findings = findings_of(rows)
        result = decided(findings, rows)
        return Settled(
            tuple(builds), result.headings, tuple(tuple(f.details) for f in findings),
            _as_read([q for f in findings for q in (f.value, f.limit, *f.details.values())], len(builds)),
            result.codes, result.by_bound, result.by_factory, result.judged, result.spreads,
            result.shares, rows.readings, result.verdict, _settled_positions(build, rows),
        )  # fmt: skip


def _as_read(quantities: Sequence[Array], count: int) -> Array:
    table = np.empty((len(quantities), count))
    for place, quantity in zip(table, quantities, strict=True):
        place[:] = quantity[:, 0]
    return table


def _settled_positions(build: Positions, rows: Rows) -> SettledPositions:
    four = (build.arch_to_hub_mm, build.seat_gap_mm, build.damper_length_mm, build.motion_ratio, build.spring_force_n)
    quantities = [at for quantity in four for at in quantity]
    singles = [
        build.lift_mm,
        build.solid_at_mm,
        build.closed_at_mm,
        rows.crush,
        rows["free_length"],
        rows["bump_stop_ratio"],
        *build.articulated_mm,
    ]
    stance = _stance(build, rows)
    values, spreads = reduced([*quantities, *singles, *stance], rows)
    return SettledPositions(
        values[:20].reshape(5, 4, -1), spreads[:20].reshape(5, 4, -1), values[20:28], spreads[20:28],
        values[28:].reshape(-1, 4, values.shape[1]), spreads[28:].reshape(-1, 4, values.shape[1]),
    )  # fmt: skip


def _stance(build: Positions, rows: Rows) -> Array:
    """Camber and toe at the four positions, one after the other; nothing on an axle that was not surveyed."""
    surveyed = rows.axle.travel.surveyed
    return build.followers if surveyed is None else build.followers[followed_of(surveyed.angles.names).stance :]
