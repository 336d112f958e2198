"""Both languages say everything, with the same numbers; units change figures and nothing else."""

import re
from string import Formatter

import pytest
from pydantic import BaseModel

from service.api.schemas import axle, parts, vehicle
from service.counter.language.choice import preferred, reader_of
from service.counter.language.english import ENGLISH
from service.counter.language.german import GERMAN
from service.counter.language.german_advice import GERMAN_HOW, GERMAN_NOTES, SENTENCES
from service.counter.language.german_readings import GERMAN_OWNERS, GERMAN_READINGS
from service.counter.language.german_reasons import GERMAN_REASONS, JOINTS
from service.counter.language.german_remedies import GERMAN_SAYS
from service.counter.language.measuring import way_of
from service.counter.language.reader import LANGUAGES, Reader
from service.counter.language.sentences import recognised, said, said_how, said_note
from service.counter.readings import CHOICES
from service.engine import words
from service.engine.how_to_measure import HOW
from service.engine.parts import PART_KINDS
from service.engine.remedies.sentences import SAYS
from service.engine.words import DUTY_NOTES, REASONS, SAFETY_NOTES

TEMPLATES = [(key, situation, text) for key, texts in REASONS.items() for situation, text in texts.items()]
REMEDIES = [(what, how, text) for what, texts in SAYS.items() for how, text in texts.items()]
BUILDS = [
    ("tarn-300-double-cab", "front", "KES-SPR-4030", "KES-TOP-20", "DUN-ARM-T", "DUN-DIF-T25"),
    ("tarn-300-double-cab", "front"),
    ("veldram-18-flatbed", "front", "KES-SPR-V2540"),
    ("wendrith-4-estate", "front", "KES-SPR-W2500", "TOV-STR-W12"),
    ("ulfrane-210-station", "front", "KES-SPR-U3520", "TOV-STR-U20"),
    ("stenmoor-340-wagon", "front", "KES-SPR-S3540", "DUN-ARM-S0"),
    ("stenmoor-340-wagon", "rear", "KES-PRE-R30", "TOV-DMP-R35"),
    ("hathrop-260-pickup", "front", "KES-BAR-H2050", "TOV-DMP-H22"),
    ("hathrop-260-pickup", "rear", "KES-BLK-H45", "HOL-TYR-798"),
    ("orrenby-3-van", "front", "KES-SPR-O2020", "TOV-STR-O08"),
]


def fields(template):
    return {name for _, name, _, _ in Formatter().parse(template) if name}


def test_both_languages_have_the_same_keys_with_the_same_places():
    assert ENGLISH.keys() == GERMAN.keys()
    for key, text in ENGLISH.items():
        assert fields(text) == fields(GERMAN[key]), key
        assert GERMAN[key].strip()


@pytest.mark.parametrize(("key", "situation", "english"), TEMPLATES, ids=lambda part: str(part)[:30])
def test_every_reason_is_said_in_german_with_all_that_the_engine_tells(key, situation, english):
    german = GERMAN_REASONS[key][situation]
    assert german != english
    told = fields(english) - {"further_than_factory_deg"}
    assert told <= fields(german) | {"further_than_factory_deg"}, told - fields(german)
    assert fields(german) <= fields(english)


@pytest.mark.parametrize("english", [english for _, _, english in TEMPLATES], ids=lambda text: text[:60])
def test_every_reason_is_recognised_and_keeps_its_numbers(english):
    numbers = {name: f"{place}.5" for place, name in enumerate(sorted(fields(english)), 11)}
    sentence = english.format(**{**numbers, "joint": words.JOINTS["inner_cv"]})
    found = recognised(sentence)
    assert found.template.english.format(**found.values) == sentence
    german = said(sentence, Reader("de"))
    assert german.language == "de"
    in_german = set(re.findall(r"\d+,\d", german.text))
    assert in_german == {number.replace(".", ",") for number in re.findall(r"\d+\.\d", sentence)}
    if "{joint}" in english:
        assert JOINTS["inner_cv"] in german.text


@pytest.mark.parametrize(("what", "how", "english"), REMEDIES, ids=lambda part: str(part)[:30])
def test_every_remedy_is_recognised_and_said_in_german_with_its_numbers(what, how, english):
    german = GERMAN_SAYS[what][how]
    assert fields(english) - {"article"} == fields(german)
    values = {"becomes": "12.5", "was": "20.5", "place": "640", "joint": "inner CV joint", "article": "An"}
    sentence = english.format(**values, name="Winch (red)")
    assert recognised(sentence).template.english in {text for _, _, text in REMEDIES}
    spoken = said(sentence, Reader("de"))
    assert spoken.language == "de"
    assert sorted(re.findall(r"\d+,\d", spoken.text)) == [
        each for name, each in (("becomes", "12,5"), ("was", "20,5")) if name in fields(english)
    ]
    assert ("640 mm" in spoken.text) == ("place" in fields(english))


def test_where_a_mass_sits_goes_to_inches_and_the_mass_to_pounds():
    sentence = "Winch (640 mm ahead of the front axle) with a mass of at most 50 kg; it is 96 kg now."
    assert said(sentence, Reader("en", "imperial")).text == (
        "Winch (25 in ahead of the front axle) with a mass of at most 110 lb; it is 212 lb now."
    )
    assert said(sentence, Reader("de", "imperial")).text == (
        "Winch (25 in vor der Vorderachse), Masse: höchstens 110 lb; jetzt 212 lb."
    )


@pytest.mark.parametrize(
    ("sentence", "english", "german"),
    [
        (
            "Bump-stop spacers, all together of at least 14.5 mm; none is stated now.",
            "least 0.58 in",
            "mindestens 0,58 in",
        ),
        ("A spring with a solid length of at most 186.9 mm; it is 204.6 mm now.", "most 7.35 in", "höchstens 7,35 in"),
        (
            "Occupants with a mass, all together, of at most 52.9 kg; it is 160 kg now.",
            "most 116 lb",
            "höchstens 116 lb",
        ),
        ("Strut-top spacers, all together of at most 25.4 mm; it is 50 mm now.", "most 1.00 in", "höchstens 1,00 in"),
        (
            "Bump-stop spacers, all together of at least 25.4 mm; none is stated now.",
            "least 1.00 in",
            "mindestens 1,00 in",
        ),
    ],
)
def test_a_remedy_is_never_rounded_past_what_it_needs(sentence, english, german):
    assert english in said(sentence, Reader("en", "imperial")).text
    assert german in said(sentence, Reader("de", "imperial")).text


def test_every_way_of_measuring_and_every_caution_is_said_in_german():
    assert GERMAN_HOW.keys() == HOW.keys()
    assert GERMAN_NOTES.keys() == SAFETY_NOTES.keys() | {code for code, _ in DUTY_NOTES.values()}
    for key, text in HOW.items():
        assert fields(text) == fields(GERMAN_HOW[key]), key
    for english, german in SENTENCES.items():
        assert fields(english) - {"layout"} == fields(german), english


@pytest.mark.parametrize("build", BUILDS, ids=" ".join)
def test_nothing_of_a_real_verdict_stays_english(verdict, build):
    load = {"accessories": [{"sku": "SKA-BAR-38"}], "occupants_kg": 150}
    reader = Reader("de")
    for more in ({}, {"load": load, "target_lift_mm": 30, "duty": "sealed_road"}):
        record = verdict(*build, **more)
        told = [record["headline"], *record["assumptions"], *(check["because"] for check in record["checks"])]
        told += [remedy["says"] for remedy in record["remedies"]]
        spoken = [said(sentence, reader) for sentence in told]
        spoken += [said_how(missing["how_to_measure"], reader) for missing in record["missing"]]
        spoken += [said_note(note, reader) for note in record["safety_notes"]]
        assert [each.text for each in spoken if each.language != "de"] == []


def test_every_reading_that_can_be_taken_has_a_german_name():
    models = [
        model for schemas in (axle, parts, vehicle) for model in vars(schemas).values() if isinstance(model, type)
    ]
    readings = {
        name
        for model in models
        if issubclass(model, BaseModel) and model is not axle.HardPoints
        for name, field in model.model_fields.items()
        if "Measured" in repr(field.annotation) and "list[" not in repr(field.annotation)
    }
    assert {"free_height_mm", "motion_ratio", "front_axle_kg"} <= readings
    assert readings | CHOICES.keys() <= GERMAN_READINGS.keys()
    slots = {*axle.Fitted.model_fields, *axle.Limits.model_fields, *PART_KINDS}
    assert slots <= GERMAN_OWNERS.keys()


def test_a_sentence_that_nobody_knows_stays_as_it_is():
    assert said("Something +-2 else.", Reader("de")).text == "Something ±2 else."
    assert said("Something else.", Reader("de")).language == "en"


@pytest.mark.parametrize(
    ("reader", "text"),
    [
        (Reader(), "At full bump 5.2 ±4.4 mm of damper travel are left."),
        (Reader("de"), "Voll eingefedert bleiben 5,2 ±4,4 mm Dämpferweg."),
        (Reader("en", "imperial"), "At full bump 0.20 ±0.17 in of damper travel are left."),
    ],
)
def test_a_reason_in_the_readers_language_and_units(reader, text):
    assert said("At full bump 5.2 +-4.4 mm of damper travel are left.", reader).text == text


def test_a_tenth_of_a_millimetre_too_little_is_not_nothing_in_inches():
    imperial = Reader("en", "imperial")
    sentence = "At full bump the damper closes before the bump stop has been crushed: 0.1 mm short."
    assert said(sentence, imperial).text.endswith("crushed: 0.004 in short.")
    assert imperial.figure("damper_travel_mm", -0.1, 4.2, signed=True) == "−0.004 ±0.17 in"
    assert imperial.figure("damper_travel_mm", 0.0, 0.0) == "0.00 ±0.00 in"


def test_masses_go_to_pounds_and_stresses_stay():
    imperial = Reader("en", "imperial")
    assert said("Loaded, the axle carries 1131 kg of its 1270 kg.", imperial).text == (
        "Loaded, the axle carries 2493 lb of its 2800 lb."
    )
    stress = "At full bump the spring's steel is stressed to 900 of 1092 MPa."
    assert said(stress, imperial).text == stress


def test_numbers_that_a_sentence_always_has_are_converted_too():
    """30 mm are not 30 inches."""
    always = re.compile(r"(?<![\w.,{])\d+(?:[.,]\d+)? (?:mm|kg)\b")
    english = [text for text in SENTENCES if always.search(text)]
    assert english
    for sentence in english:
        assert "more than 30 mm" in said(sentence, Reader()).text
        assert "more than 1.18 in" in said(sentence, Reader("en", "imperial")).text
        assert "mehr als 1,18 in" in said(sentence, Reader("de", "imperial")).text
        assert "mehr als 30 mm" in said(sentence, Reader("de")).text
    said_elsewhere = [text for texts in (*REASONS.values(), *SAYS.values()) for text in texts.values()]
    assert [text for text in said_elsewhere if always.search(text)] == []


def test_decimals_go_where_the_uncertainty_makes_them_idle():
    sentence = "At full bump 2.3 +-11 mm of coil gap are left; 5 mm for certain are asked for."
    assert said(sentence, Reader(), {"standard_uncertainty": 5.5}).text.startswith("At full bump 2 ±11 mm")


def test_ways_of_measuring_are_told_apart():
    sentence = HOW["limit"].format(joint="inner CV joint")
    assert (way_of(sentence).key, way_of(sentence).joint) == ("limit", "inner_cv")
    assert way_of("Guess.").key == ""


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("de-CH, en;q=0.9", "de"),
        ("en, de", "en"),
        ("fr", "en"),
        ("de;q=x", "en"),
        ("*", "en"),
        ("en;q=0.1, de;q=0.9", "de"),
    ],
)
def test_the_header_chooses_the_language(header, language):
    assert preferred(header) == language


def test_the_query_goes_before_the_header():
    assert reader_of({"lang": "en", "units": "imperial"}, "de") == Reader("en", "imperial")
    assert reader_of({"lang": "xx", "units": "xx"}, "de") == Reader("de", "metric")


def test_the_page_speaks_the_language_of_the_header_and_of_the_query(shared_client):
    german = shared_client.get("/counter", headers={"Accept-Language": "de"}).text
    assert '<html lang="de">' in german
    assert "Unsicher" in german
    assert "Voll eingefedert geht die Feder auf Block" in german
    assert "Unsafe" not in german
    assert '<html lang="en">' in shared_client.get("/counter?lang=en", headers={"Accept-Language": "de"}).text


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_name_of_a_check_states_nothing_that_its_outcome_denies(language):
    """As "Spring seated: Unsafe" would: names are of what is looked at."""
    names = [text for key, text in LANGUAGES[language].items() if key.startswith("check_")]
    assert [name for name in names if re.search(r"\b(seated|sitzt|schlägt)\b", name)] == []
