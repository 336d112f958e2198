"""The page over HTTP, as a browser without JavaScript uses it."""

import html
import json
import re
from html.parser import HTMLParser
from urllib.parse import parse_qsl

import pytest

DEMO_QUERY = "vehicle=tarn-300-double-cab&end=front&sku=KES-SPR-4030&sku=KES-TOP-20"
ULFRANE = {"vehicle": "ulfrane-210-station", "end": "front", "sku": "KES-SPR-U3520"}
FREE = "reading:/axle/fitted/bump_stop/free_height_mm"
CRUSHED = "reading:/axle/fitted/bump_stop/crushed_height_mm"
HOSTILE = "<script>alert(1)</script>\"'&\u202eabc\u05d0\u05d1 " + "W" * 150


class Fields(HTMLParser):
    """The page's inputs by name, and everything that could run or load."""

    def __init__(self, text):
        super().__init__()
        self.names, self.scripts, self.inline, self.addresses = [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        stated = dict(attributes)
        if "name" in stated:
            self.names.append(stated["name"])
        if tag == "script":
            self.scripts.append(stated.get("src"))
        self.inline += [name for name in stated if name == "style" or name.startswith("on")]
        self.inline += [tag] if tag == "style" else []
        self.addresses += [stated[name] for name in ("src", "href", "action", "formaction") if name in stated]


def test_the_first_look_is_an_interesting_verdict(shared_client):
    answer = shared_client.get("/counter")
    assert answer.status_code == 200
    assert "Unsafe" in answer.text
    assert "the spring goes solid" in answer.text
    assert "demo build" in answer.text
    assert answer.text.count("<svg") > 3


def test_the_address_is_the_build(shared_client):
    text = shared_client.get(f"/counter?{DEMO_QUERY}&duty=sealed_road&lift_mm=40&occupants_kg=150").text
    assert "demo build" not in text
    assert 'value="KES-SPR-4030"' in text
    assert 'value="KES-TOP-20"' in text
    assert re.search(r'value="sealed_road" selected', text)
    assert 'value="40"' in text
    assert "Ride height" in text


@pytest.mark.parametrize(
    ("more", "language", "said"),
    [
        ("skuu=KES-TOP-20", "en", "is not known here: check how it is spelt</bdi> (<bdi>?skuu</bdi>)"),
        ("skuu=KES-TOP-20", "de", "ist hier nicht bekannt: die Schreibweise prüfen</bdi> (<bdi>?skuu</bdi>)"),
        ("occupants_kg=900&occupants_kg=0", "en", "is stated more than once, and not alike</bdi> (<bdi>?occupants_kg"),
        (
            "occupants_kg=900&occupants_kg=0",
            "de",
            "steht mehr als einmal da, und nicht gleich</bdi> (<bdi>?occupants_kg",
        ),
    ],
)
def test_an_address_of_which_something_would_be_dropped_gets_no_verdict(shared_client, more, language, said):
    text = shared_client.get(f"/counter?vehicle=tarn-300-double-cab&end=front&{more}&lang={language}").text
    assert said in text
    assert 'class="action"' not in text


def test_the_bare_address_leads_to_the_counter(shared_client):
    answer = shared_client.get("/")
    assert (answer.status_code, answer.headers["location"]) == (307, "/counter")


def test_an_empty_form_asks_for_a_vehicle(shared_client):
    answer = shared_client.get("/counter?vehicle=")
    assert answer.status_code == 200
    assert "Choose a vehicle" in answer.text


@pytest.mark.parametrize(
    ("language", "said"),
    [("en", "No vehicle on the list goes by this name"), ("de", "Kein Fahrzeug der Liste heißt so")],
)
def test_a_vehicle_that_is_not_there_is_said_by_name(shared_client, language, said):
    text = shared_client.get("/counter", params={"vehicle": "Tarn 3000", "sku": "KES-TOP-20", "lang": language}).text
    assert f"{said}: <bdi>Tarn 3000</bdi>" in text


def test_a_few_letters_that_mean_one_vehicle_are_enough(shared_client):
    text = shared_client.get("/counter?vehicle=ulfrane&end=front").text
    assert 'value="ulfrane-210-station"' in text
    assert "as it left the factory" in text


def test_each_vehicle_of_a_long_catalogue_is_found(client):
    rows = [{"vehicle_id": f"a-{number:04}", "name": f"Long list {number}"} for number in range(4001)]
    rows += [{"vehicle_id": "0-1", "name": "Twin wagon, first"}, {"vehicle_id": "z-1", "name": "Twin wagon, last"}]
    lines = "\n".join(json.dumps(row) for row in rows).encode()
    answer = client.request("POST", "/v1/imports", content=lines, headers={"Content-Type": "application/jsonl"})
    assert answer.json()["imported"], answer.text
    assert "Nobody has measured the front axle of z-1 yet." in client.get("/counter?vehicle=z-1").text
    assert "Which one?" in client.get("/counter", params={"vehicle": "twin wagon"}).text


def test_letters_that_mean_several_vehicles_ask_which_and_keep_the_form(shared_client):
    asked = [
        ("vehicle", "brindlefell"), ("end", "rear"), ("sku", "KES-TOP-20"), ("load_name", "Tank"), ("load_kg", "80"),
        ("load_mm", "900"), ("occupants_kg", "150"), ("lift_mm", "40"), ("duty", "sealed_road"), ("lang", "en"),
        ("units", "imperial"),
    ]  # fmt: skip
    text = shared_client.get("/counter", params=asked).text
    assert "Which one?" in text
    addresses = [html.unescape(each) for each in re.findall(r'<li><a href="([^"]+)"', text)]
    kept = [("vehicle", "stenmoor-340-wagon"), *asked[1:]]
    assert kept in [parse_qsl(address.partition("?")[2]) for address in addresses]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("vehicle=tarn-300-double-cab&sku=NO-SUCH", "No part has the SKU “NO-SUCH”: choose one from the list."),
        ("vehicle=tarn-300-double-cab&sku=KES-SPR-U3520", "is not sold for the front axle"),
        ("vehicle=tarn-300-double-cab&end=rear", "Nobody has measured the rear axle"),
        ("vehicle=tarn-300-double-cab&lift_mm=much", "must be a number"),
        ("vehicle=tarn-300-double-cab&lift_mm=nan", "must be a number, not “nan”"),
        ("vehicle=tarn-300-double-cab&lift_mm=1,200", "“1,200” can be read in two ways: write 1200 or 1.2"),
        ("vehicle=tarn-300-double-cab&occupants_kg=150 ±", "must have a number after the ±"),
        ("vehicle=tarn-300-double-cab&sku=No such part, 3 mm", "No part has the SKU “No such part, 3 mm”: choose one"),
        ("vehicle=tarn-300-double-cab&sku=Coil spring 40 N/mm, 300 mm", "choose one from the list"),
        ("vehicle=tarn-300-double-cab&duty=racing", "must be"),
        ("vehicle=tarn-300-double-cab&end=middle", "must be"),
        (
            "vehicle=tarn-300-double-cab&load_name=x&load_kg=&load_mm=5",
            "a number is missing here</bdi> (<bdi>Mass, kg<",
        ),
        ("vehicle=tarn-300-double-cab&" + "&".join(["sku=KES-TOP-10"] * 30), "must be 20 or less"),
        ("vehicle=tarn-300-double-cab&reading:/axle/fitted/../x=1&sku=KES-TOP-10", "is not known here"),
        ("vehicle=tarn-300-double-cab&reading:/nowhere=1", "nothing can be measured there"),
        ("vehicle=tarn-300-double-cab&reading:/axle/travel/stations/99/seat_gap_mm=1", "nothing can be measured there"),
    ],
)
def test_what_cannot_be_judged_is_said_and_no_verdict_is_shown(shared_client, query, said):
    answer = shared_client.get(f"/counter?{query}")
    assert answer.status_code == 200
    assert said in answer.text
    assert 'class="action"' not in answer.text


def test_a_part_number_in_small_letters_is_found(shared_client):
    text = shared_client.get("/counter?vehicle=tarn-300-double-cab&end=front&sku=kes-top-20").text
    assert 'value="KES-TOP-20"' in text
    assert "Strut-top spacer, 20 mm" in text


def test_a_part_is_found_by_its_name_where_one_alone_has_it(client):
    name = "Strut-top spacer, 20 mm"
    asked = {"vehicle": "tarn-300-double-cab", "end": "front", "sku": name.lower()}
    text = client.get("/counter", params=asked).text
    assert 'value="KES-TOP-20"' in text
    assert 'class="action"' in text
    other = {"sku": "INV-TOP-20", "name": name, "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 25}
    for_another_axle = {**other, "fits": ["tarn-300-double-cab/rear"]}
    assert client.post("/v1/parts", for_another_axle).status_code == 201
    assert 'value="KES-TOP-20"' in client.get("/counter", params=asked).text
    assert client.put("/v1/parts/INV-TOP-20", other, headers={"If-Match": "*"}).status_code == 200
    text = client.get("/counter", params=asked).text
    assert "No part has the SKU" in text
    assert 'class="action"' not in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("sku=NO-SUCH", "Kein Teil hat die Artikelnummer „NO-SUCH“: eines aus der Liste wählen."),
        ("lift_mm=1.200", "„1.200“ lässt sich auf zwei Arten lesen: 1200 oder 1,2 schreiben"),
        ("lift_mm=much", "muss eine Zahl sein, nicht „much“</bdi> (<bdi>Gewünschte Höherlegung, mm</bdi>)"),
        ("load_name=x&load_kg=5", "hier fehlt eine Zahl</bdi> (<bdi>Hinter der Vorderachse, mm</bdi>)"),
        (
            "reading:/axle/fitted/bump_stop/free_height_mm=hoch",
            "muss eine Zahl sein, nicht „hoch“</bdi> (<bdi>Anschlag: ",
        ),
    ],
)
def test_what_the_counter_refuses_is_said_in_german_too(shared_client, query, said):
    text = shared_client.get(f"/counter?vehicle=tarn-300-double-cab&end=front&lang=de&{query}").text
    assert f'<li lang="de"><bdi>{said}' in text


def test_an_accessory_among_the_parts_is_load(shared_client):
    text = shared_client.get("/counter?vehicle=tarn-300-double-cab&end=front&sku=SKA-WINCH-124").text
    assert "Loaded, the axle carries" in text


def test_a_part_twice_is_a_quantity_of_two(shared_client):
    one = shared_client.get("/counter?vehicle=tarn-300-double-cab&end=front&sku=PEL-SHIM-12").text
    two = shared_client.get("/counter?vehicle=tarn-300-double-cab&end=front&sku=PEL-SHIM-12&sku=PEL-SHIM-12").text
    touches = [re.search(r"bump stop touches (\d+)", text)[1] for text in (one, two)]
    assert touches[0] != touches[1]


def test_a_verdict_that_cannot_be_given_becomes_a_measuring_sheet(shared_client):
    text = shared_client.get("/counter", params=ULFRANE).text
    assert "Cannot tell yet" in text
    assert {FREE, CRUSHED} <= set(Fields(text).names)


def test_readings_filled_in_settle_what_could_not_be_told(shared_client):
    before = shared_client.get("/counter/verdict", params=ULFRANE).text
    after = shared_client.get("/counter/verdict", params={**ULFRANE, FREE: "58", CRUSHED: "26,5"}).text
    assert "Whether the spring goes solid at full bump cannot be told" in before
    assert "Whether the spring goes solid at full bump cannot be told" not in after
    assert "of coil gap are left" in after
    assert 'value="26,5"' in after


def test_a_reading_may_be_of_a_part(shared_client):
    field = "reading:/parts/coil_spring/mean_diameter_mm"
    forming, ends = "reading:/parts/coil_spring/forming", "reading:/parts/coil_spring/ends"
    asked = {**ULFRANE, FREE: "58", CRUSHED: "26", field: "118", forming: "cold", ends: "closed_ground"}
    text = shared_client.get("/counter/verdict", params=asked).text
    assert "The coil gap that the standard recommends to keep at bump contact cannot be told" not in text
    assert "stored" not in text


READ_ON_THE_AXLE = {"sku": "", FREE: "58", CRUSHED: "26,5"}


def test_a_reading_of_one_axle_is_not_taken_for_another(shared_client):
    """By the address alone, as a browser without scripts sends the form."""
    ulfrane = {**ULFRANE, **READ_ON_THE_AXLE}
    text = shared_client.get("/counter", params=ulfrane).text
    assert 'name="measured_on" value="ulfrane-210-station/front"' in text
    ulfrane["measured_on"] = "ulfrane-210-station/front"
    assert FREE in Fields(shared_client.get("/counter", params={**ulfrane, "vehicle": "ulfrane"}).text).names
    for other in ({"vehicle": "tarn-300-double-cab"}, {"vehicle": "tarn"}, {"vehicle": "stenmoor-340", "end": "rear"}):
        text = shared_client.get("/counter", params={**ulfrane, **other}).text
        assert 'value="26,5"' not in text
        bare = shared_client.get("/counter", params={**ULFRANE, "sku": "", **other}).text
        put_aside = re.compile(r'<p class="note" id="put-aside">.*</p>\n')
        assert len(put_aside.findall(text)) == 1
        assert put_aside.sub("", text) == bare


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "Put aside, as they were taken on another axle, and do not count here: bump stop free height mm 58."),
        ("de", "weil an einer anderen Achse gemessen; hier zählen nicht: Anschlag: Höhe unbelastet, mm 58."),
    ],
)
def test_what_was_measured_on_another_axle_is_said_to_be_put_aside(shared_client, language, said):
    asked = {"vehicle": "tarn", "lang": language, FREE: "58", "measured_on": "ulfrane-210-station/front"}
    for address in ("/counter", "/counter/verdict"):
        text = re.sub("</?bdi>", "", shared_client.get(address, params=asked).text)
        assert re.search(r'id="put-aside">(.*?)</p>', text)[1].endswith(said)
    asked["measured_on"] = "tarn-300-double-cab/front"
    assert "put-aside" not in shared_client.get("/counter", params=asked).text


def test_a_reading_of_a_part_goes_along_to_another_axle(shared_client):
    field = "reading:/parts/strut_top_spacer/thickness_mm"
    asked = {"end": "front", "sku": "KES-TOP-20", field: "21", "measured_on": "ulfrane-210-station/front"}
    text = shared_client.get("/counter", params={**asked, "vehicle": "tarn-300-double-cab"}).text
    assert field in Fields(text).names
    assert 'class="action"' in text
    assert 'value="21"' in text


def test_readings_stay_in_the_form_while_the_vehicle_is_not_known(shared_client):
    asked = {"vehicle": "brindlefell", "end": "front", FREE: "58", "measured_on": "ulfrane-210-station/front"}
    text = shared_client.get("/counter", params=asked).text
    assert 'name="measured_on" value="ulfrane-210-station/front"' in text
    assert FREE in Fields(text).names


def test_no_sheet_is_made_with_a_reading_of_another_axle(client):
    query = f"vehicle=tarn-300-double-cab&end=front&{FREE}=58&measured_on=ulfrane-210-station/front"
    location = client.request("POST", "/counter/sheets", content=query).headers["location"]
    record = client.get("/v1/evaluations/" + location.rsplit("/", 1)[-1]).json()
    assert record["provenance"]["axle_revision"] is not None


@pytest.mark.parametrize(
    ("language", "diameter", "width"),
    [("en", "measure its outer diameter.", "measure its width"), ("de", "seinen Außendurchmesser", "seine Breite")],
)
def test_each_reading_of_a_tyre_is_asked_for_in_its_own_words(shared_client, language, diameter, width):
    asked = {"vehicle": "hathrop-260-pickup", "end": "rear", "sku": "HOL-TYR-798", "lang": language}
    ways = re.findall(r'<p lang="(..)" id="how\d+">([^<]*)</p>', shared_client.get("/counter", params=asked).text)
    assert {spoken for spoken, _ in ways} == {language}
    texts = [text for _, text in ways]
    assert len(set(texts)) == len(texts)
    assert sum(diameter in text for text in texts) == sum(width in text for text in texts) == 1


@pytest.mark.parametrize(
    ("language", "seat_gap", "camber"),
    [("en", "Seat gap", "Camber of the leaves"), ("de", "Tellerabstand", "Bogenhöhe der Blätter")],
)
def test_the_arch_of_leaves_is_not_called_a_seat_gap(shared_client, language, seat_gap, camber):
    for vehicle, end, told, not_told in (
        ("hathrop-260-pickup", "rear", camber, seat_gap),
        ("tarn-300-double-cab", "front", seat_gap, camber),
    ):
        asked = {"vehicle": vehicle, "end": end, "lang": language}
        table = re.search(
            r'<table class="positions".*?</table>', shared_client.get("/counter", params=asked).text, re.DOTALL
        )
        assert told in table[0]
        assert not_told not in table[0]


def test_readings_taken_are_named_in_the_readers_language(shared_client):
    asked = {**ULFRANE, FREE: "58"}
    assert "bump stop free height mm <input" in shared_client.get("/counter/verdict", params=asked).text
    german = shared_client.get("/counter/verdict", params={**asked, "lang": "de"}).text
    assert "Anschlag: Höhe unbelastet, mm <input" in german


def test_the_build_stands_in_a_line_for_the_page_on_paper(shared_client):
    asked = [
        ("vehicle", "tarn"), ("end", "front"), ("sku", "KES-TOP-10"), ("sku", "KES-TOP-10"), ("load_name", "Tank"),
        ("load_kg", "80"), ("load_mm", "900"), ("occupants_kg", "150"), ("duty", "sealed_road"), ("lift_mm", "20"),
        ("part", '{"kind":"strut_top_spacer","thickness_mm":5}'),
    ]  # fmt: skip
    line = re.search(r'<p class="printed">(.*?)</p>', shared_client.get("/counter", params=asked).text)[1]
    words = re.sub("<[^>]+>", "", line)
    for said in (
        "(tarn-300-double-cab)", "Axle: Front", "2 × KES-TOP-10 Strut-top spacer, 10 mm", "Tank 80 kg", "20 mm",
        "Occupants 150 kg", "Sealed roads", "strut top spacer, thickness 5 mm",
    ):  # fmt: skip
        assert said in words
    assert re.search(r"Date: \d{4}-\d\d-\d\d$", words)


def test_looking_keeps_nothing_and_the_button_keeps_one_record(client):
    client.get(f"/counter?{DEMO_QUERY}")
    client.get(f"/counter/verdict?{DEMO_QUERY}")
    assert client.get("/v1/evaluations").json()["items"] == []
    answer = client.request("POST", "/counter/sheets", content=f"{DEMO_QUERY}&lang=de&units=imperial")
    assert answer.status_code == 303
    (kept,) = client.get("/v1/evaluations").json()["items"]
    assert answer.headers["location"] == f"/counter/evaluations/{kept['id']}?lang=de&units=imperial"
    assert kept["skus"] == ["KES-SPR-4030", "KES-TOP-20"]


def test_a_build_that_cannot_be_judged_is_sent_back_to_the_form(client):
    answer = client.request("POST", "/counter/sheets", content="vehicle=tarn-300-double-cab&end=front&sku=NO-SUCH")
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/counter?vehicle=tarn-300-double-cab")
    assert client.get("/v1/evaluations").json()["items"] == []


def test_a_form_of_another_site_keeps_nothing(client):
    headers = {"Sec-Fetch-Site": "cross-site"}
    answer = client.request("POST", "/counter/sheets", content=DEMO_QUERY, headers=headers)
    assert answer.status_code == 400
    assert client.get("/v1/evaluations").json()["items"] == []


def test_readings_are_kept_as_part_of_that_evaluation_alone(client):
    query = f"vehicle=ulfrane-210-station&end=front&sku=KES-SPR-U3520&{FREE}=58&{CRUSHED}=26"
    before = client.get("/v1/vehicles/ulfrane-210-station/axles/front").content
    location = client.request("POST", "/counter/sheets", content=query).headers["location"]
    record = client.get("/v1/evaluations/" + location.rsplit("/", 1)[-1]).json()
    assert record["provenance"]["axle_revision"] is None
    assert client.get("/v1/vehicles/ulfrane-210-station/axles/front").content == before


def test_the_policy_lets_nothing_in_from_elsewhere_and_nothing_inline(shared_client):
    answer = shared_client.get("/counter")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    fields = Fields(answer.text)
    assert fields.inline == []
    assert all(script and script.startswith("/counter/static/") for script in fields.scripts)
    assert all(address.startswith(("/", "#")) for address in fields.addresses)


def test_the_page_with_all_it_loads_weighs_less_than_150_kilobytes(shared_client):
    page = shared_client.get("/counter")
    loaded = re.findall(r'(?:href|src)="(/counter/static/[^"]+)"', page.text)
    assert len(loaded) == 3
    weight = len(page.content) + sum(len(shared_client.get(address).content) for address in loaded)
    assert weight < 150_000


def test_choices_come_by_letters_of_sku_name_and_kind(shared_client):
    def parts(words):
        asked = {"vehicle": "tarn-300-double-cab", "end": "front", "q": words}
        return [choice["value"] for choice in shared_client.get("/counter/parts", params=asked).json()]

    assert parts("top-20") == ["KES-TOP-20"]
    assert parts("braided") == ["PEL-HOSE-T"]
    assert "DUN-ARM-T" in parts("upper arm")
    assert "KES-SPR-4030" in parts("coil spring")
    assert "KES-SPR-U3520" not in parts("coil spring")
    asked = {"vehicle": "tarn-300-double-cab", "end": "front", "lang": "de"}
    german = {
        word: shared_client.get("/counter/parts", params={**asked, "q": word}).json() for word in ("Lenker", "Satz")
    }
    assert [each["value"] for each in german["Lenker"]] == ["DUN-ARM-T"]
    assert german["Lenker"][0]["label"].endswith(" (oberer Lenker)")
    assert "DUN-KIT-T40" in [each["value"] for each in german["Satz"]]
    vehicles = shared_client.get("/counter/vehicles", params={"q": "tarn"}).json()
    assert [each["value"] for each in vehicles] == ["tarn-300-double-cab"]


def test_a_hostile_name_is_only_text(client):
    part = {"sku": "EVIL-1", "name": HOSTILE[:200], "supplier": "<b>", "kind": "strut_top_spacer", "thickness_mm": 5}
    assert client.post("/v1/parts", part).status_code == 201
    text = client.get("/counter?vehicle=tarn-300-double-cab&end=front&sku=EVIL-1").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text
    text = client.get('/counter?vehicle="><script>alert(1)</script>&sku="><img src=x>').text
    assert "<script>alert" not in text
    assert "<img" not in text


def test_static_files_are_those_of_the_page_alone(shared_client):
    assert shared_client.get("/counter/static/counter.css").headers["content-type"].startswith("text/css")
    assert shared_client.get("/counter/static/..%2fpages.py").status_code == 404
    assert shared_client.get("/counter/static/pages.py").status_code == 404
