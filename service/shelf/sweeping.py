"""Judging the whole shelf before anybody asks: axle by axle, only what has changed, on as many processes as there are.

The way that a job takes makes no difference to what comes of it: ``judge_shelf`` is a pure function of the job. Only
this process writes, and it writes an axle's judgements together: a sweep that is killed loses what was under way, and
the next one goes on from there.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any

from service.catalogue.references import AxleName
from service.catalogue.revisions import UnknownError
from service.database import Database
from service.shelf.judging import Judgement, ShelfJob, judge_shelf
from service.shelf.standing import axle_shelf, forget_axles, job_of, keep, measured_axles

Tell = Callable[[int, int], None]
"""Is told how many judgements there are more, and how many there will be."""
Judge = Callable[[Iterable[ShelfJob]], Iterator[tuple[ShelfJob, list[Judgement]]]]
CONNECT_TIMEOUT_S = 10
AHEAD = 2
"""Jobs that wait for each process: enough that none has to wait for the next one."""


@dataclass(frozen=True, slots=True)
class Sweep:
    """How to sweep: on how many processes (none stated: all cores), or on the cluster of a scheduler; which vehicle."""

    processes: int | None = None
    scheduler: str | None = None
    vehicle: str | None = None


@dataclass(frozen=True, slots=True)
class Swept:
    """How many judgements were made, held already, and were taken away."""

    swept: int
    kept: int
    removed: int


class ClusterError(RuntimeError):
    """The cluster cannot be used; the message says why."""


def sweep(database: Database, how: Sweep, tell: Tell = lambda _more, _of: None) -> Swept:
    """Bring the table of the shelf check up to date. Raises ``ClusterError``."""
    with database.reading() as connection:
        axles = measured_axles(connection, how.vehicle)
    swept = _Sweeping(database, axles)
    with _judging(how) as judge:
        for job, made in judge(swept.jobs()):
            swept.put(job, made)
            tell(len(made), swept.found)
    removed = swept.removed
    if how.vehicle is None:
        with database.writing() as connection:
            removed += forget_axles(connection, set(axles))
    return Swept(swept.made, swept.held, removed)


class _Sweeping:
    """What a sweep has found to do and done so far."""

    def __init__(self, database: Database, axles: list[AxleName]) -> None:
        self._database, self._axles = database, axles
        self._gone: dict[AxleName, tuple[str, ...]] = {}
        self.found = self.made = self.held = self.removed = 0

    def jobs(self) -> Iterator[ShelfJob]:
        """One for each axle on whose shelf anything is open; what stands on it no longer is taken away at once."""
        for axle in self._axles:
            with self._database.snapshot() as connection:
                try:
                    shelf = axle_shelf(connection, axle)
                except UnknownError:  # withdrawn since the sweep began
                    continue
                job = job_of(connection, shelf) if shelf.open else None
            self.held += len(shelf.held)
            self.removed += len(shelf.stale)
            if job is not None:
                self._gone[axle] = shelf.stale
                self.found += len(job.offers)
                yield job
            elif shelf.stale:
                with self._database.writing() as connection:
                    keep(connection, axle, (), shelf.stale)

    def put(self, job: ShelfJob, made: list[Judgement]) -> None:
        """All that was judged on one axle, together."""
        axle: AxleName = (job.vehicle, job.end)
        with self._database.writing() as connection:
            keep(connection, axle, made, self._gone.pop(axle))
        self.made += len(made)


@contextmanager
def _judging(how: Sweep) -> Iterator[Judge]:
    if how.scheduler is not None:
        with _on_a_cluster(how.scheduler) as judge:
            yield judge
        return
    processes = how.processes or os.cpu_count() or 1
    if processes == 1:
        yield lambda jobs: ((job, judge_shelf(job)) for job in jobs)
        return
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        yield lambda jobs: _as_they_come(jobs, lambda job: pool.submit(judge_shelf, job), AHEAD * processes)


def _as_they_come(
    jobs: Iterable[ShelfJob], submit: Callable[[ShelfJob], Future[list[Judgement]]], most: int
) -> Iterator[tuple[ShelfJob, list[Judgement]]]:
    """Each job with what came of it, as soon as it is there; few jobs are made before they are needed."""
    under_way: dict[Future[list[Judgement]], ShelfJob] = {}
    for job in jobs:
        under_way[submit(job)] = job
        if len(under_way) >= most:
            yield from _done(under_way)
    while under_way:
        yield from _done(under_way)


def _done(under_way: dict[Future[list[Judgement]], ShelfJob]) -> Iterator[tuple[ShelfJob, list[Judgement]]]:
    done, _ = wait(under_way, return_when=FIRST_COMPLETED)
    for future in done:
        yield under_way.pop(future), future.result()


@contextmanager
def _on_a_cluster(scheduler: str) -> Iterator[Judge]:
    """One partition an axle on the workers of a Dask scheduler, which must have this service installed."""
    try:
        from distributed import Client, as_completed  # noqa: PLC0415 - an extra
    except ImportError:
        raise ClusterError("For a cluster install the extra: pip install coilgap[cluster].") from None
    try:
        connected = Client(scheduler, timeout=CONNECT_TIMEOUT_S)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise ClusterError(f"The scheduler {scheduler} cannot be reached: {error or 'no answer'}") from error
    with connected as client:
        ahead = AHEAD * max(1, sum(client.nthreads().values()))

        def judge(jobs: Iterable[ShelfJob]) -> Iterator[tuple[ShelfJob, list[Judgement]]]:
            left = iter(jobs)
            under_way: dict[Any, ShelfJob] = {}
            coming = as_completed()  # type: ignore[no-untyped-call]

            def submit() -> None:
                job = next(left, None)
                if job is not None:
                    future = client.submit(judge_shelf, job, pure=False)
                    under_way[future.key] = job
                    coming.add(future)  # type: ignore[no-untyped-call]

            for _ in range(ahead):
                submit()
            for future in coming:
                yield under_way.pop(future.key), future.result()
                submit()

        yield judge
