"""What a file holds, by its name and by what is said beside it."""

from __future__ import annotations

from pathlib import PurePath

from service.api.interchange.columns import PART_MODELS
from service.api.interchange.rows import FileForm, SourceFile

ENDINGS: dict[str, FileForm] = {".csv": "csv", ".jsonl": "jsonl", ".ndjson": "jsonl"}


def source_file(name: str, content: bytes, form: FileForm | None = None, kind: str | None = None) -> SourceFile:
    """The file of that name. Its form is that of its ending, its kind the name itself if that is one.

    Raises ``ValueError`` where neither the name nor ``form`` says what it is.

    >>> source_file("strut.csv", b"").kind
    'strut'
    """
    path = PurePath(name)
    form = form or ENDINGS.get(path.suffix.lower())
    if form is None:
        raise ValueError("is neither .csv nor .jsonl: what is it?")
    stem = path.stem.lower()
    return SourceFile(name, form, content, kind or (stem if form == "csv" and stem in PART_MODELS else None))
