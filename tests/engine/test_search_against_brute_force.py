"""The search finds exactly what trying every combination by itself finds, in the documented order."""

import pytest
from random_catalogues import catalogue, ranked, tried

from service.engine.search import blocks, combinations, search

CATALOGUES = 50


@pytest.mark.parametrize("seed", range(CATALOGUES))
def test_a_search_equals_trying_every_combination(seed, monkeypatch):
    wanted = catalogue(seed)
    total, refused, judged = tried(wanted)
    found = search(wanted)
    monkeypatch.setattr(blocks, "LEAST_INSIDE", 1)
    bounded = search(wanted)
    assert (bounded.clear, bounded.near_misses) == (found.clear, found.near_misses)
    assert (bounded.combinations, bounded.refused) == (found.combinations, found.refused)
    assert combinations(wanted) == total
    assert (found.combinations, found.refused) == (total - refused, refused)
    clear = ranked([each for each in judged if not each["held"]])
    near = ranked([each for each in judged if len(each["held"]) == 1])[: wanted.near_misses]
    assert names(found.clear) == [named(each["parts"]) for each in clear]
    assert names(found.near_misses) == [named(each["parts"]) for each in near]
    for candidate, each in zip((*found.clear, *found.near_misses), (*clear, *near), strict=True):
        assert candidate.verdict == each["verdict"]
        assert candidate.lift_error_mm == (each["error"] if wanted.target and each["error"] < 1e9 else None)
        assert (candidate.nonconformity_probability or 0.0) == pytest.approx(each["nonconformity"] % 2.0, abs=1.5e-6)
        if each["held"]:
            assert candidate.worst.check == each["held"][0]
    assert found.clear_in_all == len(clear)
    assert found.pruned + found.evaluated == found.combinations


def test_the_random_catalogues_are_worth_the_trouble():
    """There is something to find in many of them, something near in many, and much to prune."""
    all_found = [search(catalogue(seed)) for seed in range(CATALOGUES)]
    assert sum(found.clear_in_all > 0 for found in all_found) > CATALOGUES // 4
    assert sum(len(found.near_misses) > 0 for found in all_found) > CATALOGUES // 4
    assert sum(found.pruned for found in all_found) > 0.4 * sum(found.combinations for found in all_found)
    assert sum(found.refused for found in all_found) > 0


def named(parts) -> list[str]:
    return sorted(part.name for part in parts)


def names(candidates) -> list[list[str]]:
    return [named(candidate.parts) for candidate in candidates]


def test_it_tells_how_far_it_is_and_can_be_stopped_at_any_time():
    wanted = next(each for each in map(catalogue, range(CATALOGUES)) if each.near_misses and combinations(each) > 50)
    told = []
    search(wanted, lambda done, of: told.append((done, of)))
    total = combinations(wanted)
    assert told[0] == (0, total)
    assert told[-1] == (total, total)
    assert sorted(told) == told
    assert told.count((total, total)) > 1  # while it looks for near misses too

    def stop_at(count):
        calls = iter(range(count))

        def tell(_done, _of):
            next(calls)

        return tell

    for count in range(len(told)):
        with pytest.raises(StopIteration):
            search(wanted, stop_at(count))
