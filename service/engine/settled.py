"""What is left of a chunk of builds once it is decided: plain numbers, one a build, ready to be put into words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy import bool_
from numpy.typing import NDArray

from service.engine.build import Build
from service.engine.decision import CLEAR, Codes
from service.engine.foremost import foremost_readings
from service.engine.headings import Headings, headings_of
from service.engine.places import RIDE
from service.engine.reading_pointers import Readings
from service.engine.sensitivity import Array
from service.engine.wording import Wording, wording_of
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

    def at_other_rides(self, values: Array, spreads: Array) -> SettledPositions:
        """These of one outfit under n loads, with other numbers (q, n) for the lift, for the ride height and for the
        stance there.
        """
        at, single, stance = _at_other_rides((self.values, self.single_values, self.stance), values)
        spread, unsure, loose = _at_other_rides((self.spreads, self.single_spreads, self.stance_spreads), spreads)
        return SettledPositions(at, spread, single, unsure, stance, loose)

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


def _at_other_rides(of_outfit: Sequence[Array], now: Array) -> list[Array]:
    at, single, stance = (each.repeat(now.shape[1], axis=-1) for each in of_outfit)
    single[0], at[:, RIDE], stance[:, RIDE] = now[0], now[1 : 1 + len(at)], now[1 + len(at) :]
    return [at, single, stance]


OF_FINDINGS = ("as_read", "codes", "by_bound", "by_factory", "judged", "spreads")
"""What has a row for each finding, or several."""


def _under(of_outfit: Array, of_load: Array) -> Array:
    """Numbers (f, ..., 1) that hold under all of n loads, and below them those (g, ..., n) that do not."""
    count = of_load.shape[-1]
    return np.concatenate([np.broadcast_to(of_outfit, (*of_outfit.shape[:-1], count)), of_load])


@dataclass(frozen=True)
class Settled:
    """Findings of n builds on one axle, in the order of the checks; arrays (f, n) but for ``verdict`` (n,).

    ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness of the factory with their standard
    uncertainties; ``shares`` (f, n, k) what each of the ``readings`` contributes to that of the margin, or of the bound
    where that condemned. ``as_read`` (q, n) holds value, limit and details of each finding one after another, the
    details named by ``detail_names``. The first ``of_outfit`` findings are the same under every load. Where all builds
    are one ``outfit``, they are those of its one row, and ``shares`` are of the others alone.
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
    of_outfit: int
    outfit: Settled | None = None

    def under(self, of_load: Settled) -> Settled:
        """What is found of an outfit, one row, and behind it what is found ``of_load``, of n loads on it."""
        labels, policy = (*self.headings.labels, *of_load.headings.labels), self.builds[0].axle.axle.policy
        joined: dict[str, Any] = {name: _under(getattr(self, name), getattr(of_load, name)) for name in OF_FINDINGS}
        return replace(
            of_load, **joined, headings=headings_of(labels, policy),
            detail_names=(*self.detail_names, *of_load.detail_names),
            verdict=np.maximum(self.verdict, of_load.verdict), of_outfit=len(self.codes), outfit=self,
        )  # fmt: skip

    @cached_property
    def wording(self) -> Wording:
        """What the findings are put into words with."""
        axle, columns = self.builds[0].axle.axle, self.builds[0].axle.columns
        own = (*columns.names[: len(columns.names) - len(columns.directions)], *columns.together)
        names = (*own, *self.readings[len(columns.names) :])
        readings = Readings(names, len(own), axle.envelope.layout, axle.end)
        return wording_of(self.headings, self.detail_names, readings)

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
    def told(self) -> Array:
        """What is told of each build, (n, t), finding by finding: its outcome code, whether its bound condemned it and
        whether the factory's example acquitted it, margin and spread, then value, limit and details.
        """
        heads = np.stack([self.codes, self.by_bound, self.by_factory, *self.decided_by])
        numbers = np.concatenate([heads.reshape(-1, heads.shape[-1]), rounded(self.as_read)])
        return np.ascontiguousarray(numbers[self.wording.order].T)

    @cached_property
    def told_of_load(self) -> tuple[list[list[float]], list[list[list[float]]]]:
        """The last of ``told`` and ``foremost`` (its last two axes as one), those of the findings behind the outfit's,
        as lists.
        """
        spans, foremost = self.wording.told_spans[self.of_outfit :], self.foremost
        shares = foremost.reshape(*foremost.shape[:2], -1)[:, foremost.shape[1] - len(spans) :]
        return self.told[:, spans[0][0] :].tolist(), shares.tolist()

    @cached_property
    def foremost(self) -> Array:
        """What the uncertainty of each finding comes from, in the order of ``shares``, (n, f, MOST, 2)."""
        return foremost_readings(self.shares, self.builds[0].axle.columns)
