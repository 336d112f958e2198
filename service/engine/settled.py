"""What is left of a chunk of builds once it is decided: plain numbers, one a build, ready to be put into words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np
from numpy import bool_
from numpy.typing import NDArray

from service.engine.build import Build
from service.engine.checks.finding import Label
from service.engine.decision import CLEAR, Codes
from service.engine.foremost import Foremost, foremost_readings
from service.engine.headings import Headings
from service.engine.reading_pointers import pointers_of
from service.engine.sensitivity import Array
from service.engine.worst_first import Places, worst_first

DIGITS = 4
"""Decimals of a reported number: a tenth of a micrometre, far below any reading."""
COVERAGE = 2.0
"""Coverage factor k of a reported ``plus_minus`` (JCGM 100:2008, 6.2)."""


def rounded(numbers: Array) -> Array:
    """As they are reported; no negative zero."""
    return np.asarray(np.round(numbers, DIGITS) + 0.0)


@dataclass(frozen=True)
class SettledPositions:
    """Numbers as read and their standard uncertainties.

    ``values`` and ``spreads`` (5, 4, n): arch-to-hub, seat gap, strut length, motion ratio and spring force at the four
    positions; ``single_values`` and ``single_spreads`` (8, n): lift, arch-to-hub where the coil is solid and where the
    damper is closed, crush available, free length, bump-stop ratio, and arch-to-hub of an articulated solid axle's
    lower and upper wheel; ``stance`` and ``stance_spreads`` (2 or 0, 4, n): camber and toe of a surveyed axle.
    """

    values: Array
    spreads: Array
    single_values: Array
    single_spreads: Array
    stance: Array
    stance_spreads: Array

    @cached_property
    def reported(self) -> tuple[list[list[float]], list[list[float]]]:
        """Values, and expanded uncertainties, one list a build: first those of the positions, then the stance's, then
        the single ones.
        """
        builds = self.values.shape[-1]
        values = (self.values, self.stance, self.single_values)
        spreads = (self.spreads, self.stance_spreads, self.single_spreads)
        told, unsure = (np.concatenate([each.reshape(-1, builds) for each in both]).T for both in (values, spreads))
        return rounded(told).tolist(), rounded(COVERAGE * unsure).tolist()


class Numbers(NamedTuple):
    """One list a build: value, limit and details of each finding one after another; of each finding its outcome code,
    margin and spread as told, whether its bound condemned it, and whether the factory's example acquitted it.
    """

    as_read: list[list[float]]
    codes: list[list[int]]
    margins: list[list[float]]
    spreads: list[list[float]]
    condemned: list[list[bool]]
    acquitted: list[list[bool]]


@dataclass(frozen=True)
class Settled:
    """Findings of n builds on one axle, in the order of the checks; arrays (f, n) but for ``verdict`` (n,).

    ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness of the factory with their standard
    uncertainties; ``shares`` (f, n, k) what each of the ``readings`` contributes to that of the margin, or of the bound
    where that condemned. ``as_read`` (q, n) holds value, limit and details of each finding one after another, the
    details named by ``detail_names``.
    """

    builds: tuple[Build, ...]
    headings: Headings
    detail_names: tuple[tuple[str, ...], ...]
    as_read: Array
    codes: Codes
    by_bound: NDArray[bool_]
    by_factory: NDArray[bool_]
    judged: Array
    spreads: Array
    shares: NDArray[np.float32]
    readings: tuple[str, ...]
    verdict: Codes
    positions: SettledPositions

    @cached_property
    def spans(self) -> list[tuple[int, int]]:
        """Where each finding's value, limit and details begin in ``as_read``, and where they end."""
        return list(pairwise((0, *accumulate(2 + len(names) for names in self.detail_names))))

    @property
    def labels(self) -> tuple[Label, ...]:
        return self.headings.labels

    @cached_property
    def reserves(self) -> list[float]:
        """How much of each finding's margin must be there for certain."""
        return [reserve for (reserve,) in self.headings.reserves.tolist()]

    @cached_property
    def decided_by(self) -> tuple[Array, Array]:
        """Margin and spread (f, n) of each finding as reported; its bound's where that condemned."""
        judged, spreads = (np.where(self.by_bound, each[:, 1], each[:, 0]) for each in (self.judged, self.spreads))
        return rounded(judged), rounded(spreads)

    @cached_property
    def worst_first(self) -> Places:
        """The worst finding of each check, worst check first, (checks, n)."""
        return worst_first(self.headings, self.codes, *self.decided_by)

    @cached_property
    def fails(self) -> list[bool]:
        """Whether a required check on each build is not clear."""
        return np.any(self.headings.required & (self.codes > CLEAR), axis=0).tolist()  # type: ignore[no-any-return]

    @cached_property
    def numbers(self) -> Numbers:
        tables = (self.codes, *self.decided_by, self.by_bound, self.by_factory)
        return Numbers(rounded(self.as_read.T).tolist(), *(each.T.tolist() for each in tables))

    @cached_property
    def foremost(self) -> Foremost:
        """What the uncertainty of each finding comes from."""
        return foremost_readings(self.shares, self.builds[0].axle.columns)

    @cached_property
    def pointers(self) -> tuple[list[str], list[str]]:
        """Where the request would state each reading that ``foremost`` counts: of a build whose spring has no force
        table, and of one whose spring has one.
        """
        axle, columns = self.builds[0].axle.axle, self.builds[0].axle.columns
        own = (*columns.names[: len(columns.names) - len(columns.directions)], *columns.together)
        names = (*own, *self.readings[len(columns.names) :])
        of_linear, of_table = (
            pointers_of(names, len(own), axle.envelope.layout, axle.end, by_table) for by_table in (False, True)
        )
        return of_linear, of_table
