"""Where shelves are judged: in this process, in a pool of others, or on a cluster. It makes no difference to what comes
of it: ``judge_shelf`` is a pure function of the job.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import contextmanager
from typing import Any

from service.engine import ENGINE_VERSION
from service.process_pool import begin_pool, cores_at_hand
from service.shelf.judging import Judgement, ShelfJob, judge_shelf

Done = Iterator[tuple[ShelfJob, list[Judgement]]]
Judge = Callable[[Iterable[ShelfJob]], Done]
Submit = Callable[[ShelfJob], Future[list[Judgement]]]
CONNECT_TIMEOUT_S = 10
AHEAD = 2
"""Jobs that wait for each process: enough that none has to wait for the next one."""


class ClusterError(RuntimeError):
    """The cluster cannot be used; the message says why."""


@contextmanager
def judging(processes: int | None, scheduler: str | None) -> Iterator[Judge]:
    """What judges jobs, each with what came of it as soon as it is there; ``processes`` None is as many as cores.

    Raises ``ClusterError``.
    """
    processes = processes or cores_at_hand()
    if scheduler is not None:
        with _cluster(scheduler) as (submit, workers):
            yield lambda jobs: _as_they_come(jobs, submit, AHEAD * workers)
    elif processes > 1:
        with _pool(processes) as submit:
            yield lambda jobs: _as_they_come(jobs, submit, AHEAD * processes)
    else:
        yield lambda jobs: ((job, judge_shelf(job)) for job in jobs)


def _as_they_come(jobs: Iterable[ShelfJob], submit: Submit, most: int) -> Done:
    """Few jobs are made before they are needed: each holds the parts of a whole shelf."""
    under_way: dict[Future[list[Judgement]], ShelfJob] = {}
    for job in jobs:
        under_way[submit(job)] = job
        if len(under_way) >= most:
            yield from _done(under_way)
    while under_way:
        yield from _done(under_way)


def _done(under_way: dict[Future[list[Judgement]], ShelfJob]) -> Done:
    done, _ = wait(under_way, return_when=FIRST_COMPLETED)
    for future in done:
        yield under_way.pop(future), future.result()


@contextmanager
def _pool(processes: int) -> Iterator[Submit]:
    pool, _ = begin_pool(processes)
    with pool:
        try:
            yield lambda job: pool.submit(judge_shelf, job)
        except BaseException:  # an interrupt too: what has not begun shall not
            pool.shutdown(wait=False, cancel_futures=True)
            raise


@contextmanager
def _cluster(scheduler: str) -> Iterator[tuple[Submit, int]]:
    """The workers of a Dask scheduler, and how many jobs they do at a time."""
    try:
        from distributed import Client  # noqa: PLC0415 - an extra
    except ImportError:
        raise ClusterError("For a cluster install the extra: pip install coilgap[cluster].") from None
    try:
        client = Client(scheduler, timeout=CONNECT_TIMEOUT_S)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise ClusterError(f"The scheduler {scheduler} cannot be reached: {error or 'no answer'}") from error
    with client:
        workers = _able_workers(client, scheduler)
        with client.get_executor(pure=False) as pool:  # type: ignore[no-untyped-call]
            yield lambda job: pool.submit(judge_shelf, job), workers


def _able_workers(client: Any, scheduler: str) -> int:
    """How many jobs the workers do at a time; they must have this very engine."""
    try:
        client.wait_for_workers(1, timeout=CONNECT_TIMEOUT_S)
    except OSError:
        raise ClusterError(f"The scheduler {scheduler} has no workers.") from None
    try:
        engines = set(client.run(engine_here).values())
    except ImportError as error:
        raise ClusterError(f"The workers of {scheduler} do not have this service installed: {error}") from error
    if engines != {ENGINE_VERSION}:
        others = ", ".join(sorted(engines - {ENGINE_VERSION}))
        raise ClusterError(f"The workers of {scheduler} have engine {others}, and here it is {ENGINE_VERSION}.")
    return sum(client.nthreads().values())


def engine_here() -> str:
    """The engine's version in the process that this is called in."""
    return ENGINE_VERSION
