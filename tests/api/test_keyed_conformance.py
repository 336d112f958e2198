"""The service with keys against its own OpenAPI document: with a key it does as described, without one it does not."""

import json
from pathlib import Path

import pytest
import schemathesis
from asgi_client import Client
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig
from test_conformance import EXPECTED

from service.app import create_app
from service.keys.issuing import issue
from service.settings import Settings

DOCUMENT = json.loads((Path(__file__).parents[1] / "openapi.json").read_text("utf-8"))
OPERATIONS = [
    (path, method)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
    if "security" in operation
]
FEW = 3


@pytest.fixture(scope="module")
def keyed(new_demo_url):
    """The described service, and a key for all of it."""
    with new_demo_url() as url:
        open_one = create_app(Settings(database_url=url))
        with open_one.state.service.database.writing() as connection:
            key = issue(connection, "conformance", ["admin"])
        open_one.state.service.close()
        client = Client(create_app(Settings(database_url=url, keys="required")))
        config = SchemathesisConfig.from_dict(EXPECTED)
        yield schemathesis.openapi.from_asgi("/openapi.json", client.app, config=config), key
        client.close()


def test_every_operation_that_needs_a_key_is_tried():
    assert len(OPERATIONS) == sum(path.startswith("/v1/") * len(methods) for path, methods in DOCUMENT["paths"].items())


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_what_is_described_is_what_happens_with_a_key_only(keyed, path, method):
    described, key = keyed
    strategy = described[path][method].as_strategy(generation_mode=GenerationMode.POSITIVE)

    @given(case=strategy)
    @settings(max_examples=FEW, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    def conforms(case):
        case.call_and_validate(headers={"Authorization": f"Bearer {key}"})

    conforms()
