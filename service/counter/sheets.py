"""A job sheet as it goes out: as a page, as drawings, or as a PDF."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from service.counter.job_sheet import job_sheet
from service.counter.job_sheet_drawing import sheet_drawing
from service.counter.job_sheet_pdf import sheet_pdf
from service.counter.pages import page
from service.counter.pictures.svg import svg


def as_page(request: Request, record_id: str) -> Response:
    sheet = job_sheet(request, record_id)
    return page("sheet.html", sheet.reader, {"sheet": sheet, "view": sheet.view, "qr": svg(sheet.qr)})


def as_drawing(request: Request, record_id: str) -> Response:
    sheet = job_sheet(request, record_id)
    text = svg(sheet_drawing(sheet.view, sheet.record["id"], sheet.reader), scaled=False)
    return Response(text, 200, _names(record_id, "svg"), "image/svg+xml")


def as_pdf(request: Request, record_id: str) -> Response:
    return Response(sheet_pdf(job_sheet(request, record_id)), 200, _names(record_id, "pdf"), "application/pdf")


def _names(record_id: str, ending: str) -> dict[str, str]:
    shown = f'inline; filename="evaluation-{record_id}.{ending}"'
    return {"Content-Disposition": shown, "Vary": "Accept, Accept-Language"}


SHEETS = {"text/html": as_page, "image/svg+xml": as_drawing, "application/pdf": as_pdf}
"""How a record is shown beside its JSON, by media type."""
