"""A file that is brought in, what each of its rows says, and what is wrong with one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

FileForm = Literal["csv", "jsonl"]


@dataclass(frozen=True, slots=True)
class SourceFile:
    """``kind``: of the parts in a CSV file that has no column ``kind``."""

    name: str
    form: FileForm
    content: bytes
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """The body that one row stands for, without its cells that cannot be read: their ``faults``.

    ``line``: where in the file the row begins, counted from 1.
    """

    file: SourceFile
    line: int
    body: dict[str, Any]
    faults: tuple[RowFault, ...] = ()


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong in one row; ``column`` None where it is the row as a whole.

    ``column`` is a column of a CSV file, or the field of a JSON line that the fault lies in. ``pointer`` points into
    the body that the row stands for.
    """

    file: str
    line: int
    column: str | None
    detail: str
    pointer: str | None = None

    def shown(self) -> dict[str, Any]:
        return {name: value for name, value in asdict(self).items() if value is not None}

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}"
        return f"{where}: {self.column}: {self.detail}" if self.column else f"{where}: {self.detail}"


class BadRowsError(Exception):
    """Rows that cannot enter the catalogue, every one of them; nothing was loaded."""

    def __init__(self, faults: Sequence[RowFault]) -> None:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(f"{faults[0]}{more}")
        self.faults = faults
