"""The client's types are those of the committed OpenAPI document, and the client needs nothing of the service."""

import subprocess
import sys

from described_types import ROOT, TYPES, module_text

FORBIDDEN = ("fastapi", "pydantic", "sqlalchemy", "numpy", "orjson", "starlette", "service.api", "service.engine")


def test_the_types_are_those_of_the_document():
    """Where the document has changed, run tests/client/described_types.py."""
    assert TYPES.read_text(encoding="utf-8") == module_text()


def test_the_client_alone_loads_nothing_else_of_the_service():
    script = "import sys, service.client; print(*(name for name in sys.modules))"
    run = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = set(run.stdout.split())
    assert "service.client.blocking" in loaded
    assert loaded.isdisjoint(FORBIDDEN)
