"""The pages' templates and their static files, and the headers that both go out with."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse

from service.counter.language.reader import LANGUAGES, UNITS, Reader

HERE = Path(__file__).parent
STATIC = {
    "counter.css": "text/css",
    "counter.js": "text/javascript",
    "mark.svg": "image/svg+xml",
}
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
"""What a page may load is here, and nothing on it runs or paints that is not in a file of ours."""
HEADERS = {"Content-Security-Policy": POLICY, "Vary": "Accept, Accept-Language, Cookie"}

_environment = Environment(
    loader=FileSystemLoader(HERE / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
for _name in _environment.list_templates():
    _environment.get_template(_name)  # compiled before the first customer waits for it
STATIC_BYTES = {name: (HERE / "static" / name).read_bytes() for name in STATIC}
STATIC_VERSION = hashlib.sha256(b"".join(STATIC_BYTES.values())).hexdigest()[:12]


def page(template: str, reader: Reader, values: dict[str, Any], status: int = 200) -> HTMLResponse:
    """A template filled in."""
    text = _environment.get_template(template).render(
        reader=reader, say=reader.say, languages=LANGUAGES, all_units=UNITS, version=STATIC_VERSION, **values
    )
    return HTMLResponse(text, status, HEADERS)
