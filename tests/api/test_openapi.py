"""The OpenAPI document: complete, committed, and true of every example."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from sqlalchemy import event
from sqlalchemy.exc import OperationalError

from service.api.rate_limits import RateLimits
from service.keys.issuing import issue
from service.settings import Settings

ROOT = Path(__file__).parents[2]
COMMITTED = ROOT / "tests" / "openapi.json"
EXAMPLES = ROOT / "openapi-examples"
AWAY = "the database does not answer"
KEY_NEEDED = "a key is needed"
COME_FIRST = "other searches come first"
USED_UP = "the caller has used up its requests"
FILES = {"text/csv", "application/jsonl"}
SHOWN = {"application/json", "text/html", "image/svg+xml", "application/pdf"}
NOT_JSON = {"export_file": FILES, "metrics": {"text/plain"}, "read_evaluation": SHOWN}
CASES = {
    path.relative_to(EXAMPLES).with_suffix("").as_posix(): json.loads(path.read_text("utf-8"))
    for path in sorted(EXAMPLES.glob("*/*.json"))
}


@pytest.fixture
def document(shared_client):
    return shared_client.get("/openapi.json").json()


def operations(document):
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield method.upper(), path, operation


def test_the_committed_document_is_the_one_that_is_served(document):
    """Where the change is meant, write the new document over the committed one."""
    assert document == json.loads(COMMITTED.read_text("utf-8"))


def test_every_operation_is_described_and_every_answer_has_its_body(document):
    for _, path, operation in operations(document):
        assert operation["description"], path
        for status, answer in operation["responses"].items():
            media_types = set(answer.get("content", {}))
            if status in ("204", "304"):
                assert media_types == set()
            else:
                expected = NOT_JSON.get(operation["operationId"], {"application/json"})
                assert media_types == ({"application/problem+json"} if status >= "400" else expected)
            for content in answer.get("content", {}).values():
                assert content["schema"]


def test_every_field_of_a_request_has_a_type_and_unknown_ones_are_refused(document):
    schemas = document["components"]["schemas"]
    open_ones = {name for name, schema in schemas.items() if schema.get("additionalProperties") is not False}
    assert open_ones == {"Problem", "Fault"}  # by RFC 9457 a client must put up with more members


def test_every_operation_and_every_declared_status_has_an_example(document):
    declared = {
        (operation["operationId"], int(status))
        for _, _, operation in operations(document)
        for status in operation["responses"]
    }
    shown = {(name.split("/")[0], case["response"]["status"]) for name, case in CASES.items()}
    assert shown == declared


def test_every_example_says_what_it_shows():
    titles = [(name.split("/")[0], case["title"]) for name, case in CASES.items()]
    assert len(set(titles)) == len(titles)
    for case in CASES.values():
        assert set(case) - {"setup"} == {"title", "request", "response"}


class Run:
    """The requests of one example, one after the other.

    ``{location}`` and ``{etag}`` are those of the last answer, ``{key}`` is the one that was issued.
    """

    def __init__(self, client, monkeypatch):
        self.client, self.monkeypatch = client, monkeypatch
        self.seen = {}

    def set_up(self, case):
        for step in case.get("setup", []):
            if step == AWAY:
                event.listen(self.client.app.state.service.database.engine, "begin", no_answer)
            elif step == KEY_NEEDED:
                self.monkeypatch.setattr(self.client.app.state.admission, "needs_keys", True)
            elif step == COME_FIRST:
                self.monkeypatch.setattr(self.client.app.state.service.searches, "_executor", NeverFree())
            elif step == USED_UP:
                limits = RateLimits(Settings(rate_limit_without_key="1/hour"))
                self.monkeypatch.setattr(self.client.app.state.admission, "limits", limits)
                self.client.get("/v1/parts")
            elif str(step).startswith("a key for "):
                with self.client.app.state.service.database.writing() as connection:
                    self.seen["key"] = issue(connection, "example", step.split()[3:])
            elif isinstance(step, str):
                self.set_up(CASES[step])
                self.send(CASES[step]["request"])
            else:
                self.send(step)

    def filled_in(self, text):
        for name in ("etag", "key"):
            text = text.replace(f"{{{name}}}", self.seen.get(name, ""))
        return text

    def send(self, request):
        path = request["path"].replace("{location}", self.seen.get("location", ""))
        headers = {name: self.filled_in(value) for name, value in request.get("headers", {}).items()}
        content = {"json": request["body"]} if "body" in request else {}
        if "text" in request:
            content = {"content": request["text"]}
        if "blanks" in request:
            content = {"content": " " * request["blanks"]}
        answer = self.client.request(request["method"], path, headers=headers, **content)
        self.seen.update({name: answer.headers[name] for name in ("location", "etag") if name in answer.headers})
        return answer


class NeverFree:
    """An executor that does not come to what it is given."""

    def submit(self, *_):
        pass

    def shutdown(self, **_):
        pass


def no_answer(_connection):
    raise OperationalError("BEGIN", {}, Exception("the server closed the connection"))


def agrees(shown, real):
    """Whether an answer has what an example shows of it; of a list, the shown entries in their order."""
    if isinstance(shown, dict):
        return isinstance(real, dict) and all(
            name in real and agrees(value, real[name]) for name, value in shown.items()
        )
    if isinstance(shown, list):
        rest = iter(real)
        return all(any(agrees(value, each) for each in rest) for value in shown)
    return shown == real


@pytest.mark.parametrize("name", CASES)
def test_an_example_is_true(request, document, monkeypatch, name):
    case = CASES[name]
    is_turned_away = case["response"]["status"] in (401, 403, 429)  # and so leaves nothing behind
    run = Run(request.getfixturevalue("shared_client" if is_turned_away else "client"), monkeypatch)
    run.set_up(case)
    answer = run.send(case["request"])
    expected = case["response"]
    assert answer.status_code == expected["status"], answer.text
    for header, value in expected.get("headers", {}).items():
        assert answer.headers[header] == value
    if "body" in expected:
        assert agrees(expected["body"], answer.json()), answer.text
    content = declared(document, name.split("/")[0], str(answer.status_code)).get("content", {})
    if not content:
        assert answer.content == b""
    elif set(content) == {"text/plain"}:
        assert expected["includes"] in answer.text
    elif set(content) == FILES:
        assert answer.headers["content-type"].split(";")[0] in FILES
        assert answer.text == expected["text"]
    else:
        media_type = answer.headers["content-type"]
        assert media_type in content
        assert len(content) == 1 or set(content) == SHOWN
        schema = {**content[media_type]["schema"], "components": document["components"]}
        Draft202012Validator(schema).validate(answer.json())


def declared(document, operation_id, status):
    (responses,) = [
        operation["responses"] for *_, operation in operations(document) if operation["operationId"] == operation_id
    ]
    return responses[status]


def test_an_example_that_is_not_true_is_noticed():
    assert agrees({"a": [{"b": 1}]}, {"a": [{"b": 0}, {"b": 1, "c": 2}], "d": 3})
    for shown in ({"a": [{"b": 2}]}, {"e": 1}, {"a": [{"b": 1}, {"b": 0}]}, {"a": {}}):
        assert not agrees(shown, {"a": [{"b": 0}, {"b": 1}]})
