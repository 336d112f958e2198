"""Pages for people: one for each problem, and one that lists the operations. They load nothing from anywhere."""

import hashlib
from base64 import b64encode
from html import escape
from typing import Any

from fastapi import APIRouter
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse

from service.api.problems import KINDS

router = APIRouter(include_in_schema=False)

STYLE = (
    "body{font:1rem/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}"
    "td,th{padding:.25rem .75rem .25rem 0;text-align:left;vertical-align:top}code{font-size:.95em}"
)
_STYLE_DIGEST = b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
POLICY = f"default-src 'none'; style-src 'sha256-{_STYLE_DIGEST}'; frame-ancestors 'none'; base-uri 'none'"
"""A page may load nothing and run nothing; the one style that it may use is the one above."""


@router.get("/problems/{name}")
async def problem_page(name: str) -> HTMLResponse:
    kind = KINDS.get(name)
    if kind is None:
        raise HTTPException(404)
    return _page(kind.title, f"<p>{escape(kind.advice)}</p><p>HTTP status {kind.status}.</p>")


@router.get("/docs")
async def operations_page(request: Request) -> HTMLResponse:
    document: dict[str, Any] = request.app.openapi()
    rows = "".join(
        f"<tr><td>{method.upper()}</td><td><code>{escape(path)}</code></td><td>{escape(operation['description'])}</td></tr>"
        for path, operations in document["paths"].items()
        for method, operation in operations.items()
    )
    about = escape(document["info"]["description"])
    whole = '<p>The whole description, for machines: <a href="/openapi.json">/openapi.json</a></p>'
    return _page("Operations of this service", f"<p>{about}</p>{whole}<table>{rows}</table>")


def _page(title: str, content: str) -> HTMLResponse:
    return HTMLResponse(
        headers={"Content-Security-Policy": POLICY},
        content='<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head>"
        f"<body><h1>{escape(title)}</h1>{content}</body></html>",
    )
