"""How fast a shop's whole catalogue is swept, on one process and on two, and how soon a shelf check is answered.

    python tests/benchmarks/sweep.py [--axles 200] [--parts 20000] [--combinations 1000000] [--requests 40]

The catalogue is made for it (``made_catalogue``), on SQLite or in an empty database that is named. A rate per core is
that of the processor time of all processes together; what two processes gain is told by the clock, and so is worth
something only where two cores are free. Shelf checks are asked for one after the other, of all springs for one axle:
before the sweep, when all is judged on the spot, then out of the table, then by a client that has it already; beside
them a bare endpoint of the same framework with ready bytes of the same size.
"""

import argparse
import resource
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from statistics import median
from time import perf_counter
from typing import NamedTuple

from keep_alive_client import ask, get, load
from made_catalogue import Size, axle_name, json_lines, size_of
from served import bare_app, serving, settled_app
from sqlalchemy import delete

from service.api.interchange.load import load as load_files
from service.api.interchange.naming import source_file
from service.catalogue.upgrade import migrate
from service.database import Database
from service.shelf.standing import VERDICTS
from service.shelf.sweeping import Sweep, sweep

KIND = "coil_spring"
PATH = f"/v1/vehicles/{axle_name(0)[0]}/axles/{axle_name(0)[1]}/fits?kind={KIND}"
PROCESSES = (1, 2)
AIM_MS, AIM_GAIN = 50, 1.8


class Took(NamedTuple):
    """Seconds by the clock, and of processors in all processes together."""

    seconds: float
    processor_s: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--axles", type=int, default=200)
    parser.add_argument("--parts", type=int, default=20_000)
    parser.add_argument("--combinations", type=int, default=1_000_000, help="about so many")
    parser.add_argument("--requests", type=int, default=40, help="shelf checks of each sort")
    parser.add_argument("--database-url", help="an empty PostgreSQL database in place of a new SQLite file")
    options = parser.parse_args()
    size = size_of(options.axles, options.parts, options.combinations)
    with tempfile.TemporaryDirectory(prefix="sweep-") as folder:
        address = options.database_url or f"sqlite:///{folder}/sweep.sqlite3"
        migrate(address)
        with _opened(address) as database:
            load_files(database, [source_file("made.jsonl", json_lines(size))])
            print(f"{size.axles} axles, {size.parts:,} parts, {size.combinations:,} combinations", flush=True)
            on_the_spot = _shelf_checks(address, max(1, options.requests // 10))
            _sweeps(database, size)
        _report_checks(address, on_the_spot, options.requests)


@contextmanager
def _opened(address: str) -> Iterator[Database]:
    database = Database(address)
    try:
        yield database
    finally:
        database.close()


def _sweeps(database: Database, size: Size) -> None:
    """Everything anew on one process, then on two; and once more, when there is nothing to do."""
    took: dict[int, Took] = {}
    for processes in PROCESSES:
        with database.writing() as connection:
            connection.execute(delete(VERDICTS))
        took[processes] = _taken(database, processes, size.combinations)
        seconds, processor_s = took[processes]
        what = f"sweep, {processes} {'process' if processes == 1 else 'processes'}"
        _show(what, size.combinations / seconds, "combinations/s")
        _show("  by processor time", size.combinations / processor_s, "combinations/s/core")
    _show("  again, nothing changed", _taken(database, 1, 0).seconds, "s")
    gain = took[1].seconds / took[2].seconds
    print(f"{'one process / two, by the clock':<50}{gain:>12.2f} x".rstrip(), flush=True)
    print(f"  (aim: {AIM_GAIN} where two cores are free)")


def _taken(database: Database, processes: int, expected: int) -> Took:
    started, before = perf_counter(), _processor_s()
    swept = sweep(database, Sweep(processes)).swept
    if swept != expected:
        raise AssertionError(f"{swept:,} combinations were swept in place of {expected:,}")
    return Took(perf_counter() - started, _processor_s() - before)


def _processor_s() -> float:
    used = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def _shelf_checks(address: str, requests: int) -> float:
    """Milliseconds of a shelf check, of which nothing is in the table."""
    with serving(settled_app, address) as port:
        return _p50_ms(port, [get(PATH)] * requests, 200)


def _report_checks(address: str, on_the_spot: float, requests: int) -> None:
    with serving(settled_app, address) as port:
        answer = ask(port, get(PATH))
        with serving(bare_app, answer.body) as bare_port:
            from_the_table = _p50_ms(port, [get(PATH)] * requests, 200)
            unchanged = _p50_ms(port, [get(PATH, "If-None-Match: *")] * requests, 304)
            bare = _p50_ms(bare_port, [get("/bare")] * requests, 200)
    parts = answer.body.count(b'"sku":')
    print(f"shelf check of {parts:,} parts, {len(answer.body):,} bytes")
    _show("  judged on the spot, p50", on_the_spot, "ms")
    _show("  from the table, p50", from_the_table, f"ms   aim < {AIM_MS} for 2,000")
    _show("  unchanged, p50", unchanged, "ms")
    print(f"{'shelf check from the table / bare endpoint':<50}{from_the_table / bare:>12.2f} x")
    print(f"{'judged on the spot / from the table':<50}{on_the_spot / from_the_table:>12.2f} x")


def _p50_ms(port: int, requests: Sequence[bytes], status: int) -> float:
    load(port, requests[:3], 1)
    done = load(port, requests, 1)
    if done.statuses != {status}:
        raise AssertionError(f"answered with {done.statuses} in place of {status}")
    return 1e3 * median(done.latencies)


def _show(what: str, figure: float, unit: str) -> None:
    shown = f"{figure:>12,.0f}" if figure >= 1000 else f"{figure:>12.2f}"
    print(f"{what:<50}{shown} {unit}", flush=True)


if __name__ == "__main__":
    main()
