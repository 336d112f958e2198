"""Judging the whole shelf before anybody asks: axle by axle, only what has changed, on as many processes as there are.

The way that a job takes makes no difference to what comes of it: ``judge_shelf`` is a pure function of the job. Only
this process writes, and it writes an axle's judgements together: a sweep that is killed loses what was under way, and
the next one goes on from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from service.catalogue.references import AxleName
from service.catalogue.revisions import UnknownError
from service.database import Database
from service.shelf.judging import Judgement, ShelfJob
from service.shelf.standing import axle_shelf, forget_axles, job_of, keep, measured_axles
from service.shelf.workers import judging

Tell = Callable[[int, int], None]
"""Is told how many judgements there are more, and how many there will be."""


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


def sweep(database: Database, how: Sweep, tell: Tell = lambda _more, _of: None) -> Swept:
    """Bring the table of the shelf check up to date. Raises ``ClusterError``."""
    with database.reading() as connection:
        axles = measured_axles(connection, how.vehicle)
    swept = _Sweeping(database, axles)
    with judging(how.processes, how.scheduler) as judge:
        for job, made in judge(swept.jobs()):
            swept.put(job, made)
            tell(len(made), swept.found)
    with database.writing() as connection:
        forgotten = forget_axles(connection, axles, how.vehicle)
    return Swept(swept.made, swept.held, swept.removed + forgotten)


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
