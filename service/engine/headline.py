"""The one finding that a verdict rests on, chosen for many builds at once: where one reason is wanted, not all."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from service.engine.sensitivity import Array
from service.engine.settled import Settled, rounded
from service.engine.told import LEAST_SPREAD, Told, told_of


class Headlines:
    """Of a chunk of builds. ``check(row)`` is the finding that the record's headline tells of."""

    def __init__(self, settled: Settled) -> None:
        self._settled = settled

    def check(self, row: int) -> Told:
        return told_of(self._settled, row, int(self._decisive[row]))

    @cached_property
    def _decisive(self) -> NDArray[np.intp]:
        """Among the findings whose outcome is the verdict those of required checks before others, then the one with the
        least to spare in standard uncertainties (see ``told``); of one check the axle's before the vehicle's.
        """
        settled = self._settled
        alike = (settled.codes == settled.verdict) & ~self._behind_the_axle()
        required = np.array([[label.required] for label in settled.labels])
        first = np.where(required, 0.0, 1.0) + np.where(alike, 0.0, 2.0)
        order = np.lexsort((self._room(), first), axis=0)
        return np.asarray(order[0])

    def _room(self) -> Array:
        settled = self._settled
        policy = settled.builds[0].axle.axle.policy
        reserve = np.array([[policy.reserve(label.check, label.quantity)] for label in settled.labels])
        condemned = settled.by_bound
        margin = rounded(np.where(condemned, settled.judged[:, 1], settled.judged[:, 0]))
        spread = rounded(np.where(condemned, settled.spreads[:, 1], settled.spreads[:, 0]))
        room = (margin - reserve) / np.maximum(spread, LEAST_SPREAD)
        return np.where(np.isnan(room), -np.inf, room)

    def _behind_the_axle(self) -> NDArray[np.bool_]:
        """The whole vehicle's rating stands behind the axle's where both end alike."""
        labels, codes = self._settled.labels, self._settled.codes
        behind = np.zeros(codes.shape, dtype=bool)
        for place, label in enumerate(labels):
            if label.case == "gross":
                axle = next(i for i, each in enumerate(labels) if each.check == label.check and i != place)
                behind[place] = codes[axle] == codes[place]
        return behind
