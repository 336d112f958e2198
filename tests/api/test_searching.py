"""Searches: what is found is what evaluating every combination by itself finds, and what may be asked."""

import json
from itertools import product

import pytest
from searches import KINDS, LIFT, PATH, TARN, found, skus

from service.api.schemas.parts import ChangeableKind
from service.api.schemas.search import Search
from service.engine.layouts import LAYOUTS
from service.engine.parts import PART_KINDS
from service.judging import searching

AXLES = ["tarn-300-double-cab/front", "stenmoor-340-wagon/rear", "hathrop-260-pickup/front", "hathrop-260-pickup/rear",
         "veldram-18-flatbed/front", "orrenby-3-van/front", "ulfrane-210-station/front"]  # fmt: skip


RECORD = {"record": False, "remedies": False}


def judged(client, questions):
    results = client.post("/v1/evaluations/batch", {"requests": [{**each, **RECORD} for each in questions]})
    return results.json()["results"]


def test_a_search_is_answered_with_its_first_page_and_found_again(shared_client):
    answer = shared_client.post(PATH, {**LIFT, "limit": 3}, headers={"Prefer": "wait=30"})
    assert answer.status_code == 201
    assert answer.headers["preference-applied"] == "wait=30"
    body = answer.json()
    Search.model_validate_json(answer.content)
    assert answer.headers["location"] == f"{PATH}/{body['id']}"
    assert (body["status"], body["problem"]) == ("done", None)
    assert body["progress"] == {"done": 900, "of": 900}
    assert body["counts"]["clear"] == 8
    assert body["counts"]["pruned"] + body["counts"]["evaluated"] == body["counts"]["combinations"] == 900
    assert body["catalogue"]["choices"] == dict(zip(KINDS, (4, 4, 2, 2, 1, 1), strict=True))
    assert [item["rank"] for item in body["items"]] == [1, 2, 3]
    assert shared_client.get(f"{answer.headers['location']}?limit=3").content == answer.content


def test_what_is_found_is_what_evaluating_everything_finds(shared_client):
    """By brute force over HTTP: a batch of all combinations of three kinds."""
    kinds = ["spring_spacer", "strut_top_spacer", "bump_stop_spacer"]
    choices = [
        [None, *(part["sku"] for part in shared_client.get(f"/v1/parts?kind={kind}").json()["items"] if suits(part))]
        for kind in kinds
    ]
    builds = [[sku for sku in picked if sku] for picked in product(*choices)]
    asked = {"axle": TARN, "duty": "sealed_road"}
    questions = [{**asked, "parts": [{"sku": sku} for sku in build]} for build in builds]
    clear = [
        sorted(build)
        for build, record in zip(builds, judged(shared_client, questions), strict=True)
        if record["verdict"] == "clear"
    ]
    body = found(shared_client, **asked, kinds=kinds)
    assert body["counts"]["combinations"] == len(builds) > len(clear) > 1
    assert sorted(sorted(skus(item)) for item in body["items"]) == sorted(clear)
    wanted = found(shared_client, **asked, kinds=kinds, target_lift_mm=12, lift_tolerance_mm=8)
    lifted = [item for item in body["items"] if abs(item["lift_mm"]["value"] - 12) <= 8]
    assert sorted(map(skus, wanted["items"])) == sorted(map(skus, lifted))
    assert 0 < len(lifted) < len(clear)


def suits(part):
    return not part["fits"] or "tarn-300-double-cab/front" in part["fits"]


@pytest.mark.parametrize("target", [None, 30])
@pytest.mark.parametrize("axle", AXLES)
def test_every_question_gives_the_verdict_that_was_found(shared_client, axle, target):
    vehicle, end = axle.split("/")
    layout = shared_client.get(f"/v1/vehicles/{vehicle}/axles/{end}").json()["layout"]
    kinds = sorted(LAYOUTS[layout].fits - {"accessory", "brake_hose", "tyre", "limit_strap", "differential_spacer"})
    load = {"occupants_kg": 150, "accessories": [{"sku": "SKA-BAR-38"}]} if end == "front" else {"occupants_kg": 150}
    wish = {} if target is None else {"target_lift_mm": target, "lift_tolerance_mm": 8}
    body = found(shared_client, axle={"vehicle": vehicle, "end": end}, load=load, kinds=kinds, **wish)
    combinations = [*body["items"], *body["near_misses"]]
    assert combinations
    records = judged(shared_client, [each["question"] for each in combinations])
    for each, record in zip(combinations, records, strict=True):
        assert (record["verdict"], record["action"]) == (each["verdict"], each["action"])
        assert record["lift_mm"] == each["lift_mm"]
        worst = next(check for check in record["checks"] if check["check"] == each["worst"]["check"])
        assert worst["outcome"] == each["worst"]["outcome"]
        assert worst["because"] == each["worst"]["because"]
        assert worst["at"] == each["worst"]["at"]
    assert all(item["verdict"] == "clear" for item in body["items"])
    assert all(item["worst"]["margin"] is not None for item in body["items"])


def test_the_order_is_the_documented_one(shared_client):
    body = found(shared_client, **{**LIFT, "kinds": [*KINDS, "strut", "bump_stop"]})
    for combinations in (body["items"], body["near_misses"]):
        ranks = [
            (each["lift_error_mm"], each["nonconformity_probability"], len(each["parts"])) for each in combinations
        ]
        assert ranks == sorted(ranks)
        assert [each["rank"] for each in combinations] == list(range(1, len(ranks) + 1))
    assert len(body["items"]) == 32
    assert len(body["near_misses"]) == 20


def test_pages_hold_everything_once(shared_client):
    asked = {**LIFT, "kinds": [*KINDS, "strut", "bump_stop"]}
    whole = found(shared_client, **asked)["items"]
    answer = shared_client.post(PATH, {**asked, "limit": 9}, headers={"Prefer": "wait=30"})
    pages = [answer.json()["items"]]
    while "link" in answer.headers:
        address = answer.headers["link"].removeprefix("<").removesuffix('>; rel="next"')
        assert f"cursor={answer.json()['next']}" in address
        answer = shared_client.get(address)
        assert answer.status_code == 200
        pages.append(answer.json()["items"])
    assert [len(page) for page in pages] == [9, 9, 9, 5]
    assert [item for page in pages for item in page] == whole
    assert answer.json()["next"] is None


def test_a_supplier_is_all_that_is_chosen_from(shared_client):
    body = found(shared_client, **LIFT, suppliers=["Kestvale Springworks", "Dunmarrow Forge"])
    chosen = {sku for each in [*body["items"], *body["near_misses"]] for sku in skus(each)}
    assert chosen
    assert {sku[:3] for sku in chosen} <= {"KES", "DUN"}
    assert body["catalogue"]["choices"]["bump_stop_spacer"] == 0
    assert body["counts"]["combinations"] == 300


def test_parts_that_must_stay_do(shared_client):
    inline = {"part": {"kind": "strut_top_spacer", "thickness_mm": 10}, "quantity": 1}
    keep = [inline, {"sku": "SKA-CRATE-90"}, {"sku": "KES-PRE-16"}]
    kinds = ["bump_stop_spacer", "upper_arm", "differential_spacer", "coil_spring"]
    asked = {**LIFT, "kinds": kinds, "target_lift_mm": 30, "lift_tolerance_mm": 20, "keep": keep}
    body = found(shared_client, **asked)
    assert body["items"]
    stay = [inline, {"sku": "SKA-CRATE-90", "quantity": 1}, {"sku": "KES-PRE-16", "quantity": 1}]
    for each in [*body["items"], *body["near_misses"]]:
        assert each["parts"][:3] == each["question"]["parts"][:3] == stay
        assert each["question"]["parts"] == each["parts"]
    few = found(shared_client, **asked, most_parts=4)
    assert {len(each["parts"]) for each in few["near_misses"]} <= {3, 4}
    assert few["counts"]["combinations"] == 1 + 2 + 1 + 1 + 4


def test_a_kit_may_stay_and_stays_one_sku(shared_client):
    keep = [{"sku": "PEL-STOP-T60"}, {"sku": "DUN-KIT-T40"}]
    asked = {"axle": TARN, "duty": "unsealed_touring", "keep": keep}
    body = found(shared_client, **asked, kinds=["bump_stop_spacer", "spring_spacer"])
    assert body["items"]
    combinations = [*body["items"], *body["near_misses"]]
    assert all(skus(each)[:2] == ["PEL-STOP-T60", "DUN-KIT-T40"] for each in combinations)
    records = judged(shared_client, [each["question"] for each in combinations])
    assert [record["verdict"] for record in records] == [each["verdict"] for each in combinations]
    answer = shared_client.post(PATH, {**asked, "kinds": ["strut"]})
    assert answer.json()["errors"][0]["pointer"] == "/keep/1"
    few = shared_client.post(PATH, {**asked, "kinds": ["spring_spacer"], "most_parts": 6})
    assert "are 7 already" in few.json()["errors"][0]["detail"]


def test_an_axle_that_comes_along_is_offered_what_is_sold_for_any(shared_client, inline_axle):
    body = found(shared_client, axle=inline_axle, duty="sealed_road", kinds=KINDS)
    assert body["catalogue"]["choices"] == dict(zip(KINDS, (0, 4, 2, 2, 0, 0), strict=True))
    assert body["catalogue"]["vehicle_revision"] is None
    assert body["counts"]["combinations"] == 45
    (record,) = judged(shared_client, [body["items"][0]["question"]])
    assert record["verdict"] == "clear"


def test_an_axle_measured_on_a_catalogued_vehicle_is_offered_what_is_sold_for_that(shared_client, inline_axle):
    axle = {**inline_axle, "measured_on": "tarn-300-double-cab"}
    body = found(shared_client, axle=axle, duty="sealed_road", kinds=KINDS)
    by_name = found(shared_client, axle={"vehicle": "tarn-300-double-cab", "end": "front"}, kinds=KINDS)
    assert body["catalogue"]["choices"] == by_name["catalogue"]["choices"]
    assert (body["catalogue"]["vehicle_revision"], body["catalogue"]["axle_revision"]) == (1, None)
    (record,) = judged(shared_client, [body["items"][0]["question"]])
    assert record["verdict"] == "clear"


def test_what_finds_nothing_is_no_error(shared_client):
    body = found(shared_client, **{**LIFT, "kinds": ["coil_spring"], "target_lift_mm": 300}, near_misses=0)
    assert (body["items"], body["near_misses"], body["next"]) == ([], [], None)
    assert body["counts"] == {"combinations": 5, "refused": 0, "pruned": 5, "evaluated": 0, "clear": 0}


REFUSED = [
    ({"kinds": ["leaf_pack", "coil_spring"]}, "/kinds/0", "A leaf pack does not belong to a double-wishbone axle"),
    ({"kinds": []}, "/kinds", "1 or more entries"),
    ({"kinds": ["accessory"]}, "/kinds/0", "must be 'coil_spring'"),
    ({"kinds": ["kit"]}, "/kinds/0", "must be 'coil_spring'"),
    ({"kinds": ["strut", "strut"]}, "/kinds", "names strut twice"),
    ({"kinds": ["strut"], "keep": [{"sku": "TOV-STR-T18"}]}, "/keep/0", "One strut must stay, and the kind may change"),
    ({"keep": [{"sku": "NO-SUCH"}]}, "/keep/0/sku", "no part NO-SUCH"),
    ({"keep": [{"sku": "TOV-STR-U20"}]}, "/keep/0/sku", "not sold for the front axle of tarn-300-double-cab"),
    ({"keep": [{"sku": "TOV-STR-T18", "quantity": 2}]}, "/keep/0/quantity", "One wheel holds one strut"),
    ({"keep": [{"sku": "KES-KIT-T60", "quantity": 2}], "kinds": ["strut"]}, "/keep/0/quantity",
     "In the kit KES-KIT-T60, KES-SPR-4030: One wheel holds one coil spring"),
    ({"keep": [{"part": {"kind": "leaf_block", "height_mm": 40}}]}, "/keep/0/part/kind", "does not belong"),
    ({"keep": [{"part": {"kind": "bump_stop", "free_height_mm": 2, "crushed_height_mm": 30}}]},
     "/keep/0/part/free_height_mm", ""),
    ({"keep": [{"sku": "TOV-STR-T18"}, {"sku": "PEL-HOSE-T"}], "most_parts": 1}, "/most_parts", "are 2 already"),
    ({"suppliers": ["Kestvale Springworks", "Kestval"]}, "/suppliers/1", "no part by Kestval: check how it is written"),
    ({"suppliers": []}, "/suppliers", "1 or more entries"),
    ({"axle": {"vehicle": "no-such", "end": "front"}}, "/axle/vehicle", "no vehicle no-such"),
    ({"load": {"accessories": [{"sku": "KES-TOP-20"}]}}, "/load/accessories/0/sku", "is no accessory"),
    ({"load": {"accessories": [{"mass_kg": -4, "behind_front_axle_mm": 0}]}}, "/load/accessories/0/mass_kg", ""),
    ({"lift_tolerance_mm": 0}, "/lift_tolerance_mm", ""),
    ({"most_parts": 0}, "/most_parts", "1 or more"),
    ({"near_misses": 21}, "/near_misses", "20 or less"),
    ({"limit": 201}, "/limit", "200 or less"),
    ({"record": False}, "/record", "is not known here"),
    ({"price": 3}, "/price", "is not known here"),
]  # fmt: skip


@pytest.mark.parametrize(("bad", "pointer", "said"), REFUSED)
def test_what_cannot_be_is_told_by_its_field(shared_client, bad, pointer, said):
    answer = shared_client.post(PATH, {**LIFT, "kinds": ["spring_spacer"], **bad})
    assert answer.status_code == 422
    (fault, *_) = answer.json()["errors"]
    assert fault["pointer"] == pointer
    assert said in fault["detail"]


def test_all_that_is_wrong_is_told_at_once(shared_client):
    asked = {**LIFT, "kinds": ["damper", "strut"], "keep": [{"sku": "TOV-STR-T18"}], "suppliers": ["Nobody"]}
    errors = shared_client.post(PATH, asked).json()["errors"]
    assert [fault["pointer"] for fault in errors] == ["/keep/0", "/kinds/0", "/suppliers/0"]


def test_every_kind_but_what_is_on_board_may_change():
    assert set(ChangeableKind.__args__) == set(PART_KINDS) - {"accessory", "kit"}


def test_what_the_catalogue_withdraws_is_no_choice_any_more(client):
    asked = {**LIFT, "kinds": ["strut_top_spacer"], "near_misses": 5}
    stored = client.get("/v1/parts/KES-TOP-20")
    assert found(client, **asked)["catalogue"]["choices"] == {"strut_top_spacer": 4}
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": stored.headers["etag"]})
    body = found(client, **asked)
    assert body["catalogue"]["choices"] == {"strut_top_spacer": 3}
    assert "KES-TOP-20" not in json.dumps(body)
    answer = client.post(PATH, {**LIFT, "kinds": ["strut"], "keep": [{"sku": "KES-TOP-20"}]})
    assert "withdrawn" in answer.json()["errors"][0]["detail"]


def test_all_of_it_is_of_one_moment(client, monkeypatch):
    """Between the look at what must stay and that at the choices somebody withdraws a part."""
    look = searching.suited

    def overtaken(*arguments):
        monkeypatch.setattr(searching, "suited", look)
        withdraw(client.app.state.service.database, "KES-TOP-20")
        return look(*arguments)

    monkeypatch.setattr(searching, "suited", overtaken)
    asked = {**LIFT, "kinds": ["strut_top_spacer"]}
    assert found(client, **asked)["catalogue"]["choices"] == {"strut_top_spacer": 4}
    assert found(client, **asked)["catalogue"]["choices"] == {"strut_top_spacer": 3}


def withdraw(database, sku):
    from service.catalogue.revisions import PARTS, current, withdraw  # noqa: PLC0415

    with database.writing() as connection:
        withdraw(connection, PARTS, current(connection, PARTS, (sku,)))


SPACERS = ("strut_top_spacer", "spring_spacer", "bump_stop_spacer")


def test_too_many_are_refused_before_any_work_and_fewer_parts_are_not(client, monkeypatch):
    for kind in SPACERS:
        rows = "".join(f"{kind[:6]}-{number},N,Many Makers,{1 + number / 4}\n" for number in range(100))
        text = f"sku,name,supplier,thickness_mm\n{rows}"
        answer = client.request(
            "POST", f"/v1/imports?format=csv&kind={kind}", content=text, headers={"Content-Type": "text/csv"}
        )
        assert answer.status_code == 200, answer.text
    asked = {"axle": TARN, "kinds": list(SPACERS), "suppliers": ["Many Makers"], "duty": "sealed_road"}
    with monkeypatch.context() as patched:
        patched.setattr("service.judging.search_queue.search", None)
        answer = client.post(PATH, asked)
    assert answer.status_code == 422
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == "/kinds"
    assert "1,030,301 combinations (100 of bump stop spacer, 100 of spring spacer, 100 of strut top" in fault["detail"]
    assert "looks at 1,000,000 at most" in fault["detail"]
    assert "fewer parts (most_parts)" in fault["detail"]
    body = found(client, **asked, most_parts=2)
    assert body["counts"]["combinations"] + body["counts"]["refused"] == 1 + 3 * 100 + 3 * 100**2
    assert body["counts"]["clear"] > len(body["items"]) == 200
    last = client.get(f"{PATH}/{body['id']}?limit=200&cursor={body['next']}").json()
    assert [item["rank"] for item in last["items"]][:1] == [201]


def test_a_search_needs_the_same_key_as_an_evaluation(client):
    client.app.state.admission.needs_keys = True
    assert client.post(PATH, LIFT).status_code == 401
