"""What the findings of a chunk are about, and what follows from that alone: the same for all chunks of like axles."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from service.engine.checks.finding import Label
from service.engine.policy import Policy
from service.engine.sensitivity import Array


@dataclass(frozen=True, eq=False)
class Headings:
    """Of f findings their ``labels``, and ``reserves`` (f, 1), how much of a margin must be there for certain."""

    labels: tuple[Label, ...]
    reserves: Array

    @cached_property
    def required(self) -> NDArray[np.bool_]:
        """Which can stop a sale, (f, 1)."""
        return np.array([[label.required] for label in self.labels])

    @cached_property
    def whole_vehicle(self) -> NDArray[np.bool_]:
        """Which are about more than this axle, (f, 1)."""
        return np.array([[label.case == "gross"] for label in self.labels])

    @cached_property
    def check(self) -> NDArray[np.intp]:
        """To which check each belongs, (f, 1), counted in the order in which the checks first appear."""
        names = list(dict.fromkeys(label.check for label in self.labels))
        return np.array([[names.index(label.check)] for label in self.labels])

    @cached_property
    def first_of_check(self) -> NDArray[np.intp]:
        """Where the findings of each check begin once they stand check by check, (checks,)."""
        return np.searchsorted(np.sort(self.check[:, 0]), np.arange(self.check.max() + 1))


@lru_cache(256)
def headings_of(labels: tuple[Label, ...], policy: Policy) -> Headings:
    """The headings of some findings under a policy.

    >>> from service.engine.checks.coil_bind import COIL_BIND
    >>> from service.engine.policy import STANDARD
    >>> headings_of((COIL_BIND,), STANDARD).reserves.tolist()
    [[5.0]]
    """
    return Headings(labels, np.array([[policy.reserve(label.check, label.quantity)] for label in labels]))
