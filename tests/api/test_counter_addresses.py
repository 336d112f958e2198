"""What may stand in an address of the counter, on both databases."""

import pytest

NUL = "%00"


@pytest.mark.parametrize(
    ("address", "status"),
    [
        (f"?vehicle=tarn-300-double-cab&end=front&sku=KES{NUL}-TOP-20&load_kg={NUL}&lang={NUL}", 200),
        (f"/verdict?vehicle={NUL}&end={NUL}", 200),
        (f"/vehicles?q={NUL}", 200),
        (f"/parts?vehicle={NUL}&end={NUL}&q={NUL}", 200),
        (f"/evaluations/{NUL}", 404),
        (f"/evaluations/{NUL}.svg", 404),
        (f"/evaluations/{NUL}.pdf", 404),
    ],
)
def test_a_sign_that_databases_refuse_is_left_out(shared_client, address, status):
    assert shared_client.get(f"/counter{address}").status_code == status
