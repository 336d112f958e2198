"""How a process of this service settles down to its work."""

from __future__ import annotations

import gc

from threadpoolctl import threadpool_limits

OBJECTS_BETWEEN_COLLECTIONS = 20_000
"""New objects that the garbage collector lets come together: one verdict is some hundreds, none of them in a circle."""


def work_on_one_core() -> None:
    """Let this process do its linear algebra itself.

    Its matrices are too small to be shared out; threads to help with them would gain nothing, and keep another core
    busy for a tenth of a second after each call, waiting for the next one.
    """
    threadpool_limits(limits=1, user_api="blas")


def leave_what_lasts() -> None:
    """Let the garbage collector leave alone what has been made until now, as all of it lasts, and look more rarely.

    A full collection takes some 5 ms then; it would take 85 ms, in which nobody is answered.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
