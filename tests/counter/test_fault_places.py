"""A refusal says where on the page it stands, in the reader's words."""

import pytest

from service.counter.language.fault_places import place_of
from service.counter.language.reader import Reader


@pytest.mark.parametrize(
    ("pointer", "place"),
    [
        ("/axle/vehicle", "Fahrzeug"),
        ("/axle", "Achse"),
        ("/axle/end", "Achse"),
        ("/duty", "Einsatz"),
        ("/target_lift_mm", "Gewünschte Höherlegung, mm"),
        ("/load/occupants_kg/plus_minus", "Insassen, kg"),
        ("/load/accessories/0/mass_kg", "Masse, kg"),
        ("/load/accessories/0/quantity", "Teile und Zubehör"),
        ("/load/accessories/0/name", "Was es ist"),
        ("/parts", "Teile und Zubehör"),
        ("/parts/2/sku", "Teile und Zubehör"),
        ("/parts/0/part/kind", "Teile und Zubehör"),
        ("/parts/0/part/thickness_mm", "Teile und Zubehör: Dicke"),
        ("/parts/0/part/total_coils", "Teile und Zubehör: Windungen insgesamt"),
        ("/parts/0/part/colour", "Teile und Zubehör: colour"),
        ("/axle/inline/fitted/bump_stop/free_height_mm/plus_minus", "Anschlag: Höhe unbelastet, mm"),
        ("/axle/inline/unsprung_kg_per_wheel", "Achse: ungefederte Masse je Rad, kg"),
        ("/axle/inline/travel/stations/2/seat_gap_mm", "Stellung 2: Tellerabstand, mm"),
        ("/nowhere", "/nowhere"),
        ("", ""),
    ],
)
def test_a_fault_stands_where_the_page_has_the_field(pointer, place):
    assert place_of(pointer, Reader("de")) == place
