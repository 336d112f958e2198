"""The form is its address, whichever way it is read."""

from urllib.parse import parse_qsl, urlsplit

from hypothesis import given
from hypothesis import strategies as st

from service.counter.form import Form, Mass, form_of

TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Z")), min_size=1, max_size=20)
FORMS = st.builds(
    Form,
    vehicle=TEXT,
    end=st.sampled_from(["front", "rear"]),
    skus=st.lists(TEXT, max_size=4).map(tuple),
    masses=st.lists(st.builds(Mass, TEXT, TEXT, TEXT), max_size=3).map(tuple),
    occupants_kg=st.just("") | TEXT,
    target_lift_mm=st.just("") | TEXT,
    duty=TEXT,
    readings=st.dictionaries(TEXT, TEXT, max_size=3),
    measured_on=st.just("") | TEXT,
)


@given(FORMS)
def test_an_address_read_again_is_the_same_form(form):
    query = urlsplit(form.address()).query
    assert form_of(parse_qsl(query, keep_blank_values=True)) == form


def test_a_mass_is_not_lost_where_an_address_leaves_something_out():
    assert form_of([("load_kg", "80"), ("load_mm", "900")]).masses == (Mass("", "80", "900"),)
    assert form_of([("load_name", "Tank"), ("load_kg", "80")]).masses == (Mass("Tank", "80", ""),)
