"""Under a refusal the page says what would mend it and what would fit instead, each a click from its own verdict."""

import html
import re
from urllib.parse import parse_qsl, urlencode

import pytest

from service.counter.alternatives import MOST_SHOWN
from service.counter.form import form_of
from service.counter.instead import called, form_with, typed
from service.counter.judged_form import judged_form
from service.counter.language.reader import Reader

TARN = [("vehicle", "tarn-300-double-cab"), ("end", "front"), ("duty", "unsealed_touring")]
UNSAFE = {
    "spring and spacer": [("sku", "KES-SPR-4030"), ("sku", "KES-TOP-20")],
    "kit": [("sku", "KES-KIT-T60")],
    "heavy": [
        ("sku", "SKA-BAR-38"), ("load_name", "wheels"), ("load_kg", "320 ± 5"), ("load_mm", "-600"),
        ("occupants_kg", "150"),
    ],
    "stated part": [("part", '{"kind":"strut_top_spacer","thickness_mm":45}'), ("sku", "KES-SPR-4030")],
    "measured": [("sku", "KES-TOP-20"), ("reading:/axle/limits/upper_ball_joint/reached_at_arch_to_hub_mm", "600")],
    "asked for": [("sku", "KES-TOP-30"), ("lift_mm", "20")],
}  # fmt: skip


def word_of(page):
    return re.search(r'<h2 id="word">.*?</span>\s*(.*?)</h2>', page, re.DOTALL)[1].strip()


def links(page, section):
    part = re.search(rf'<section class="{section}".*?</section>', page, re.DOTALL)
    return [] if part is None else [html.unescape(each) for each in re.findall(r'<a href="([^"]+)"', part[0])]


@pytest.mark.parametrize("name", UNSAFE)
def test_each_remedy_is_a_click_from_its_own_verdict(client, name):
    service, form = client.app.state.service, form_of([*TARN, *UNSAFE[name]])
    judged = judged_form(service, form)
    record = judged.record
    assert record["verdict"] != "clear"
    page = client.get("/counter?" + urlencode([*TARN, *UNSAFE[name]])).text
    stated = [(remedy, form_with(judged.form, remedy, judged.limits)) for remedy in record["remedies"]]
    stated = [(remedy, changed) for remedy, changed in stated if changed is not None]
    assert [changed.address(lang="en", units="metric") for _, changed in stated] == links(page, "mends")
    assert stated
    for remedy, changed in stated:
        anew = judged_form(service, form_of(parse_qsl(changed.address().partition("?")[2], keep_blank_values=True)))
        assert anew.faults == (), remedy
        check = next(check for check in anew.record["checks"] if check["check"] == remedy["check"])
        assert check["outcome"] in ("clear", "not_applicable"), remedy
        if not remedy["field"].startswith("/axle/limits"):  # a measured axle is written out, and is the same one
            assert anew.record["verdict"] == remedy["verdict"]


@pytest.mark.parametrize("name", UNSAFE)
def test_each_alternative_is_clear(client, name):
    page = client.get("/counter?" + urlencode([*TARN, *UNSAFE[name]])).text
    found = links(page, "others")
    assert len(found) <= MOST_SHOWN
    for address in found:
        assert word_of(client.get(address).text) == "Clear", address
    assert found or name in ("heavy", "measured", "asked for")


def test_a_hose_is_not_told_instead_of_a_lift_spring_whose_lift_nobody_knows(client):
    page = client.get("/counter?vehicle=ulfrane-210-station&end=front&sku=KES-SPR-U3520").text
    assert word_of(page) == "Cannot tell yet"
    assert links(page, "others") == []


def test_a_stated_part_is_named_with_its_dimension_on_page_and_job_sheet(client):
    asked = [*TARN, ("part", '{"kind":"strut_top_spacer","thickness_mm":12.5}')]
    for language, words in (
        ("en", "strut top spacer, thickness 12.5 mm"),
        ("de", "Distanzstück auf dem Federbein, Dicke 12,5 mm"),
    ):
        query = urlencode([*asked, ("lang", language)])
        assert client.get("/counter?" + query).text.count(words) == 2
        kept = client.request("POST", "/counter/sheets", content=query)
        assert words in client.get(kept.headers["location"]).text


def test_a_clear_build_is_told_neither(client):
    page = client.get("/counter?" + urlencode([*TARN, ("sku", "KES-PRE-08")])).text
    assert word_of(page) == "Clear"
    assert 'class="mends"' not in page
    assert links(page, "others") == []


def test_a_part_that_is_in_no_catalogue_stays_in_the_form_until_it_is_taken_out(client):
    pairs = [*TARN, *UNSAFE["stated part"]]
    page = client.get("/counter?" + urlencode(pairs)).text
    assert 'name="part" value="{&#34;kind&#34;:&#34;strut_top_spacer&#34;' in page
    assert "strut top spacer, thickness 45 mm" in page
    without = client.get("/counter?" + urlencode([*TARN, ("sku", "KES-SPR-4030")])).text
    assert 'name="part"' not in without


@pytest.mark.parametrize(
    "part", ["{", "[]", "7", '{"kind":"wheel"}', '{"kind":"strut_top_spacer"}', '{"thickness_mm":3}']
)
def test_a_part_that_cannot_be_read_is_refused_and_not_lost(client, part):
    answer = client.get("/counter?" + urlencode([*TARN, ("part", part)]))
    assert answer.status_code == 200
    assert "This build cannot be judged as it stands" in answer.text
    assert html.escape(part, quote=True).replace("&quot;", "&#34;") in answer.text


def test_in_german_and_inches_too(client):
    page = client.get(
        "/counter?" + urlencode([*TARN, *UNSAFE["spring and spacer"], ("lang", "de"), ("units", "imperial")])
    )
    assert "Was Abhilfe schafft" in page.text
    assert "Was stattdessen passen würde" in page.text
    assert "lang=de&amp;units=imperial" in page.text
    said = re.findall(r'<section class="mends".*?</section>', page.text, re.DOTALL)[0]
    assert ' lang="en"' not in said
    assert " mm" not in re.sub(r"<[^>]+>", "", said)


def test_readings_as_typed():
    assert typed(0.1) == "0.1"
    hose = {"kind": "brake_hose", "reached_at_arch_to_hub_mm": {"value": 700.5, "plus_minus": 2}}
    assert called(hose, Reader()) == "brake hose, reached at arch to hub 700.5 ± 2 mm"
    assert called(hose, Reader("de")).startswith("Bremsschlauch, ")
    assert called(hose, Reader("de")).endswith(" 700,5 ± 2 mm")
