"""Kits on the counter page: among the choices, judged, measured, and taken apart on the job sheet."""

import re

TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
CLEAR, UNSAFE = "DUN-KIT-T40", "KES-KIT-T60"
FREE = "reading:/axle/fitted/bump_stop/free_height_mm"
CRUSHED = "reading:/axle/fitted/bump_stop/crushed_height_mm"


def choices(client, words):
    return [choice["value"] for choice in client.get("/counter/parts", params={**TARN, "q": words}).json()]


def verdict(client, *skus, **more):
    return client.get("/counter/verdict", params={**TARN, "sku": skus, **more}).text


def test_kits_are_among_the_parts_to_choose(client):
    bare = client.get(f"/v1/parts/{UNSAFE}").json()
    assert client.post("/v1/parts", {**bare, "sku": "INV-60", "name": "All that lifts"}).status_code == 201
    page = client.get("/counter", params=TARN).text
    assert all(f'value="{sku}"' in page for sku in (CLEAR, UNSAFE))
    assert {CLEAR, "INV-60", UNSAFE} <= set(choices(client, "kit"))
    assert "KES-TOP-20" not in choices(client, "kit")
    assert choices(client, "longer struts") == [CLEAR]


def test_the_verdict_of_a_kit_is_that_of_its_parts(shared_client):
    clear, unsafe = (verdict(shared_client, sku) for sku in (CLEAR, UNSAFE))
    assert "Unsafe" in unsafe
    assert "Unsafe" not in clear
    singly = verdict(shared_client, "KES-SPR-4030", "KES-TOP-20")
    assert re.findall(r"<svg.*?</svg>", unsafe, re.DOTALL) == re.findall(r"<svg.*?</svg>", singly, re.DOTALL)


def test_what_is_wrong_inside_is_said(shared_client):
    text = verdict(shared_client, "KES-SPR-4030", CLEAR)
    assert f"In the kit {CLEAR}, KES-SPR-4030: There is a coil spring in this build already" in text


def kit_for_ulfrane(client):
    kit = {"sku": "INV-KIT-U", "name": "Kit", "supplier": "S", "kind": "kit", "parts": [{"sku": "KES-SPR-U3520"}]}
    assert client.post("/v1/parts", kit).status_code == 201
    return {"vehicle": "ulfrane-210-station", "end": "front", "sku": kit["sku"], FREE: "58", CRUSHED: "26"}


def test_a_reading_may_be_of_a_part_in_a_kit(client):
    asked = kit_for_ulfrane(client)
    field = "reading:/parts/coil_spring/mean_diameter_mm"
    forming, ends = "reading:/parts/coil_spring/forming", "reading:/parts/coil_spring/ends"
    doubt = "The coil gap that the standard recommends to keep at bump contact cannot be told"
    assert doubt in client.get("/counter/verdict", params=asked).text
    measured = {**asked, field: "118", forming: "cold", ends: "closed_ground"}
    text = client.get("/counter/verdict", params=measured).text
    assert "Ride height" in text
    assert doubt not in text


def test_a_kit_about_which_nothing_was_measured_is_kept_by_its_name(client):
    asked = kit_for_ulfrane(client)
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    location = client.request("POST", "/counter/sheets", content=query).headers["location"]
    record = client.get("/v1/evaluations/" + location.rsplit("/", 1)[-1]).json()
    assert record["provenance"]["part_revisions"] == {"INV-KIT-U": 1, "KES-SPR-U3520": 1}


def test_the_job_sheet_says_what_is_in_the_kit_as_it_was(client):
    record = client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}]).json()
    stored = client.get(f"/v1/parts/{UNSAFE}").json()
    other = {**stored, "parts": [{"sku": "KES-SPR-4030"}, {"sku": "KES-TOP-10", "quantity": 2}]}
    assert client.put(f"/v1/parts/{UNSAFE}", other, headers={"If-Match": "*"}).status_code == 200
    later = client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}]).json()

    def sheet(kept):
        return client.get(f"/v1/evaluations/{kept['id']}", headers={"Accept": "text/html"}).text

    assert f"{UNSAFE} {stored['name']} (KES-SPR-4030, KES-TOP-20)" in sheet(record)
    assert f"{UNSAFE} {stored['name']} (KES-SPR-4030, 2 × KES-TOP-10)" in sheet(later)
