"""From a margin, its standard uncertainty and a reserve to an outcome; from outcomes to a verdict.

    unsafe    margin < 0: the best estimate has metal in contact, or a joint past its stop
    clear     P(margin >= reserve) >= the policy's probability (guarded acceptance, JCGM 106:2012, 8.3.2)
    marginal  otherwise

What is not known is ``undetermined``, never milder; and an outcome of the factory build itself settles a check only
where the build takes the part no further (see ``outcomes``).
"""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.engine.reading import RECTANGULAR
from service.engine.sensitivity import Array

NOT_APPLICABLE, CLEAR, MARGINAL, UNDETERMINED, UNSAFE = range(5)
OUTCOMES = ("not_applicable", "clear", "marginal", "undetermined", "unsafe")
ACTIONS = {"clear": "sell", "marginal": "refer", "undetermined": "refer", "unsafe": "stop"}
Codes = NDArray[np.int8]

NOTHING = 1e-6
"""Below this a difference in mm, kg or MPa is rounding, not a difference."""


def conformity_probability(margin: ArrayLike, standard_uncertainty: ArrayLike) -> Array:
    """P(margin >= 0) for a normal margin; arrays broadcast, not-a-number stays so.

    With no uncertainty at all it is 1 for a margin of 0 or more and 0 below. Source: JCGM 106:2012, 7.3 (figures of
    its examples known from memory, see the tests).

    >>> conformity_probability([3.0, -1.0, 0.5], [0.0, 0.0, 0.5]).round(4).tolist()
    [1.0, 0.0, 0.8413]
    """
    margin, spread = np.broadcast_arrays(np.asarray(margin, float), np.asarray(standard_uncertainty, float))
    normal = NormalDist()
    values = [
        np.nan if np.isnan(m) or np.isnan(u) else float(m >= 0.0) if u == 0.0 else normal.cdf(m / u)
        for m, u in zip(margin.ravel(), spread.ravel(), strict=True)
    ]
    return np.array(values).reshape(margin.shape)


@lru_cache(16)
def guard_factor(probability: float) -> float:
    """How many standard uncertainties a margin must exceed its reserve by (one-sided, normal).

    >>> round(guard_factor(0.975), 4)
    1.96
    """
    return NormalDist().inv_cdf(probability)


def half_width_of_divisor(value: float, half_width: float, probability: float) -> float:
    """Half-width with which a reading that others are divided by is propagated, in its own unit; at least its own.

    First order takes k / x as straight in x. It is steeper below the reading than above, so that the guard would cover
    less than it promises where x is known but roughly. With this half-width a' it reaches as far as k / x does at the
    quantile of a rectangular x:

        guard a' / (sqrt(3) x^2)  =  1 / (x - c) - 1 / x        c = (2 p - 1) a

    ``value`` x > 0, ``half_width`` a < x, ``probability`` p > 0.5. What is known to a sixth of itself needs nothing.

    >>> half_width_of_divisor(0.58, 0.02, 0.975), round(half_width_of_divisor(0.60, 0.20, 0.975), 3)
    (0.02, 0.246)
    """
    reached = (2.0 * probability - 1.0) * half_width
    covering = reached * value / ((value - reached) * guard_factor(probability) * RECTANGULAR)
    return max(half_width, covering)


def outcomes(margin: Array, standard_uncertainty: Array, reserve: Array, guard: float) -> Codes:
    """Outcome of each margin (arrays broadcast): the rule at the head of this file.

    >>> outcomes(np.array([-1.0, 4.0, 9.0, np.nan]), np.array([2.0]), np.array([5.0]), 1.96).tolist()
    [4, 2, 1, 3]
    """
    known = np.isfinite(margin) & np.isfinite(standard_uncertainty)
    with np.errstate(invalid="ignore"):
        clear = margin - reserve >= guard * standard_uncertainty - NOTHING
        unsafe = margin < -NOTHING
    return np.where(~known, UNDETERMINED, np.where(unsafe, UNSAFE, np.where(clear, CLEAR, MARGINAL))).astype(np.int8)


def no_further(short_of_factory: Array, standard_uncertainty: Array, guard: float) -> NDArray[np.bool_]:
    """Whether a part is taken no further than the factory build takes it, with the policy's probability.

    ``short_of_factory`` is how far short of it, >= 0 being no further; what is not known is no.

    >>> no_further(np.array([0.0, 3.0, 3.0, np.nan]), np.array([0.0, 1.0, 2.0, 0.0]), 1.96).tolist()
    [True, True, False, False]
    """
    with np.errstate(invalid="ignore"):
        return np.asarray(short_of_factory - guard * standard_uncertainty >= -NOTHING)


def overall(codes: Codes, required: NDArray[np.bool_]) -> Codes:
    """Verdict of each build from its checks' outcomes, both (checks, n); required checks alone can stop or withhold.

    >>> overall(np.array([[1], [2]], np.int8), np.array([[True], [False]])).tolist()
    [2]
    """
    strict = np.where(required, codes, np.minimum(codes, MARGINAL))
    strict = np.where(~required & (codes == UNDETERMINED), CLEAR, strict)
    return np.asarray(np.maximum(strict.max(axis=0), CLEAR), dtype=np.int8)
