"""The README's request gives the README's answer, and its storefront sells only what may be sold."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

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


STOREFRONT = re.search(r"```html\n(.*?)```", TEXT, flags=re.DOTALL)[1]
SCRIPT = re.search(r'<script type="module">\n(.*?)</script>', STOREFRONT, flags=re.DOTALL)[1]
PAGE = """
const shown = {"#buy": {disabled: true}, "#verdict": {textContent: "Checking"}};
const document = {querySelector: (name) => shown[name]};
const fetch = async (address, asked) => {
  if (address !== "/v1/evaluations" || asked.method !== "POST") throw new Error(`asked ${address}`);
  if (ANSWER === null) throw new TypeError("Failed to fetch");
  return {ok: OK, json: async () => JSON.parse(ANSWER)};
};
%s
console.log(JSON.stringify([shown["#buy"].disabled, shown["#verdict"].textContent]));
"""


def on_the_page(answer, *, ok=True):
    """What the storefront shows with an answer: whether the button is shut, and the text beside it."""
    node = shutil.which("node") or pytest.skip("this machine has no node: the storefront's script is not run")
    page = f"const ANSWER = {json.dumps(answer)}, OK = {json.dumps(ok)};" + PAGE % SCRIPT
    run = subprocess.run([node, "--input-type=module", "-e", page], capture_output=True, text=True, check=True)
    return json.loads(run.stdout)


def test_the_storefront_asks_what_the_service_answers(shared_client):
    build = json.loads(re.search(r"const build = (\{.*?\n  \});", SCRIPT, flags=re.DOTALL)[1])
    answer = shared_client.post("/v1/evaluations", build)
    assert answer.status_code == 200
    assert on_the_page(answer.text) == [True, answer.json()["headline"]]
    answer = shared_client.post("/v1/evaluations", {**build, "parts": [{"sku": "NO-SUCH"}]})
    assert on_the_page(answer.text, ok=False) == [True, answer.json()["detail"]]


@pytest.mark.parametrize("action", ["sell", "refer", "stop", "SELL", None])
def test_the_button_opens_on_sell_alone(action):
    assert on_the_page(json.dumps({"action": action, "headline": "H"})) == [action != "sell", "H"]


def test_an_answer_that_is_a_failure_sells_nothing():
    assert on_the_page(json.dumps({"action": "sell", "headline": "H"}), ok=False)[0]


@pytest.mark.parametrize("answer", [None, "<html>Bad gateway</html>", "null"])
def test_the_button_stays_shut_without_an_answer(answer):
    shut, told = on_the_page(answer)
    assert shut
    assert "ask a fitter" in told


def test_the_button_is_shut_before_anything_is_known():
    assert '<button id="buy" disabled>' in STOREFRONT
