"""JSON Lines: each line is one body as the API shows it, of a part, a vehicle or an axle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from service.api.body import MalformedBodyError, parse
from service.api.interchange.rows import Row, RowFault, SourceFile
from service.database import canonical

BYTE_ORDER_MARK = b"\xef\xbb\xbf"


def read_json_lines(file: SourceFile) -> Iterator[Row | list[RowFault]]:
    """Each body of a file in turn, or why a line holds none. Blank lines are passed over."""
    for line, text in enumerate(file.content.removeprefix(BYTE_ORDER_MARK).split(b"\n"), 1):
        if text.strip():
            yield _row(file, line, text)


def write_json_lines(bodies: Iterable[dict[str, Any]]) -> bytes:
    """One line a body, its keys sorted."""
    return b"".join(canonical(body) + b"\n" for body in bodies)


def _row(file: SourceFile, line: int, text: bytes) -> Row | list[RowFault]:
    try:
        body = parse(text)
    except MalformedBodyError as error:
        return [RowFault(file.name, line, None, error.detail.replace("The body", "The line", 1))]
    if not isinstance(body, dict):
        return [RowFault(file.name, line, None, "Each line must be a JSON object.")]
    return Row(file, line, body)
