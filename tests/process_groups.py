"""Processes that begin others: when those have begun, and whether all of them come to an end."""

import time
from pathlib import Path

SECONDS_TO_END = 20


def ends(group):
    """Whether a group of processes comes to its end, all of it."""
    for _ in range(SECONDS_TO_END * 10):
        if not any(is_of(group, stat) for stat in Path("/proc").glob("[0-9]*/stat")):
            return True
        time.sleep(0.1)
    return False


def is_of(group, stat):
    """Whether a process is in a group and alive: its state, its parent and its group come after its name."""
    try:
        state, _, found, *_ = stat.read_text().rpartition(")")[2].split()
    except OSError:  # it has just ended
        return False
    return found == str(group) and state != "Z"


def wait_for_workers(first):
    """Until a process has others of its own."""
    children = Path(f"/proc/{first.pid}/task/{first.pid}/children")
    while first.poll() is None:
        if len(children.read_text().split()) > 2:  # two and the one that looks after their semaphores
            return
        time.sleep(0.01)
