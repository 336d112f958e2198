"""Other processes to work in: as many as there are cores for, and gone with the process that began them."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from multiprocessing.process import BaseProcess
from typing import Any

from service.worker_process import leave_what_lasts, settle_down


def cores_at_hand() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):  # not everywhere
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def spare_cores(answering: int) -> int:
    """Processes for which there are cores beside so many that answer requests, for each of these; one alone is none."""
    share = cores_at_hand() // answering
    return share if share > 1 else 0


def begin_pool(
    processes: int, prepare: Callable[..., None] | None = None, *given: Any
) -> tuple[ProcessPoolExecutor, list[Future[int]]]:
    """A pool whose processes begin at once, each with ``prepare(*given)``; the futures are done as they are ready.

    To be called in the main thread, where there is one: only there can Ctrl-C be kept from new processes.
    """
    pool = ProcessPoolExecutor(processes, get_context("spawn"), _begin, (prepare, *given))
    with _ctrl_c_ignored():  # new processes inherit it, from their first step on
        return pool, [pool.submit(os.getpid) for _ in range(processes)]


def end_pool(pool: ProcessPoolExecutor, patience_s: float) -> None:
    """End a pool's processes, each after what it is at; one that takes longer, as if it stood still, is killed."""
    killing = threading.Timer(patience_s, _kill, [[*(pool._processes or {}).values()]])  # noqa: SLF001 — told nowhere
    killing.start()
    pool.shutdown(cancel_futures=True)
    killing.cancel()


def _kill(processes: list[BaseProcess]) -> None:
    for process in processes:
        process.kill()  # which does nothing to one that has ended


@contextmanager
def _ctrl_c_ignored() -> Iterator[None]:
    """Ctrl-C goes to all processes of a terminal; the one that began the others hears it, and ends them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _begin(prepare: Callable[..., None] | None, *given: Any) -> None:
    """In a new process of the pool."""
    threading.Thread(target=_end_with_the_first, daemon=True).start()
    settle_down()
    if prepare is not None:
        prepare(*given)
    leave_what_lasts()


def _end_with_the_first() -> None:
    """It shall not outlive the process that began it, however that ends."""
    first = parent_process()
    if first is not None:
        first.join()
        os._exit(1)
