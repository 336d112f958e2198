"""The counter in headless Chromium: from the empty form to the printed sheet, by keyboard, and without scripts."""

import io
import re
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
DEMO_QUERY = "vehicle=tarn-300-double-cab&end=front&sku=KES-SPR-4030&sku=KES-TOP-20&duty=unsealed_touring"
ULFRANE_QUERY = "vehicle=ulfrane-210-station&end=front&sku=KES-SPR-U3520"
SIZES = [(360, 740), (1280, 800)]
HOSTILE = "<img src=x onerror=alert(1)>\"'&\u202e\u05d0\u05d1\u0627\u0644 "


@pytest.fixture
def open_page(browser, counter_address):
    """Opens a page of the counter and sees to it that nothing on it goes wrong; requests may where it ``may_fail``."""
    contexts, complaints = [], []

    def open_at(address, width=1280, height=800, *, scripts=True, may_fail=False):
        context = browser.new_context(viewport={"width": width, "height": height}, java_script_enabled=scripts)
        contexts.append(context)
        page = context.new_page()
        if not may_fail:
            page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda asked: complaints.append(asked.url) if counter_address not in asked.url else None)
        page.goto(counter_address + address)
        return page

    yield open_at
    for context in contexts:
        context.close()
    assert complaints == []


def violations(page):
    """What axe-core finds. It is put in by the browser's own tool, which the page's policy does not concern."""
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    return [(each["id"], [node["html"][:120] for node in each["nodes"]]) for each in found]


def settled(page):
    """Wait until the verdict has come: the status line then begins with its word."""
    expect(page.locator("#status")).to_have_text(re.compile("^(Clear|Marginal|Cannot tell yet|Unsafe)"))


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize(
    "query", ["", "vehicle=", DEMO_QUERY, ULFRANE_QUERY, ULFRANE_QUERY + "&lang=de", "vehicle=tarn&sku=y"]
)
def test_axe_finds_nothing_and_nothing_sticks_out(open_page, width, height, query):
    page = open_page(f"/counter?{query}".rstrip("?"), width, height)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_axe_finds_nothing_on_the_sheet(open_page, counter_address):
    kept = httpx.post(f"{counter_address}/counter/sheets", content=DEMO_QUERY)
    page = open_page(kept.headers["location"])
    assert violations(page) == []


def test_the_verdict_comes_without_a_reload_and_the_address_follows(open_page):
    page = open_page("/counter?vehicle=")
    page.evaluate("window.still = true")
    page.get_by_label("Vehicle").fill("tarn-300-double-cab")
    page.get_by_label("Part 1").fill("KES-SPR-4030")
    page.get_by_label("Part 2").fill("KES-TOP-20")
    page.get_by_label("Used for").select_option("unsealed_touring")
    page.get_by_role("heading", name="Unsafe", exact=True).wait_for()
    assert page.evaluate("window.still")
    address = page.url
    for said in ("vehicle=tarn-300-double-cab", "sku=KES-SPR-4030", "sku=KES-TOP-20"):
        assert said in address
    page.reload()
    assert page.get_by_role("heading", name="Unsafe", exact=True).is_visible()


def test_from_the_empty_form_to_the_printed_sheet_by_keyboard_alone(open_page):
    page = open_page("/counter?vehicle=")
    keys = page.keyboard

    def go_to(name):
        for _ in range(60):
            keys.press("Tab")
            if page.evaluate("document.activeElement.name || document.activeElement.textContent.trim()") == name:
                return
        pytest.fail(f"The keyboard does not reach {name}.")

    go_to("vehicle")
    keys.type("tarn-300-double-cab")
    go_to("sku")
    keys.type("KES-SPR-4030")
    keys.press("Enter")  # as a scanner ends each part
    settled(page)
    keys.type("KES-TOP-20")
    keys.press("Enter")
    page.get_by_role("heading", name="Unsafe", exact=True).wait_for()
    go_to("Keep the verdict and make the job sheet")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
    keys.press("Enter")
    page.wait_for_url("**/counter/evaluations/*")
    printed = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True)))
    assert len(printed.pages) == 1
    text = re.sub(r"\s+", " ", printed.pages[0].extract_text())
    assert "KES-TOP-20" in text
    assert "Signature" in text


def test_without_scripts_the_form_does_it_all(open_page):
    page = open_page("/counter?vehicle=", scripts=False)
    page.get_by_label("Vehicle").fill("ulfrane-210-station")
    page.get_by_label("Part 1").fill("KES-SPR-U3520")
    page.get_by_role("button", name="Check this build").first.click()
    assert page.get_by_role("heading", name="Cannot tell yet", exact=True).is_visible()
    page.get_by_label("Reading, mm").nth(0).fill("58")
    page.get_by_label("Reading, mm").nth(1).fill("26")
    page.get_by_role("button", name="Check this build").first.click()
    assert not page.get_by_role("heading", name="Cannot tell yet", exact=True).is_visible()
    assert page.get_by_label("bump stop free height mm").input_value() == "58"
    page.get_by_role("button", name="Keep the verdict").click()
    assert "/counter/evaluations/" in page.url
    assert page.get_by_text("Front (as measured, not from the catalogue)").is_visible()


def test_a_reading_filled_in_changes_the_verdict_in_place(open_page):
    page = open_page(f"/counter?{ULFRANE_QUERY}")
    page.evaluate("window.still = true")
    page.get_by_label("Reading, mm").nth(0).fill("58")
    page.keyboard.press("Tab")
    settled(page)
    page.get_by_label("bump stop free height mm").wait_for()
    page.get_by_label("Reading, mm").nth(0).fill("26")
    page.keyboard.press("Tab")
    page.get_by_role("heading", name="Cannot tell yet", exact=True).wait_for(state="detached")
    assert page.evaluate("window.still")


DIAMETER = '[name="reading:/parts/coil_spring/mean_diameter_mm"]'
FAILURES = {
    "no network": lambda route: route.abort(),
    "a problem": lambda route: route.fulfill(status=503, content_type="application/problem+json", body="{}"),
    "no page": lambda route: route.fulfill(status=200, content_type="application/json", body="{}"),
    "a page of another's": lambda route: route.fulfill(status=200, content_type="text/html", body="<p>Log in</p>"),
}


@pytest.mark.parametrize("failure", FAILURES)
def test_where_the_service_fails_no_verdict_stays_and_the_next_change_tries_again(open_page, failure):
    page = open_page(f"/counter?{ULFRANE_QUERY}&reading:/axle/fitted/bump_stop/free_height_mm=58", may_fail=True)
    page.route("**/counter/verdict?*", FAILURES[failure])
    page.locator(DIAMETER).fill("118")
    page.get_by_label("Used for").select_option("sealed_road")
    page.get_by_role("heading", name="No verdict", exact=True).wait_for()
    assert page.get_by_role("alert").inner_text().count("Sell nothing on the verdict that stood here before") == 1
    assert page.locator(".action").count() == 0
    assert page.locator("#verdict > section").count() == 2  # the message and the readings
    assert page.get_by_role("button", name="Keep the verdict").count() == 0
    assert page.get_by_label("bump stop free height mm").input_value() == "58"
    assert page.locator(DIAMETER).input_value() == "118"
    assert page.locator("[name=measured_on]").input_value() == "ulfrane-210-station/front"
    assert violations(page) == []
    page.unroute("**/counter/verdict?*")
    page.get_by_label("Used for").select_option("unsealed_touring")
    settled(page)
    assert page.get_by_role("alert").count() == 0
    assert page.get_by_label("coil spring mean diameter mm").input_value() == "118"


def test_the_old_verdict_is_marked_while_a_new_one_is_asked_for(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}")
    held = []

    def hold(route):
        held.append(route)

    page.route("**/counter/verdict?*", hold)
    page.get_by_label("Used for").select_option("sealed_road")
    expect(page.locator("#verdict")).to_have_attribute("aria-busy", "true")
    style = "getComputedStyle(document.querySelector('#verdict .head'))"
    assert float(page.evaluate(f"{style}.opacity")) < 0.5
    assert "Out of date" in page.evaluate("getComputedStyle(document.getElementById('verdict'), '::before').content")
    expect(page.locator("#verdict")).to_have_attribute("aria-busy", "true")
    while not held:  # the page says that it asks before the browser does
        page.wait_for_timeout(20)
    held[0].continue_()
    expect(page.locator("#verdict")).not_to_have_attribute("aria-busy", "true")
    settled(page)
    assert float(page.evaluate(f"{style}.opacity")) == 1.0


def test_without_a_key_the_way_goes_to_the_key(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}", may_fail=True)
    page.route("**/counter/verdict?*", lambda route: route.fulfill(status=401, content_type="text/html", body=""))
    page.get_by_label("Used for").select_option("sealed_road")
    page.wait_for_url("**/counter/key")


def test_a_reading_does_not_go_along_to_another_vehicle(open_page):
    page = open_page(f"/counter?{ULFRANE_QUERY}")
    page.get_by_label("Reading, mm").nth(0).fill("58")
    page.keyboard.press("Tab")
    page.get_by_label("bump stop free height mm").wait_for()
    page.get_by_label("Vehicle").fill("tarn-300-double-cab")
    page.keyboard.press("Tab")
    page.get_by_label("bump stop free height mm").wait_for(state="detached")
    assert page.locator("#put-aside").is_visible()
    expect(page.get_by_role("status")).to_contain_text("Put aside, as they were taken on another axle")
    assert "reading" not in page.evaluate("[...new FormData(document.getElementById('build')).keys()].join()")
    assert page.locator("[name=measured_on]").input_value() == "tarn-300-double-cab/front"


def test_the_verdict_says_which_vehicle_a_few_letters_were_taken_for(open_page):
    page = open_page("/counter?vehicle=&lang=de")
    page.get_by_label("Fahrzeug").fill("ulfrane")
    page.keyboard.press("Tab")
    about = page.locator("#verdict .head .about")
    expect(about).to_have_text("Brindlefell Ulfrane 210 station, four-wheel drive · Achse: Vorn")
    page.get_by_label("Teil 1").fill("kes-spr-u3520")
    page.keyboard.press("Tab")
    expect(page.locator("#status")).to_have_text(re.compile("^Noch nicht zu sagen Ob "))
    page.get_by_label("Teil 1").fill("")
    page.get_by_label("Fahrzeug").fill("stenmoor")
    page.get_by_label("Hinten").check()
    expect(about).to_have_text("Brindlefell Stenmoor 340 wagon, four-wheel drive · Achse: Hinten")


def test_as_many_masses_as_there_are_can_be_entered(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}")
    page.get_by_text("Other load").click()
    rows = page.locator(".mass")
    for number in (1, 2, 3):
        expect(rows).to_have_count(number)
        for label, text in (("What it is", f"Box {number}"), ("Mass, kg", "10"), ("Behind front axle, mm", "900")):
            rows.nth(number - 1).get_by_label(label).fill(text)
        page.keyboard.press("Tab")
    expect(rows).to_have_count(4)
    assert rows.last.locator("input").evaluate_all("(inputs) => inputs.map((input) => input.value)") == ["", "", ""]
    settled(page)
    assert page.url.count("load_kg=10") == 3


def test_the_hint_of_the_vehicle_is_the_usual_one_where_none_is_chosen(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}")
    hint = page.locator("#vehicle-hint")
    assert "Tarn" in hint.inner_text()
    page.get_by_label("Vehicle").fill("something else")
    page.keyboard.press("Tab")
    expect(hint).to_have_text("Type a few letters of its name")


@pytest.mark.parametrize("width", [360, 768, 1280])
@pytest.mark.parametrize("language", ["en", "de"])
def test_what_is_chosen_is_not_cut(open_page, width, language):
    page = open_page(f"/counter?{DEMO_QUERY}&lang={language}", width)
    room = page.locator("form select").evaluate_all(
        "(all) => all.map((each) => [each.name, each.offsetWidth, "
        "(each.style.cssText = 'width: auto; max-width: none', each.offsetWidth)])"
    )
    assert room
    assert [name for name, is_wide, needs in room if needs > is_wide] == []


@pytest.mark.parametrize("width", [320, 390, 700, 1280])
@pytest.mark.parametrize("language", ["en", "de"])
def test_every_length_at_every_position_is_seen_without_scrolling_sideways(open_page, width, language):
    page = open_page(f"/counter?{DEMO_QUERY}&lang={language}", width)
    assert page.locator(".scroll").evaluate("(each) => each.scrollWidth - each.clientWidth") <= 0
    assert page.get_by_role("row").count() == 5
    assert page.get_by_role("cell").count() == 12
    assert page.get_by_role("columnheader").count() == 4


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("language", ["en", "de"])
def test_no_label_of_a_mass_is_broken_inside_a_word(open_page, width, language):
    page = open_page(f"/counter?{DEMO_QUERY}&lang={language}&load_name=x&load_kg=60&load_mm=-700", width)
    labels = page.locator(".mass label")
    unbroken = "(all) => all.map((each) => (each.style.overflowWrap = 'normal', each.style.hyphens = 'manual', "
    fits = labels.evaluate_all(unbroken + "each.scrollWidth <= each.clientWidth || each.textContent))")
    assert len(fits) == 6
    assert [each for each in fits if each is not True] == []


def test_the_page_on_paper_says_what_was_judged(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}&occupants_kg=150")
    assert not page.locator(".printed").is_visible()
    text = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages[0].extract_text()
    text = re.sub(r"\s+", "", text)
    for said in ("(tarn-300-double-cab)", "Front", "KES-SPR-4030", "KES-TOP-20", "Occupants150kg", "Date:20"):
        assert said in text


def test_a_measuring_sheet_on_paper_says_only_what_helps_there(open_page):
    page = open_page(f"/counter?{ULFRANE_QUERY}&reading:/axle/fitted/bump_stop/free_height_mm=58")
    page.emulate_media(media="print")
    assert page.get_by_text("Judged with these readings").count() == 1
    assert not page.get_by_text("Judged with these readings").is_visible()
    assert not page.get_by_text("Enter a reading and check again").is_visible()
    sizes = page.locator(".measure li p:visible").evaluate_all(
        "(all) => all.map((each) => getComputedStyle(each).fontSize)"
    )
    assert len(set(sizes)) == 1
    pens = page.locator(".measure .paper").evaluate_all("(all) => all.map((each) => each.textContent)")
    assert any(re.fullmatch("mm:\N{NO-BREAK SPACE}_+", pen) for pen in pens)


@pytest.mark.parametrize("language", ["en", "de"])
def test_nothing_of_the_sheet_sticks_out_of_a_small_screen(open_page, counter_address, language):
    kept = httpx.post(f"{counter_address}/counter/sheets", content=f"{DEMO_QUERY}&lang={language}")
    page = open_page(kept.headers["location"], 320, 640)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_choices_come_as_one_types(open_page):
    page = open_page(f"/counter?{DEMO_QUERY}")
    page.get_by_label("Part 3").press_sequentially("upper arm")
    expect(page.locator("#part-choices option")).to_have_count(1)
    assert page.locator("#part-choices option").get_attribute("value") == "DUN-ARM-T"


@pytest.mark.parametrize("scripts", [True, False])
def test_hostile_names_are_text_and_stay_inside(open_page, counter_address, scripts):
    sku = f"EVIL-{int(scripts)}"
    name = (HOSTILE + "W" * 200)[:200]
    part = {"sku": sku, "name": name, "supplier": "<b>S</b>", "kind": "strut_top_spacer", "thickness_mm": 5}
    assert httpx.post(f"{counter_address}/v1/parts", json=part).status_code == 201
    page = open_page(f"/counter?vehicle=tarn-300-double-cab&end=front&sku={sku}", 360, 740, scripts=scripts)
    assert page.locator("img").count() == 0
    assert page.locator("bdi.hint", has_text="onerror").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_role("button", name="Keep the verdict").click()
    page.wait_for_url("**/counter/evaluations/*")
    assert page.locator("img").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_outcomes_have_a_word_and_a_shape_of_their_own(open_page):
    """Without colour: the marks' outlines differ."""
    page = open_page(f"/counter?{DEMO_QUERY}")
    shapes = page.evaluate(
        "[...document.querySelectorAll('.reasons li')].map((row) => [row.className, row.querySelector('svg').innerHTML"
        ".replace(/#[0-9a-f]{6}/g, '')])"
    )
    by_outcome = dict(shapes)
    assert len(set(by_outcome.values())) == len(by_outcome) >= 3
    assert page.locator(".reasons li.unsafe b").first.inner_text().endswith("Unsafe")
