"""How fast the engine is: one evaluation and its parts in microseconds, many at once in builds per second.

    python tests/benchmarks/engine.py [--rows 10000] [--rounds 5]

Every time is processor time, the best of several rounds in one process on one core: what the machine can do when nobody
disturbs it.
"""

import argparse
import resource
import sys
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from demo_combination import DUTY, compiled, lift, sweep, too_high
from processor_time import best, mean

from service.engine import Axle, Build, Verdicts, evaluate
from service.engine.brought import brought_by
from service.engine.decision import OUTCOMES
from service.engine.evaluation import CHUNK
from service.engine.positions import factory_positions
from service.engine.remedies import remedies
from service.engine.rows import Rows

POSITION_QUANTITIES = 26
"""Positions and single figures that a chunk brings to the sum of uncertainties, beside three a finding."""

MICROSECONDS, PER_SECOND, MEGABYTES, RATIO = "us", "builds/s", "MB", "x"
AIMS = {"one evaluation": "< 600", "in bulk": "> 30,000", "peak memory": "< 200"}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=10_000, help="builds in bulk")
    parser.add_argument("--rounds", type=int, default=5, help="repeats of which the best counts")
    options = parser.parse_args()
    axle = compiled()
    builds = list(sweep(axle, options.rows))
    _show("memory before", _peak_megabytes(), MEGABYTES)
    many = _many_at_once(builds, options.rounds)
    one = _one_by_itself(axle, options.rounds)
    _compare(builds, many, one)


def _many_at_once(builds: Sequence[Build], rounds: int) -> float:
    """Seconds for all builds in one call. The first to run, so that the memory it takes is its own."""
    many = best(partial(evaluate, builds), rounds)
    with_outcomes = best(lambda: _outcome_words(evaluate(builds)), rounds)
    _show("in bulk", len(builds) / many, PER_SECOND)
    _show("in bulk, and outcome words", len(builds) / with_outcomes, PER_SECOND)
    _show("peak memory", _peak_megabytes(), MEGABYTES)
    told = builds[: max(1, len(builds) // 10)]
    _show("in bulk, and records", len(told) / best(lambda: _records(evaluate(told)), rounds), PER_SECOND)
    return many


def _one_by_itself(axle: Axle, rounds: int) -> float:
    """Seconds for one build that is not prepared for, to its record."""
    build = lift(axle)
    verdicts = evaluate([build])
    steps: dict[str, Callable[[], object]] = {
        "assemble": partial(lift, axle),
        "evaluate": partial(evaluate, [build]),
        "record": partial(verdicts.record, 0),
        "one evaluation": lambda: evaluate([lift(axle)]).record(0),
        "remedies of a build with two failing checks": partial(remedies, evaluate([too_high(axle)]), [0]),
        "compile a taped axle": lambda: factory_positions(compiled().under(DUTY)),
    }
    seconds = {name: best(step, rounds) for name, step in steps.items()}
    for name, each in seconds.items():
        _show(name, 1e6 * each, MICROSECONDS)
    return seconds["one evaluation"]


def _compare(builds: Sequence[Build], many: float, one: float) -> None:
    one_by_one = mean(lambda: [evaluate([build]) for build in builds], 1)
    bare = _bare_numpy_seconds(builds)
    _show("the same builds one by one / in bulk", one_by_one / many, RATIO)
    _show("in bulk / bare NumPy over as many numbers", many / bare, RATIO)
    _show("one evaluation with its record / a build in bulk", one * len(builds) / many, RATIO)


def _bare_numpy_seconds(builds: Sequence[Build]) -> float:
    """One multiplication and one addition over arrays of the size that the sum of uncertainties goes through."""
    chunk = builds[:CHUNK]
    findings = len(evaluate(chunk)._settled[0].headings.labels)
    columns = len(Rows(brought_by(chunk)).curve_column)
    numbers = np.ones((3 * findings + POSITION_QUANTITIES, len(chunk), columns))

    def one_pass() -> None:
        np.multiply(numbers, 0.5, out=numbers)
        np.add(numbers, 0.5, out=numbers)

    return best(one_pass, 5) * len(builds) / len(chunk)


def _outcome_words(verdicts: Verdicts) -> list[str]:
    return [OUTCOMES[code] for code in verdicts.codes.tolist()]


def _records(verdicts: Verdicts) -> list[dict[str, object]]:
    return [verdicts.record(index) for index in range(len(verdicts.codes))]


def _peak_megabytes() -> float:
    """The most memory that this process has held; a parent's peak counts too where it started this one by vfork."""
    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6


def _show(name: str, value: float, unit: str) -> None:
    aim = f"   aim {AIMS[name]}" if name in AIMS else ""
    print(f"{name:<50}{value:>12,.{2 if unit == RATIO else 1}f} {unit}{aim}", flush=True)


if __name__ == "__main__":
    main()
