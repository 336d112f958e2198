"""The README's request gives the README's answer."""

import json
import re
from pathlib import Path

TEXT = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def test_the_example_is_answered_as_shown(shared_client):
    asked = json.loads(re.search(r"-d '(\{.*?\n\})'", TEXT, flags=re.DOTALL)[1])
    shown = json.loads(re.search(r"```json\n(.*?)```", TEXT, flags=re.DOTALL)[1])
    answer = shared_client.post("/v1/evaluations", asked)
    assert answer.status_code == 201
    record = answer.json()
    worst = record["checks"][0]
    assert {name: record[name] for name in shown if name != "checks"} == {
        name: shown[name] for name in shown if name != "checks"
    }
    assert {name: worst[name] for name in shown["checks"][0]} == shown["checks"][0]
