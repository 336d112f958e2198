"""Where shelves are judged: in this process, in a pool of others, or on a cluster. It makes no difference to what comes
of it: ``judge_shelf`` is a pure function of the job.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from typing import Any

from service.engine import ENGINE_VERSION
from service.shelf.judging import Judgement, ShelfJob, judge_shelf
from service.worker_process import settle_down

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
    processes = processes or os.cpu_count() or 1
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
    with ProcessPoolExecutor(processes, get_context("spawn"), _begin) as pool:
        with _ctrl_c_ignored():  # new processes inherit it, from their first step on
            for _ in range(processes):
                pool.submit(os.getpid)
        try:
            yield lambda job: pool.submit(judge_shelf, job)
        except BaseException:  # an interrupt too: what has not begun shall not
            pool.shutdown(wait=False, cancel_futures=True)
            raise


@contextmanager
def _ctrl_c_ignored() -> Iterator[None]:
    """Ctrl-C goes to all processes of a terminal; the sweeping one hears it, and ends the others."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _begin() -> None:
    """In a new process of the pool: it shall not outlive the sweeping one, however that ends."""
    threading.Thread(target=_end_with_the_sweep, daemon=True).start()
    settle_down()


def _end_with_the_sweep() -> None:
    sweeping = parent_process()
    if sweeping is not None:
        sweeping.join()
        os._exit(1)


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
