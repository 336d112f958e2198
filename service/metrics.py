"""What the service counts about itself, for Prometheus.

Several workers of one service count into files of one folder, which the variable of the client library names; whichever
worker is asked adds them up.
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

from prometheus_client import REGISTRY, CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector, mark_process_dead

FOLDER_VARIABLE = "PROMETHEUS_MULTIPROC_DIR"

REQUESTS = Counter("coilgap_requests", "Requests answered.", ("method", "route", "status"))
REQUEST_SECONDS = Histogram(
    "coilgap_request_seconds",
    "Time from a request's arrival to the end of its answer.",
    ("method", "route"),
    buckets=(0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10),
)
VERDICTS = Counter("coilgap_verdicts", "Verdicts given, kept or not.", ("verdict",))
CACHE_LOOKUPS = Counter("coilgap_cache_lookups", "Questions to a cache of this process.", ("cache", "result"))
READY_HITS, READY_MISSES = (CACHE_LOOKUPS.labels("ready_answers", result) for result in ("hit", "miss"))
LEDGER_QUEUE = Gauge("coilgap_ledger_queue", "Records that wait for their commit.", multiprocess_mode="livesum")
REPEATS = Counter("coilgap_repeated_requests", "Requests under an Idempotency-Key that had its answer already.")
SEARCHES = Counter(
    "coilgap_searches", "Searches: found, nothing, failed, interrupted, or turned_away as too many wait.", ("outcome",)
)
SEARCH_SECONDS = Histogram(
    "coilgap_search_seconds",
    "Time of a search, from its turn to its end.",
    buckets=(0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30, 100),
)


@cache
def verdicts_given(verdict: str) -> Counter:
    """The meter of one verdict: looking it up by its label would take longer than to count."""
    return VERDICTS.labels(verdict)


METHODS = {"GET", "POST", "PUT", "DELETE", "OPTIONS", "PATCH"}
"""Others are counted together: whoever invents methods must not fill the memory."""


def count_request(method: str, route: str, status: int, seconds: float) -> None:
    requests, request_seconds = _meters(method if method in METHODS else "other", route, status)
    requests.inc()
    request_seconds.observe(seconds)


@cache
def _meters(method: str, route: str, status: int) -> tuple[Counter, Histogram]:
    """The two meters of a sort of request: looking them up by their labels would take longer than to count."""
    return REQUESTS.labels(method, route, str(status)), REQUEST_SECONDS.labels(method, route)


def exposition() -> bytes:
    """Everything counted, in the text format of Prometheus."""
    if FOLDER_VARIABLE not in os.environ:
        return generate_latest(REGISTRY)
    _forget_ended_workers(Path(os.environ[FOLDER_VARIABLE]))
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return generate_latest(registry)


def _forget_ended_workers(folder: Path) -> None:
    """Leave out what workers that have ended were holding; what they have counted stays."""
    for file in folder.glob("gauge_live*_*.db"):
        process = int(file.stem.rpartition("_")[2])
        try:
            os.kill(process, 0)  # asks, and does nothing to it
        except ProcessLookupError:
            mark_process_dead(process)  # type: ignore[no-untyped-call]
