"""How a process settles down: linear algebra in its own thread, and what lasts left alone by the garbage collector."""

import multiprocessing

WANTED = "blas"


def threads_and_collections():
    import gc  # noqa: PLC0415 — in a new process

    import numpy as np  # noqa: PLC0415
    from threadpoolctl import threadpool_info  # noqa: PLC0415

    from service.worker_process import (  # noqa: PLC0415
        OBJECTS_BETWEEN_COLLECTIONS,
        leave_what_lasts,
        settle_down,
    )

    np.linalg.eigh(np.eye(200))  # whatever it starts by itself has been started
    settle_down()
    leave_what_lasts()
    threads = [library["num_threads"] for library in threadpool_info() if library["user_api"] == WANTED]
    return threads, gc.get_freeze_count(), gc.get_threshold()[0] == OBJECTS_BETWEEN_COLLECTIONS


def test_it_computes_in_its_own_thread_and_leaves_what_lasts_alone():
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        threads, frozen, rarely = pool.apply(threads_and_collections)
    assert threads
    assert set(threads) == {1}
    assert frozen > 0
    assert rarely
