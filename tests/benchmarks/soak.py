"""Whether the service's memory stays flat: hours of a shop's day, pressed into minutes at half of what it can do.

    python tests/benchmarks/soak.py [--seconds 600] [--database-url URL]

Bursts of questions, new and repeated, kept and not kept, single and in batches, each followed by a pause of the same
length. Printed are the resident memory of the process that answers and of those that it has begun for batches, how many
evaluations were given, and at the end how much it grew from the second fifth of the time, when all caches are full, to
the last.
"""

import argparse
import multiprocessing
import re
import tempfile
from collections.abc import Callable
from itertools import count
from pathlib import Path
from statistics import mean
from time import monotonic, sleep

from demo_combination import OCCUPANTS_KG, request_body
from keep_alive_client import load, post
from served import real_app, serving

PATH = "/v1/evaluations"
NUMBERS = count(1)
BURST, BATCH = 100, 80
LINES = 20


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--database-url", help="an empty PostgreSQL database in place of a new SQLite file")
    options = parser.parse_args()
    with (
        tempfile.TemporaryDirectory(prefix="soak-") as folder,
        serving(real_app, options.database_url or f"sqlite:///{folder}/soak.sqlite3") as port,
    ):
        _report(_soak(port, _memory_of_the_server(), options.seconds))


def _soak(port: int, memory_mb: Callable[[], float], seconds: float) -> list[float]:
    taken: list[float] = []
    began, told, given = monotonic(), 0.0, 0
    print(f"{'seconds':>8}{'evaluations':>14}{'resident MB':>14}")
    while (passed := monotonic() - began) < seconds:
        burst = monotonic()
        given += _burst(port)
        sleep(monotonic() - burst)
        taken.append(memory_mb())
        if passed >= told:
            print(f"{passed:>8.0f}{given:>14,}{taken[-1]:>14.1f}", flush=True)
            told = passed + seconds / LINES
    return taken


def _burst(port: int) -> int:
    """The number of evaluations given."""
    same = [post(PATH, request_body(record=record)) for record in (True, False)]
    new = [post(PATH, _new(record=record)) for record in (True, False) for _ in range(BURST // 2)]
    batches = [post(f"{PATH}/batch", b'{"requests":[%b]}' % b",".join(_new(record=True) for _ in range(BATCH)))]
    done = load(port, same * BURST + new + batches)
    if not done.statuses <= {200, 201}:
        raise AssertionError(f"answered with {done.statuses}")
    return 2 * BURST + len(new) + BATCH


def _new(*, record: bool) -> bytes:
    return request_body(OCCUPANTS_KG + 0.0001 * next(NUMBERS), record=record)


def _memory_of_the_server() -> Callable[[], float]:
    (server,) = multiprocessing.active_children()
    begun = Path(f"/proc/{server.pid}/task/{server.pid}/children")
    return lambda: sum(map(_resident_mb, (server.pid, *begun.read_text("ascii").split())))


def _resident_mb(process: int | str) -> float:
    status = Path(f"/proc/{process}/status").read_text("ascii")
    return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024


def _report(taken: list[float]) -> None:
    fifth = max(1, len(taken) // 5)
    first, last = mean(taken[fifth : 2 * fifth] or taken), mean(taken[-fifth:])
    print(f"{'growth from the second fifth of the time to the last':<62}{last / first:>10.3f} x")


if __name__ == "__main__":
    main()
