"""The service against its own OpenAPI document: requests made from the schemas, valid and not, every check on.

More statuses than the tool expects are right for a request that fits its schema: 422, because a schema cannot say that
a closed strut is shorter than an extended one, and 412 and 428, because nothing in it knows the revision in force.
"""

import json
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig

DOCUMENT = json.loads((Path(__file__).parents[1] / "openapi.json").read_text("utf-8"))
POSITIVE, NEGATIVE = GenerationMode.POSITIVE, GenerationMode.NEGATIVE
RUNS = [
    (path, method, mode)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
    for mode in ((POSITIVE, NEGATIVE) if {"parameters", "requestBody"} & set(operation) else (POSITIVE,))
]
EXPECTED = {
    "checks": {
        "positive_data_acceptance": {"expected-statuses": ["2xx", "3xx", "404", "409", "412", "422", "428"]},
        "negative_data_rejection": {"expected-statuses": ["400", "404", "412", "413", "415", "422", "428"]},
    }
}
MANY = 12


@pytest.fixture(scope="module")
def described(shared_client):
    config = SchemathesisConfig.from_dict(EXPECTED)
    return schemathesis.openapi.from_asgi("/openapi.json", shared_client.app, config=config)


@pytest.mark.parametrize(("path", "method", "mode"), RUNS)
def test_what_is_described_is_what_happens(described, path, method, mode):
    operation = described[path][method]

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(
        max_examples=MANY, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )
    def conforms(case):
        case.call_and_validate()

    conforms()
