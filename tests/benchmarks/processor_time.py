"""Processor time of a step, the best of several rounds: what the machine can do when nobody disturbs it.

On one core, as in the service.
"""

from collections.abc import Callable
from time import process_time

from service.worker_process import settle_down

settle_down()

ROUND_SECONDS = 0.2


def best(step: Callable[[], object], rounds: int) -> float:
    """Seconds of one call: the best round's mean."""
    started = process_time()
    step()
    calls = max(1, int(ROUND_SECONDS / max(process_time() - started, 1e-6)))
    return min(mean(step, calls) for _ in range(rounds))


def mean(step: Callable[[], object], calls: int) -> float:
    """Seconds of one call over so many."""
    started = process_time()
    for _ in range(calls):
        step()
    return (process_time() - started) / calls
