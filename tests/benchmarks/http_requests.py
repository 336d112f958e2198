"""How many evaluations a second one service answers over HTTP, beside a bare endpoint of the same framework.

    python tests/benchmarks/http_requests.py [--rounds 5] [--requests 600] [--batch 500] [--database-url URL]

The bare endpoint validates the same body by the same model and answers with ready bytes of the same size. The loads
take turns, and each round's figures are compared with that round's bare ones: whoever else uses the machine then slows
all of them alike. What is printed are the medians over the rounds. New questions are about other loads of parts that
the service has seen, or about parts that it has not. Batches are also compared with single requests, one after the
other and over many connections; where there are cores for them, they are judged by other processes than the one that
answers. The counter page is asked for by one reader, so its p50 is how long a verdict takes to come to the counter. A
database that is named must be empty; else SQLite is used.
"""

import argparse
import tempfile
from collections.abc import Callable
from itertools import count, product
from statistics import median
from time import sleep
from typing import NamedTuple
from urllib.parse import urlencode

from demo_combination import DUTY, END, LIFT, OCCUPANTS_KG, SHIM_MM, VEHICLE, request_body
from keep_alive_client import CONNECTIONS, Load, ask, get, load, post
from served import bare_app, real_app, serving

from service.process_pool import spare_cores

PATH = "/v1/evaluations"
WARM_UP = 64
S_TO_BEGIN = 5
"""In which the processes for batches begin, which the first batch calls for."""
BARE_SHARE, ONE_BY_ONE_SHARE, BATCHES_SHARE = 3, 0.2, 2
"""The bare endpoint is asked more often: its round should last about as long as the others. So with the other two."""
NUMBERS = count(1)


class Kind(NamedTuple):
    """One kind of load: where it goes, what it asks, what must come back, and how many evaluations that is."""

    port: int
    request: Callable[[], bytes]
    status: int
    share: float = 1
    evaluations: int = 1
    connections: int = CONNECTIONS

    def run(self, requests: int) -> Load:
        number = max(self.connections, int(requests * self.share) // self.evaluations)
        done = load(self.port, [self.request() for _ in range(number)], self.connections)
        if done.statuses != {self.status}:
            raise AssertionError(f"{self.request()[:40]!r} was answered with {done.statuses} in place of {self.status}")
        return done


class Figures(NamedTuple):
    """Evaluations a second, and milliseconds a request."""

    per_second: float
    p50_ms: float
    p99_ms: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--requests", type=int, default=600, help="requests of each kind a round")
    parser.add_argument("--batch", type=int, default=500, help="evaluations in a batch, 1000 at most")
    parser.add_argument("--database-url", help="an empty PostgreSQL database in place of a new SQLite file")
    options = parser.parse_args()
    with (
        tempfile.TemporaryDirectory(prefix="benchmark-") as folder,
        serving(real_app, options.database_url or f"sqlite:///{folder}/benchmark.sqlite3") as real,
    ):
        asked = request_body(record=False)
        ready = ask(real, post(PATH, asked)).body
        with serving(bare_app, ready) as bare:
            print(f"{CONNECTIONS} connections, {len(asked)} bytes asked, {len(ready)} bytes answered", flush=True)
            print(f"batches on {spare_cores(1) or 'no'} processes of their own", flush=True)
            _report(_rounds(_kinds(real, bare, options.batch), options.rounds, options.requests))


def _kinds(real: int, bare: int, batch: int) -> dict[str, Kind]:
    same, same_recorded = request_body(record=False), request_body(record=True)
    return {
        "bare": Kind(bare, lambda: post("/bare", same), 200, BARE_SHARE),
        "unrecorded, the same again": Kind(real, lambda: post(PATH, same), 200),
        "unrecorded, other loads": Kind(real, lambda: post(PATH, _new_body(record=False)), 200),
        "unrecorded, other parts": Kind(real, lambda: post(PATH, _other_parts(record=False)), 200),
        "recorded, the same again": Kind(real, lambda: post(PATH, same_recorded), 201),
        "recorded, other loads": Kind(real, lambda: post(PATH, _new_body(record=True)), 201),
        "recorded, other parts": Kind(real, lambda: post(PATH, _other_parts(record=True)), 201),
        "unrecorded, one after the other": _one_by_one(real, 200, record=False),
        "recorded, one after the other": _one_by_one(real, 201, record=True),
        "unrecorded, in batches": _batches(real, batch, record=False),
        "recorded, in batches": _batches(real, batch, record=True),
        "counter page, other loads": Kind(real, lambda: get(_new_page()), 200, ONE_BY_ONE_SHARE, connections=1),
    }


def _one_by_one(real: int, status: int, *, record: bool) -> Kind:
    return Kind(real, lambda: post(PATH, _new_body(record=record)), status, ONE_BY_ONE_SHARE, connections=1)


def _batches(real: int, batch: int, *, record: bool) -> Kind:
    """All different; over one connection, as one batch keeps the process busy."""

    def request() -> bytes:
        bodies = b",".join(_new_body(record=record) for _ in range(batch))
        return post(f"{PATH}/batch", b'{"requests":[%b]}' % bodies)

    return Kind(real, request, 200, BATCHES_SHARE, batch, 1)


def _new_page() -> str:
    """The address of the counter page with a build that nobody has asked for before."""
    build = [("vehicle", VEHICLE), ("end", END), *(("sku", sku) for sku in LIFT), ("duty", DUTY)]
    return f"/counter?{urlencode([*build, ('occupants_kg', f'{OCCUPANTS_KG + 0.001 * next(NUMBERS):.4f}')])}"


def _new_body(*, record: bool) -> bytes:
    """A question that nobody has asked before, about parts that were asked about under another load."""
    return request_body(OCCUPANTS_KG + 0.001 * next(NUMBERS), record=record)


def _other_parts(*, record: bool) -> bytes:
    """A question about parts that nobody has asked about before."""
    return request_body(shim_mm=SHIM_MM + 0.0001 * next(NUMBERS), record=record)


def _rounds(kinds: dict[str, Kind], rounds: int, requests: int) -> dict[str, list[Figures]]:
    for kind in kinds.values():
        kind.run(WARM_UP)
    sleep(S_TO_BEGIN)
    taken: dict[str, list[Figures]] = {name: [] for name in kinds}
    for _ in range(rounds):
        for name, kind in kinds.items():
            taken[name].append(_figures(kind.run(requests), kind.evaluations))
    return taken


def _figures(done: Load, evaluations: int) -> Figures:
    ordered = sorted(done.latencies)
    p50, p99 = (1e3 * ordered[min(len(ordered) - 1, int(share * len(ordered)))] for share in (0.50, 0.99))
    return Figures(evaluations * len(ordered) / done.seconds, p50, p99)


def _report(taken: dict[str, list[Figures]]) -> None:
    print(f"{'':<32}{'per second':>10}{'p50 ms':>10}{'p99 ms':>10}{'of bare':>12}")
    for name, figures in taken.items():
        per_second, p50, p99 = (median(column) for column in zip(*figures, strict=True))
        of_bare = median(mine.per_second / bare.per_second for mine, bare in zip(figures, taken["bare"], strict=True))
        print(f"{name:<33}{per_second:>9,.0f}{p50:>10.2f}{p99:>10.2f}{of_bare:>10.3f} x", flush=True)
    for kept, how in product(("unrecorded", "recorded"), ("one after the other", "other loads")):
        pairs = zip(taken[f"{kept}, in batches"], taken[f"{kept}, {how}"], strict=True)
        gain = median(batches.per_second / single.per_second for batches, single in pairs)
        print(f"{f'{kept}, batches / {how}':<62}{gain:>10.2f} x", flush=True)


if __name__ == "__main__":
    main()
