"""The job sheet of a record: page, drawings and PDF say what the record says."""

import html
import io
import re

import pytest
from pypdf import PdfReader

from service.api.accepts import preferred_type
from service.counter.language.reader import Reader
from service.counter.language.sentences import said, said_how
from service.counter.readings import CHOICES

BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"
BUILDS = [
    ("tarn-300-double-cab", "front", ["KES-SPR-4030", "KES-TOP-20"]),
    ("tarn-300-double-cab", "front", []),
    ("tarn-300-double-cab", "front", ["DUN-KIT-T40"]),
    ("tarn-300-double-cab", "front", ["KES-KIT-T60"]),
    ("veldram-18-flatbed", "front", ["KES-SPR-V2540"]),
    ("wendrith-4-estate", "front", ["KES-SPR-W2500"]),
    ("ulfrane-210-station", "front", ["KES-SPR-U3520"]),
    ("ulfrane-210-station", "front", ["SKA-BAR-38"]),
    ("stenmoor-340-wagon", "rear", ["KES-PRE-R30"]),
    ("hathrop-260-pickup", "rear", ["KES-BLK-H45"]),
]


@pytest.fixture
def keep(client):
    def ask(vehicle, end, skus, **more):
        asked = {"axle": {"vehicle": vehicle, "end": end}, "parts": [{"sku": sku} for sku in skus], **more}
        return client.evaluate(**asked).json()

    return ask


def shown(client, record, media_type, **query):
    answer = client.get(f"/v1/evaluations/{record['id']}", headers={"Accept": media_type}, params=query)
    assert answer.status_code == 200, answer.text
    return answer


def pdf_text(answer):
    reader = PdfReader(io.BytesIO(answer.content))
    return reader, re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


@pytest.mark.parametrize("build", BUILDS, ids=lambda build: f"{build[0]} {build[2]}")
def test_the_pdf_is_one_page_and_says_verdict_reasons_and_record(client, keep, build):
    record = keep(*build)
    answer = shown(client, record, "application/pdf")
    assert answer.headers["content-type"] == "application/pdf"
    reader, text = pdf_text(answer)
    assert len(reader.pages) == 1
    assert record["id"] in text
    assert record["provenance"]["request_sha256"] in text
    assert re.sub(r"\s+", " ", re.split(r" -?\d", record["headline"])[0]) in text
    for check in record["checks"]:
        if check["outcome"] in ("unsafe", "marginal", "undetermined"):
            assert said(check["because"], Reader(), check).text in text, check["check"]
    for missing in record["missing"]:
        assert missing["how_to_measure"] in text


def test_a_second_page_is_only_for_many_readings_and_each_has_its_place(client, keep):
    record = keep("ulfrane-210-station", "front", ["KES-TOP-20"])
    reader, text = pdf_text(shown(client, record, "application/pdf"))
    assert record["verdict"] == "undetermined"
    chosen = [each for each in record["missing"] if each["field"].rsplit("/", 1)[-1] in CHOICES]
    assert len(record["missing"]) - len(chosen) == len(re.findall("(?<!_)_{8}(?!_)", text)) > 12
    assert len(reader.pages) == 2
    assert len(reader.pages[1].extract_text().splitlines()) > 5


@pytest.mark.parametrize(
    ("language", "needed_for", "choices"),
    [("en", "For: ", "○ cold ○ hot"), ("de", "Für: ", "○ kalt ○ warm")],
)
def test_where_words_answer_paper_has_them_to_choose_from(client, keep, language, needed_for, choices):
    record = keep("ulfrane-210-station", "front", ["KES-SPR-U3520"])
    (forming,) = [each for each in record["missing"] if each["field"].endswith("/forming")]
    _, text = pdf_text(shown(client, record, "application/pdf", lang=language))
    asked = {"vehicle": "ulfrane-210-station", "end": "front", "sku": "KES-SPR-U3520", "lang": language}
    pages = [shown(client, record, BROWSER, lang=language).text, client.get("/counter", params=asked).text]
    for paper in (text, *(html.unescape(re.sub("<[^>]+>", "", page)) for page in pages)):
        (row,) = re.findall(
            re.escape(said_how(forming["how_to_measure"], Reader(language)).text) + ".*?○.*?○ \\w+",
            re.sub(r"\s+", " ", paper),
        )
        assert needed_for in row
        assert choices in row
        assert "__" not in row


@pytest.mark.parametrize("language", ["en", "de"])
def test_where_no_single_number_answers_paper_has_a_line_without_a_unit(client, keep, language):
    record = keep("hathrop-260-pickup", "rear", ["HOL-TYR-798"])
    (gap,) = [each["how_to_measure"] for each in record["missing"] if each["field"] == "/axle/travel/stations"]
    _, text = pdf_text(shown(client, record, "application/pdf", lang=language))
    assert re.search(re.escape(said_how(gap, Reader(language)).text) + r" [^_.]+\. _{8}", text)


def test_the_same_record_makes_the_same_files(client, keep):
    record = keep(*BUILDS[0])
    for media_type in ("application/pdf", "image/svg+xml", "text/html"):
        assert shown(client, record, media_type).content == shown(client, record, media_type).content


def test_the_page_has_the_record_and_room_for_a_hand(client, keep):
    record = keep(*BUILDS[0], load={"accessories": [{"sku": "SKA-BAR-38"}], "occupants_kg": 150}, target_lift_mm=40)
    text = shown(client, record, BROWSER).text
    for words in (record["id"], "Signature", "Unsafe", "KES-TOP-20", "SKA-BAR-38", "Occupants 150 kg", "40.0 mm"):
        assert words in text
    assert text.count("<svg") > 4


def test_the_drawings_are_well_formed_and_are_those_of_the_page(client, keep, paper):
    record = keep(*BUILDS[0])
    drawn = paper(shown(client, record, "image/svg+xml").text)
    assert drawn.one("line", end="coil_solid")
    assert drawn.one("rect", solid_length_mm=None)
    assert float(drawn.all("rect", margin_of="coil_bind")[0]["data-margin"]) == record["checks"][0]["margin"]


def test_json_stays_what_machines_get_byte_for_byte(client, keep):
    record = keep(*BUILDS[0])
    plain = client.get(f"/v1/evaluations/{record['id']}")
    for accept in ("application/json", "*/*", "application/*", "image/webp", "text/html;q=0, */*", "nonsense;q=x"):
        answer = shown(client, record, accept)
        assert answer.headers["content-type"] == "application/json", accept
        assert answer.content == plain.content


@pytest.mark.parametrize(
    ("accept", "wanted"),
    [
        (BROWSER, "text/html"),
        ("application/pdf", "application/pdf"),
        ("application/pdf;q=0.2, image/svg+xml;q=0.9", "image/svg+xml"),
        ("text/*", "text/html"),
        ("", "application/json"),
    ],
)
def test_the_header_accept_chooses(accept, wanted):
    offered = ("application/json", "text/html", "image/svg+xml", "application/pdf")
    assert preferred_type(accept, offered) == wanted


@pytest.mark.parametrize("media_type", ["text/html", "image/svg+xml", "application/pdf"])
def test_a_record_that_is_not_there_is_a_problem_in_every_form(client, media_type):
    address = "/v1/evaluations/01990000-0000-7000-8000-000000000000"
    answer = client.get(address, headers={"Accept": media_type})
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


def test_the_sheet_shows_the_catalogue_as_it_was(client, keep):
    record = keep(*BUILDS[0])
    before = shown(client, record, "image/svg+xml").content
    stored = client.get("/v1/parts/KES-TOP-20")
    changed = {**stored.json(), "name": "Renamed since", "thickness_mm": 25}
    headers = {"If-Match": stored.headers["etag"]}
    assert client.put("/v1/parts/KES-TOP-20", changed, headers=headers).status_code == 200
    assert shown(client, record, "image/svg+xml").content == before
    assert "Renamed since" not in shown(client, record, "text/html").text


def test_a_hostile_name_neither_breaks_the_sheet_nor_its_pdf(client, keep):
    name = "<b>\"'&\u202e\u05d0\u05d1\u0627\u0644 " + "W" * 170
    part = {"sku": "EVIL-1", "name": name, "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 5}
    assert client.post("/v1/parts", part).status_code == 201
    record = keep("tarn-300-double-cab", "front", ["EVIL-1"])
    reader, text = pdf_text(shown(client, record, "application/pdf"))
    assert len(reader.pages) == 1
    assert "EVIL-1" in text
    assert "&lt;b&gt;" in shown(client, record, "text/html").text


def test_occupants_are_in_the_units_of_the_reader(client, keep):
    record = keep(*BUILDS[0], load={"occupants_kg": 150})
    assert "Occupants 331 lb" in shown(client, record, "text/html", units="imperial").text
    assert "Insassen 150 kg" in shown(client, record, "text/html", lang="de").text


def test_a_mass_stands_on_the_sheet_as_it_was_stated(client, keep):
    box = {"name": "Box", "mass_kg": 12.5, "behind_front_axle_mm": 900}
    record = keep(*BUILDS[0], load={"accessories": [box]})
    assert "Box 12.5 kg" in shown(client, record, "text/html").text
    assert "Box 12,5 kg" in shown(client, record, "text/html", lang="de").text
    assert "Box 28 lb" in shown(client, record, "text/html", units="imperial").text


def test_a_joint_is_named_once(client, keep):
    record = keep("tarn-300-double-cab", "front", ["KES-SPR-4030", "KES-TOP-30"])
    texts = (
        re.sub("<[^>]+>", "", shown(client, record, "text/html", lang="de").text),
        pdf_text(shown(client, record, "application/pdf", lang="de"))[1],
    )
    for text in texts:
        assert "Traggelenk oben: " in text
        assert "Bremsschlauch: " in text
        assert not re.search(r"(Bremsschlauch|Spurstangenkopf): (\w+\. )?\1: |Oberes Traggelenk: ", text)


BACK = re.compile(r'<a href="([^"]+)">(?:Back to the counter|Zurück zur Theke)</a>')


def test_the_way_back_leads_to_the_same_build(client, keep):
    load = {
        "accessories": [{"sku": "SKA-BAR-38"}, {"name": "Tank", "mass_kg": 80.5, "behind_front_axle_mm": 900}],
        "occupants_kg": 150,
    }
    record = keep(*BUILDS[0], load=load, target_lift_mm=40, duty="sealed_road")
    sheet = shown(client, record, "text/html", lang="de", units="imperial").text
    back = html.unescape(BACK.search(sheet)[1])
    query = back.partition("?")[2]
    assert '<html lang="de">' in client.get(back).text
    kept = client.request("POST", "/counter/sheets", content=query).headers["location"]
    again = client.get("/v1/evaluations/" + kept.partition("?")[0].rsplit("/", 1)[-1]).json()
    for name in ("headline", "checks", "lift_mm"):
        assert again[name] == record[name]
    assert "units=imperial" in kept


def test_the_way_back_from_an_axle_as_measured_leads_to_an_empty_form(client):
    query = (
        "vehicle=ulfrane-210-station&end=front&sku=KES-TOP-20&reading:/axle/fitted/bump_stop/free_height_mm=58&lang=de"
    )
    location = client.request("POST", "/counter/sheets", content=query).headers["location"]
    sheet = client.get(location).text
    assert "Brindlefell Ulfrane 210 station, four-wheel drive (ulfrane-210-station)" in sheet
    assert "Vorn (wie gemessen, nicht aus dem Katalog)" in sheet
    text = client.get(html.unescape(BACK.search(sheet)[1])).text
    assert '<html lang="de">' in text
    assert 'class="action"' not in text
    assert "Wählen Sie Fahrzeug und Achse" in text


def test_units_are_for_display_only(client, keep):
    record = keep(*BUILDS[0])
    _, text = pdf_text(shown(client, record, "application/pdf", units="imperial"))
    assert "−0.33 ±0.17 in" in text
    assert shown(client, record, "application/json", units="imperial").json() == record


@pytest.mark.parametrize(
    ("language", "said"), [("en", "There is no such job sheet"), ("de", "Dieses Arbeitsblatt gibt es nicht")]
)
def test_a_sheet_that_is_not_there_is_told_on_a_page(shared_client, language, said):
    answer = shared_client.get("/counter/evaluations/<b>nothing", params={"lang": language})
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/html")
    assert said in answer.text
    assert "<b>nothing" not in answer.text
