"""What the engine says to input that cannot be true: which field, and what is wrong, in a fitter's words."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One field that cannot be as stated. ``pointer`` is an RFC 6901 pointer into the value that was checked."""

    pointer: str
    detail: str

    def below(self, prefix: str) -> Fault:
        """The same fault, seen from the document that holds the checked value at ``prefix``."""
        return Fault(prefix + self.pointer, self.detail)


class RefusedError(ValueError):
    """Raised with every fault found, not only the first; no verdict is given on refused input."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__(faults)  # as it is, so that another process can make the same again
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return "; ".join(f"{fault.pointer}: {fault.detail}" for fault in self.faults)
