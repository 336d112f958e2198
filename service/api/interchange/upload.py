"""The files that a request brings: one as its body, or several as a form."""

from __future__ import annotations

from collections.abc import AsyncIterator
from urllib.parse import urlsplit

from starlette.datastructures import UploadFile
from starlette.requests import Request

from service.api.body import MediaTypeError, refuse_packed
from service.api.interchange.naming import source_file
from service.api.interchange.rows import BadRowsError, FileForm, RowFault, SourceFile

MULTIPART, UNSAID = "multipart/form-data", "application/octet-stream"
MEDIA_TYPES: dict[str, FileForm] = {"text/csv": "csv", "application/jsonl": "jsonl", "application/x-ndjson": "jsonl"}
TAKEN = "CSV or JSON Lines in UTF-8, with the header Content-Type: text/csv or application/jsonl"


async def uploaded_files(request: Request, form: FileForm | None, kind: str | None) -> list[SourceFile]:
    """The files of a request. ``form`` and ``kind`` hold for each; what they leave open its media type or name says."""
    refuse_packed(request)
    declared = request.headers.get("content-type")
    essence, _, parameters = (declared or "").lower().partition(";")
    if essence.strip() == MULTIPART and not _is_from_elsewhere(request):
        files = [file async for file in _form_files(request, form, kind)]
        if not files:
            raise _no_file("form", "holds no file")
        return files
    found = form or MEDIA_TYPES.get(essence.strip())
    if found is None or not _may_be_file(essence.strip(), parameters):
        raise MediaTypeError(declared, TAKEN)
    body = await request.body()
    if not body:
        raise _no_file("body", "is empty")
    return [SourceFile("body", found, body, kind)]


def _may_be_file(essence: str, parameters: str) -> bool:
    in_utf_8 = "charset=" not in parameters or "utf-8" in parameters
    return in_utf_8 and (essence in MEDIA_TYPES or essence == UNSAID)


def _is_from_elsewhere(request: Request) -> bool:
    """Whether a page of another origin sends this.

    A browser lets any page send a form, without asking; a page on the net must not reach a service on the loopback so.
    """
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc != request.headers.get("host")


async def _form_files(request: Request, form: FileForm | None, kind: str | None) -> AsyncIterator[SourceFile]:
    async with request.form() as fields:
        for field, value in fields.multi_items():
            if not isinstance(value, UploadFile) or not value.filename:
                raise _no_file(field, "is no file: it needs a file name")
            stated = (value.content_type or "").lower().partition(";")[0].strip()
            content = await value.read()
            try:
                yield source_file(value.filename, content, form or MEDIA_TYPES.get(stated), kind)
            except ValueError as error:
                raise _no_file(value.filename, str(error)) from None


def _no_file(name: str, detail: str) -> BadRowsError:
    return BadRowsError([RowFault(name, 1, None, detail)])
