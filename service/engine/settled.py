"""What is left of a chunk of builds once it is decided: plain numbers, one a build, ready to be put into words."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import accumulate

import numpy as np
from numpy import bool_
from numpy.typing import NDArray

from service.engine.build import Build
from service.engine.checks.finding import Label
from service.engine.decision import Codes
from service.engine.sensitivity import Array

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


@dataclass(frozen=True)
class Settled:
    """Findings of n builds on one axle, in the order of the checks; arrays (f, n) but for ``verdict`` (n,).

    ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness of the factory with their standard
    uncertainties; ``shares`` (f, 2, n, k) what each of the ``readings`` contributes to those of margin and bound.
    ``as_read`` (q, n) holds value, limit and details of each finding one after another, the details
    named by ``detail_names``. ``kept`` holds what was worked out from all this once.
    """

    builds: tuple[Build, ...]
    labels: tuple[Label, ...]
    detail_names: tuple[tuple[str, ...], ...]
    as_read: Array
    codes: Codes
    by_bound: NDArray[bool_]
    by_factory: NDArray[bool_]
    judged: Array
    spreads: Array
    shares: Array
    readings: tuple[str, ...]
    verdict: Codes
    positions: SettledPositions
    kept: dict[tuple[int, bool], object] = field(default_factory=dict)

    @cached_property
    def places(self) -> list[int]:
        """Where each finding's value, limit and details begin in ``as_read``, and where the last ones end."""
        return [0, *accumulate(2 + len(names) for names in self.detail_names)]

    @cached_property
    def reported(self) -> tuple[list[list[float]], list[list[list[float]]], list[list[list[float]]]]:
        """``as_read``, ``judged`` and ``spreads`` as reported, one list a build."""
        return (
            rounded(self.as_read.T).tolist(),
            rounded(self.judged.transpose(2, 0, 1)).tolist(),
            rounded(self.spreads.transpose(2, 0, 1)).tolist(),
        )

    @cached_property
    def outcomes(self) -> tuple[list[list[int]], list[list[bool]], list[list[bool]]]:
        """``codes``, ``by_bound`` and ``by_factory``, one list a build."""
        return self.codes.T.tolist(), self.by_bound.T.tolist(), self.by_factory.T.tolist()
