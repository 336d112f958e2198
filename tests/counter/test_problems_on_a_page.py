"""What goes wrong at the counter is told on a page, in the reader's language; scripts get the problem as everywhere."""

from dataclasses import replace

import pytest
from sqlalchemy.exc import OperationalError

from service.app import create_app
from service.counter import counter

BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"}
AWAY = OperationalError("SELECT 1", {}, Exception("a secret of the server"))


def failing(error):
    def fail(*_):
        raise error

    return fail


FAULT = RuntimeError("a secret of the server")


@pytest.mark.parametrize(
    ("error", "language", "said"),
    [
        (AWAY, "en", "cannot answer just now"),
        (AWAY, "de", "kann gerade nicht antworten"),
        (FAULT, "en", "has failed"),
        (FAULT, "de", "ist gestört"),
    ],
)
def test_a_page_that_fails_says_what_to_do(client, monkeypatch, error, language, said):
    status = 503 if error is AWAY else 500
    monkeypatch.setattr(counter, "judged_form", failing(error))
    answer = client.get("/counter", params={"lang": language}, headers=BROWSER)
    assert answer.status_code == status
    assert answer.headers["content-type"].startswith("text/html")
    assert answer.headers["content-security-policy"].startswith("default-src 'none'; style-src 'self'")
    assert ("retry-after" in answer.headers) == (status == 503)
    assert f'<html lang="{language}">' in answer.text
    assert said in answer.text
    assert answer.headers["x-request-id"] in answer.text
    assert "secret" not in answer.text


@pytest.mark.parametrize("headers", [{}, {"Accept": "*/*"}, {"Accept": "application/json"}])
def test_a_script_of_the_page_gets_the_problem(client, monkeypatch, headers):
    monkeypatch.setattr(counter, "judged_form", failing(AWAY))
    answer = client.get("/counter/verdict", headers=headers)
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/database-away")


def test_an_api_that_is_asked_by_a_browser_answers_as_ever(shared_client):
    answer = shared_client.get("/v1/parts/no-such", headers=BROWSER)
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("request_line", "status", "said"),
    [
        ("GET /counter/no-such", 404, "Diese Seite gibt es nicht"),
        ("GET /counter/%00", 404, "Diese Seite gibt es nicht"),
        ("PUT /counter", 405, "Das geht von hier aus nicht"),
        ("POST /counter/sheets", 400, "Das geht von hier aus nicht"),
    ],
)
def test_what_the_page_does_not_do_is_told_on_a_page(shared_client, request_line, status, said):
    from_elsewhere = {**BROWSER, "Accept-Language": "de", "Sec-Fetch-Site": "cross-site"}
    answer = shared_client.request(*request_line.split(), headers=from_elsewhere)
    assert answer.status_code == status
    assert said in answer.text
    assert ("allow" in answer.headers) == (status == 405)


def test_who_asks_too_often_is_told_on_a_page(client, new_client):
    settings = replace(client.app.state.service.settings, rate_limit_without_key="1/hour")
    client.app.state.service.close()
    limited = new_client(create_app(settings))
    answers = [limited.get("/counter?lang=de", headers=BROWSER) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 429]
    assert "Zu viele Fragen auf einmal" in answers[1].text
    assert int(answers[1].headers["retry-after"]) > 0
