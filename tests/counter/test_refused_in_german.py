"""The page refuses in the reader's language."""

import re

import pytest

from service.counter.language.refusals import refusal_in_german

TARN = "/counter?vehicle=tarn-300-double-cab&lang=de"


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("&sku=KES-SPR-U3520", "KES-SPR-U3520 wird für die Vorderachse von tarn-300-double-cab nicht verkauft."),
        ("&end=rear", "Die Hinterachse von tarn-300-double-cab hat noch niemand vermessen."),
        ("&sku=DUN-ARM-T&sku=DUN-ARM-T", "Oberer Lenker: An ein Rad gehört nur eines; die Anzahl gilt je Rad."),
        ("&sku=KES-SPR-4030&sku=KES-KIT-T60", "Im Satz KES-KIT-T60, "),
        ("&lift_mm=900", "Höherlegung: 900 kann nicht stimmen; zu erwarten sind −300 bis 400 (mm)."),
        (
            "&load_name=x&load_kg=90 ± 95&load_mm=5",
            "Masse: 90 ± 95 sagt nichts aus; die Zahl nach dem ± muss kleiner sein.",
        ),
        ("&load_name=x&load_kg=-5&load_mm=5", "Masse: −5 kann nicht stimmen; zu erwarten sind 0,01 bis 10000 (kg)."),
        ("&occupants_kg=12345678901", "darf höchstens "),
        ("&occupants_kg=9 ± -1", "muss mindestens 0 sein"),
        ("&load_name=" + "W" * 201 + "&load_kg=5&load_mm=5", "darf höchstens 200 Zeichen lang sein"),
        ("&" + "&".join(["sku=KES-TOP-10"] * 30), "darf höchstens 20 sein"),
        ("&duty=racing", "muss eines davon sein: "),
        ("&end=middle", "oder"),
    ],
)
def test_the_german_page_refuses_in_german(shared_client, query, said):
    text = shared_client.get(TARN + query).text
    refusals = re.findall(r'<li lang="(\w+)"><bdi>(.*?)</bdi>', text)
    assert refusals
    assert {language for language, _ in refusals} == {"de"}
    assert said in " ".join(each for _, each in refusals)


def test_a_name_of_the_catalogue_is_left_alone():
    assert refusal_in_german("A-1,5.x is not sold for the rear axle of tarn-3.").startswith(
        "A-1,5.x wird für die Hinter"
    )
    assert refusal_in_german("In the kit K: Something new.") == "Im Satz K: Something new."
    assert refusal_in_german("Something new.") is None
