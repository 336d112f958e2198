"""How a process of this service settles down to its work."""

from __future__ import annotations

import gc

import numpy as np
from threadpoolctl import threadpool_limits

OBJECTS_BETWEEN_COLLECTIONS = 20_000
"""New objects that the garbage collector lets come together: one verdict is some hundreds, none of them in a circle."""
KEPT_BYTES = 16 * 2**20
"""So much freed memory stays with the process; the arrays of a chunk of builds take less."""


def settle_down() -> None:
    """Let this process do its linear algebra itself, and keep the memory that it works in.

    Its matrices are too small to be shared out; threads to help with them would gain nothing, and keep another core
    busy long after each call, waiting for the next one. Memory that is given back after each step has to be asked for,
    page by page, in the next one: a third of the time of a bulk. The C library learns from one large block that is
    freed how much it had better keep.
    """
    threadpool_limits(limits=1, user_api="blas")
    np.empty(KEPT_BYTES, dtype=np.uint8)


def leave_what_lasts() -> None:
    """Let the garbage collector leave alone what has been made until now, as all of it lasts, and look more rarely.

    A full collection takes some 5 ms then; it would take 85 ms, in which nobody is answered.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
