"""``sweep``: judge every part on sale for every axle, before a shop asks."""

from __future__ import annotations

import argparse
import sys
import time
from typing import Any

from service.catalogue.revisions import VEHICLES, exists
from service.catalogue.upgrade import existing_database
from service.commands.progress import bars
from service.database import Database
from service.settings import Settings, StartRefusedError
from service.shelf.sweeping import Sweep, Swept, sweep
from service.shelf.workers import ClusterError

MOST_PROCESSES = 1024


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser(
        "sweep",
        help="judge every part and kit on sale for every axle into the table of the shelf check",
        description="Judges every part and kit on sale, alone on each axle that it is sold for, into the table that "
        "the shelf check is answered from. Only what has changed is judged again. It may be stopped at any time; the "
        "next sweep goes on from there.",
    )
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--processes", type=_count, metavar="N", help="processes to judge on (all cores unless told)")
    where.add_argument(
        "--scheduler", metavar="ADDRESS", help="judge on the Dask cluster of this scheduler, such as tcp://host:8786"
    )
    parser.add_argument("--vehicle", metavar="ID", help="the axles of one vehicle alone")
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    database = existing_database(settings.database_url)
    started = time.monotonic()
    try:
        _look_for(database, given.vehicle)
        with bars() as progress:
            task = progress.add_task("judging", total=None)
            how = Sweep(given.processes, given.scheduler, given.vehicle)
            swept = sweep(database, how, lambda more, of: progress.update(task, advance=more, total=of))
    except ClusterError as error:
        print(f"coilgap: {error}", file=sys.stderr)
        return 1
    finally:
        database.close()
    print(_report(swept, time.monotonic() - started))
    return 0


def _look_for(database: Database, vehicle: str | None) -> None:
    """A slip of the pen must not pass for a vehicle without parts."""
    with database.reading() as connection:
        if vehicle is not None and not exists(connection, VEHICLES, (vehicle,)):
            raise StartRefusedError(f"The catalogue has no vehicle {vehicle}.")


def _report(swept: Swept, seconds: float) -> str:
    rate = f", {swept.swept / seconds:,.0f}/s" if swept.swept else ""
    return f"coilgap: {swept.swept:,} judged{rate}; {swept.kept:,} held already, {swept.removed:,} taken away."


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_PROCESSES:
        raise argparse.ArgumentTypeError(f"expected a whole number from 1 to {MOST_PROCESSES}")
    return int(text)
