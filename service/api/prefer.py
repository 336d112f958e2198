"""How long a client will wait for an answer, by its header Prefer (RFC 7240)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Waiting:
    """Seconds to wait for, and the preference that this grants, if one was stated."""

    seconds: float
    applied: str | None = None


def waiting(prefer: Iterable[str], otherwise_s: float, most_s: int) -> Waiting:
    """The wait that the header's lines ask for, ``most_s`` at most; what is not understood is passed over.

    >>> waiting(["respond-async, wait=100"], 2.0, 30), waiting([], 2.0, 30)
    (Waiting(seconds=30, applied='wait=30'), Waiting(seconds=2.0, applied=None))
    """
    stated: dict[str, str] = {}
    for entry in ",".join(prefer).split(","):
        name, _, value = entry.partition(";")[0].partition("=")
        stated.setdefault(name.strip().lower(), value.strip().strip('"'))
    seconds = stated.get("wait", "")
    if seconds.isascii() and seconds.isdigit():
        granted = min(int(seconds[:9]), most_s)
        return Waiting(granted, f"wait={granted}")
    return Waiting(0.0, "respond-async") if "respond-async" in stated else Waiting(otherwise_s)
