"""Settings: what they read, and what they refuse to start with."""

import pytest

from service.settings import Settings, StartRefusedError, read_settings


def test_nothing_stated_gives_a_service_that_only_this_machine_reaches():
    settings = read_settings({"HOME": "/somewhere"})
    assert settings == Settings()
    assert (settings.host, settings.port) == ("127.0.0.1", 8000)
    assert settings.database_url == "sqlite:///coilgap.sqlite3"
    assert settings.max_body_bytes == 1024 * 1024


def test_every_setting_is_read():
    stated = {
        "COILGAP_HOST": "0.0.0.0",  # noqa: S104 — that is what is tested
        "COILGAP_PORT": "0",
        "COILGAP_DATABASE_URL": "postgresql://keeper@db/coilgap",
        "COILGAP_MAX_BODY_BYTES": "2048",
        "COILGAP_DEMO": "False",
        "COILGAP_TRUST_NETWORK": "true",
        "COILGAP_LOG_LEVEL": "INFO",
        "COILGAP_ACCESS_LOG": "true",
    }
    expected = Settings("0.0.0.0", 0, "postgresql://keeper@db/coilgap", 2048, False, True, "info", True)  # noqa: S104
    assert read_settings(stated) == expected


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("COILGAP_PROT", "8000", "COILGAP_PROT is no setting"),
        ("COILGAP_PORT", "eighty", "COILGAP_PORT='eighty': expected a whole number from 0 to 65535"),
        ("COILGAP_PORT", "65536", "from 0 to 65535"),
        ("COILGAP_PORT", "-1", "from 0 to 65535"),
        ("COILGAP_MAX_BODY_BYTES", "0", "from 1024"),
        ("COILGAP_DEMO", "yes", "say true or false"),
        ("COILGAP_TRUST_NETWORK", "1", "say true or false"),
        ("COILGAP_LOG_LEVEL", "loud", "expected one of critical"),
        ("COILGAP_HOST", "", "expected an address"),
        ("COILGAP_HOST", "http://127.0.0.1", "expected an address"),
        ("COILGAP_DATABASE_URL", "a file", "expected an address such as"),
        ("COILGAP_DATABASE_URL", "mysql://db/coilgap", "SQLite and PostgreSQL"),
        ("COILGAP_DATABASE_URL", "sqlite://", "in memory would lose every record"),
        ("COILGAP_DATABASE_URL", "sqlite:///:memory:", "in memory would lose every record"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(name, value, said):
    with pytest.raises(StartRefusedError) as refusal:
        read_settings({name: value})
    assert name in str(refusal.value)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "shop.example"])  # noqa: S104
def test_an_address_that_strangers_reach_needs_trust(host):
    with pytest.raises(StartRefusedError, match="COILGAP_TRUST_NETWORK=true"):
        read_settings({"COILGAP_HOST": host})
    assert read_settings({"COILGAP_HOST": host, "COILGAP_TRUST_NETWORK": "true"}).host == host


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.9.10", "::1", "localhost"])
def test_loopback_needs_no_trust(host):
    assert read_settings({"COILGAP_HOST": host}).host == host
