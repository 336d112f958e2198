"""CSV files of parts: the first row names the columns, each other row is one part.

By RFC 4180, in UTF-8 with or without a byte-order mark, with any sort of line end. An empty cell is a field left out.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from typing import Any

from service.api.interchange.cells import refusing_cell
from service.api.interchange.columns import PART_MODELS, Column, columns_of
from service.api.interchange.rows import Row, RowFault, SourceFile

Body = dict[str, Any]
Cells = list[str]


def read_csv(file: SourceFile) -> Iterator[Row | list[RowFault]]:
    """Each part of a file in turn, or what is wrong with its cells."""
    try:
        text = file.content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = file.content.count(b"\n", 0, error.start) + 1
        yield [RowFault(file.name, line, None, "The file is not in UTF-8: save it as CSV in UTF-8.")]
        return
    reader = csv.reader(StringIO(text, newline=""), strict=True)
    try:
        yield from _rows(file, _numbered(reader))
    except csv.Error as error:
        yield [RowFault(file.name, reader.line_num, None, f"Reading stopped here, this is no CSV: {error}.")]


def write_csv(kind: str, bodies: Iterable[Body]) -> bytes:
    """The file of the parts of one kind, every column of it, in the order of ``bodies``."""
    columns = columns_of(kind)
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([column.name for column in columns])
    writer.writerows([_cell(column, body.get(column.field)) for column in columns] for body in bodies)
    return text.getvalue().encode()


def _numbered(reader: Any) -> Iterator[tuple[int, Cells]]:
    """Each row that is not blank, with the line that it begins in: a row may go over several."""
    begins = 1
    for cells in reader:
        if any(cells):
            yield begins, cells
        begins = reader.line_num + 1


def _rows(file: SourceFile, lines: Iterator[tuple[int, Cells]]) -> Iterator[Row | list[RowFault]]:
    at, names = next(lines, (1, []))
    sheet = _Sheet(file, [name.strip() for name in names])
    faults = [RowFault(file.name, at, column, detail) for column, detail in sheet.header_faults()]
    if faults:
        yield faults  # without knowing its columns nothing can be said of the rows
        return
    for line, cells in lines:
        yield sheet.read(line, cells)


class _Sheet:
    """A file whose header has been read."""

    def __init__(self, file: SourceFile, names: Sequence[str]) -> None:
        self.file, self.names = file, names
        self._columns: dict[str, list[Column]] = {}

    def header_faults(self) -> Iterator[tuple[str | None, str]]:
        if not self.names:
            yield None, "The file is empty: its first row must name the columns."
        elif self.file.kind is None and "kind" not in self.names:
            yield None, f"Say of which kind the parts are: by a column kind, or beside the file. {_kinds()}"
        elif self.file.kind is not None and self.file.kind not in PART_MODELS:
            yield None, f"{self.file.kind} is no kind of part. {_kinds()}"
        else:
            yield from self._name_faults()

    def _name_faults(self) -> Iterator[tuple[str | None, str]]:
        kinds = [self.file.kind] if self.file.kind else list(PART_MODELS)
        known = {column.name for kind in kinds for column in columns_of(kind)}
        for index, name in enumerate(self.names):
            if name not in known:
                separated = " Columns are separated by commas." if ";" in name or "\t" in name else ""
                of = f"of {self.file.kind}" if self.file.kind else "of any kind of part"
                yield name, f"is no column {of}: check how it is spelt.{separated}"
            elif name in self.names[:index]:
                yield name, "stands twice in the header"

    def read(self, line: int, cells: Cells) -> Row | list[RowFault]:
        if len(cells) != len(self.names):
            detail = f"has {len(cells)} cells, but the header names {len(self.names)} columns"
            return [RowFault(self.file.name, line, None, detail)]
        kind = self._kind(cells)
        if kind not in PART_MODELS:
            return [RowFault(self.file.name, line, "kind", f"is no kind of part. {_kinds()}", "/kind")]
        return self._row(line, kind, cells)

    def _kind(self, cells: Cells) -> str:
        stated = cells[self.names.index("kind")].strip() if "kind" in self.names else ""
        return stated or self.file.kind or ""

    def _row(self, line: int, kind: str, cells: Cells) -> Row:
        values: dict[str, Any] = {}
        faults: list[RowFault] = []
        columns = self._columns_of(kind)
        for column, cell in zip(columns, cells, strict=True):
            if cell:
                try:
                    values[column.name] = column.form.read(cell)
                except ValueError as error:
                    faults.append(self._fault(line, column, str(error)))
        unread = {fault.column for fault in faults}
        faults += [self._fault(line, *alone) for alone in _alone(columns, values, unread)]
        return Row(self.file, line, {**_body_of(columns, values), "kind": kind}, tuple(faults))

    def _fault(self, line: int, column: Column, detail: str) -> RowFault:
        return RowFault(self.file.name, line, column.name, detail, f"/{column.field}")

    def _columns_of(self, kind: str) -> list[Column]:
        if kind not in self._columns:
            known = {column.name: column for column in columns_of(kind)}
            foreign = refusing_cell(f"must be empty: it is no column of {kind}")
            self._columns[kind] = [known.get(name, Column(name, name, foreign)) for name in self.names]
        return self._columns[kind]


def _alone(columns: list[Column], values: dict[str, Any], unread: set[str | None]) -> Iterator[tuple[Column, str]]:
    """Half-widths of readings that are not there."""
    for column in columns:
        if column.half_width and column.name in values and column.field not in values and column.field not in unread:
            yield column, f"is the half-width of {column.field}, which is empty"


def _body_of(columns: list[Column], values: dict[str, Any]) -> Body:
    body = {column.field: values[column.name] for column in columns if not column.half_width and column.name in values}
    for column in columns:
        if column.half_width and column.name in values and column.field in body:
            body[column.field] = {"value": body[column.field], "plus_minus": values[column.name]}
    return body


def _kinds() -> str:
    return f"Kinds: {', '.join(PART_MODELS)}."


def _cell(column: Column, value: Any) -> str:
    measured = isinstance(value, dict) and "plus_minus" in value
    if column.half_width:
        return column.form.write(value["plus_minus"]) if measured else ""
    if value is None:
        return ""
    return column.form.write(value["value"] if measured else value)
