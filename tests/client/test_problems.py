"""Every sort of problem that the service knows has an error of its own, and one that it does not know is one too."""

import httpx

from service.api.problems import KINDS
from service.client import ProblemError
from service.client.problems import PROBLEMS, answered_problem, problem

BODY = {"type": "/problems/not-found", "title": "T", "status": 404, "detail": "D", "instance": "/v1/parts/X"}


def test_every_sort_has_an_error_of_its_own():
    assert PROBLEMS.keys() == KINDS.keys()
    for kind, error in PROBLEMS.items():
        assert type(problem({**BODY, "type": f"/problems/{kind}"})) is error


def test_a_sort_of_a_later_version_is_a_problem_all_the_same():
    found = problem({**BODY, "type": "https://coilgap.example/problems/of-tomorrow", "status": 418, "more": 1})
    assert type(found) is ProblemError
    assert (found.status, found.title, found.detail, found.instance) == (418, "T", "D", "/v1/parts/X")
    assert str(found) == "418 T: D"


def test_what_stands_in_the_headers_is_kept():
    headers = {"X-Request-Id": "abc", "Retry-After": "7"}
    request = httpx.Request("GET", "http://service.test/v1/parts/X")
    found = answered_problem(httpx.Response(404, json=BODY, headers=headers, request=request))
    assert (found.request_id, found.retry_after_s, found.faults) == ("abc", 7.0, ())


def test_faults_are_kept_and_what_a_later_version_adds_is_passed_over():
    errors = [{"pointer": "/duty", "detail": "d", "hint": "of tomorrow"}, {"detail": "e", "file": "f", "line": 3}]
    first, second = problem({**BODY, "errors": errors}).faults
    assert (first.pointer, first.detail, first.line) == ("/duty", "d", None)
    assert (second.file, second.line, second.pointer) == ("f", 3, None)
