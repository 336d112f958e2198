"""The readings that a standard uncertainty comes from, against sorting the squares of each by itself."""

import numpy as np
import pytest

from service.engine.foremost import foremost_readings
from service.engine.sensitivity import condensed, spread

NAMES = ("a", "b", "c", "d", "e")
PLAIN = spread(dict.fromkeys(NAMES, (1.0, 1.0)))


def listed(found, row, place):
    return [(reading, share) for reading, share in found[row, place].tolist() if share]


def test_the_greatest_three_of_random_contributions():
    contributions = np.random.default_rng(5).normal(size=(7, 4, 5)).astype(np.float32) ** 3
    found = foremost_readings(contributions, PLAIN)
    for place, row in np.ndindex(7, 4):
        squares = contributions[place, row].astype(float) ** 2
        shares = (squares / squares.sum()).round(3).tolist()
        greatest = sorted(range(5), key=lambda i, shares=shares: -shares[i])[:3]
        assert listed(found, row, place) == [(i, shares[i]) for i in greatest if shares[i] > 0.005]


def test_of_shares_that_are_told_alike_the_first_stands_first():
    shares = np.array([0.1158, 0.1162, 0.7, 0.0341, 0.0339])
    found = foremost_readings(np.sqrt(shares).astype(np.float32).reshape(1, 1, -1), PLAIN)
    assert listed(found, 0, 0) == [(2, 0.7), (0, 0.116), (1, 0.116)]


def test_nothing_is_named_of_what_is_not_known_or_has_no_uncertainty():
    contributions = np.array([[[np.nan] * 5], [[0.0] * 5]], np.float32)
    found = foremost_readings(contributions, PLAIN)
    assert listed(found, 0, 0) == listed(found, 0, 1) == []


def test_fewer_readings_than_are_named():
    found = foremost_readings(np.array([[[3.0, 4.0]]], np.float32), spread({"a": (1.0, 1.0), "b": (1.0, 1.0)}))
    assert listed(found, 0, 0) == [(1, 0.64), (0, 0.36)]
    assert listed(foremost_readings(np.zeros((1, 1, 0), np.float32), spread({})), 0, 0) == []


def test_condensed_readings_are_given_back_what_they_contribute():
    both = condensed(spread({"a": (1.0, 3**0.5), "b": (2.0, 3**0.5)}), [np.array([[3.0, 4.0]])], ["a", "b"])
    found = foremost_readings(np.array([[[5.0]]], np.float32), both)
    assert dict(listed(found, 0, 0)) == pytest.approx({0: 0.36, 1: 0.64})
