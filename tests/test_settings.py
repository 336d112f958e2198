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
        "COILGAP_DATABASE_POOL": "20",
        "COILGAP_DATABASE_TIMEOUT_S": "30",
        "COILGAP_MAX_BODY_BYTES": "2048",
        "COILGAP_MAX_IMPORT_BYTES": "4096",
        "COILGAP_DEMO": "False",
        "COILGAP_KEYS": "Required",
        "COILGAP_BATCH_PROCESSES": "4",
        "COILGAP_RATE_LIMIT": "100/Second",
        "COILGAP_RATE_LIMIT_WITHOUT_KEY": "off",
        "COILGAP_RATE_LIMIT_STORE": "redis://:secret@counter:6379/1",
        "COILGAP_CORS_ORIGINS": "https://shop.example, http://127.0.0.1:8080",
        "COILGAP_LOG_LEVEL": "INFO",
        "COILGAP_ACCESS_LOG": "true",
    }
    expected = Settings(
        host="0.0.0.0",  # noqa: S104
        port=0,
        database_url="postgresql://keeper@db/coilgap",
        database_pool=20,
        database_timeout_s=30,
        max_body_bytes=2048,
        max_import_bytes=4096,
        demo=False,
        keys="required",
        batch_processes=4,
        rate_limit="100/second",
        rate_limit_without_key="off",
        rate_limit_store="redis://:secret@counter:6379/1",
        cors_origins=("https://shop.example", "http://127.0.0.1:8080"),
        log_level="info",
        access_log=True,
    )
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
        ("COILGAP_KEYS", "none", "say auto"),
        ("COILGAP_BATCH_PROCESSES", "many", "say auto (as there are cores for), or a whole number from 0 to 64"),
        ("COILGAP_RATE_LIMIT", "100", "expected a rate such as"),
        ("COILGAP_RATE_LIMIT", "0/minute", "expected a rate such as"),
        ("COILGAP_RATE_LIMIT_WITHOUT_KEY", "1/week", "expected a rate such as"),
        ("COILGAP_RATE_LIMIT_STORE", "memcached://x", "expected memory://"),
        ("COILGAP_CORS_ORIGINS", "shop.example", "expected origins such as"),
        ("COILGAP_CORS_ORIGINS", "https://shop.example/", "expected origins such as"),
        ("COILGAP_CORS_ORIGINS", "https://*.example", "expected origins such as"),
        ("COILGAP_LOG_LEVEL", "loud", "expected one of critical"),
        ("COILGAP_HOST", "", "expected an address"),
        ("COILGAP_HOST", "http://127.0.0.1", "expected an address"),
        ("COILGAP_DATABASE_POOL", "1", "from 2 to 1000"),
        ("COILGAP_DATABASE_TIMEOUT_S", "0", "from 1 to 600"),
        ("COILGAP_DATABASE_TIMEOUT_S", "1.5", "from 1 to 600"),
        ("COILGAP_DATABASE_URL", "a file", "expected an address such as"),
        ("COILGAP_DATABASE_URL", "postgresql://keeper@db:port/coilgap", "expected an address such as"),
        ("COILGAP_DATABASE_URL", "sqlite+aiosqlite:///coilgap.sqlite3", "Python's own driver alone"),
        ("COILGAP_DATABASE_URL", "mysql://db/coilgap", "SQLite and PostgreSQL"),
        ("COILGAP_DATABASE_URL", "mysql://keeper:pass@db/coilgap", "COILGAP_DATABASE_URL (not shown: it may hold a"),
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
def test_an_address_that_strangers_reach_needs_keys(host):
    assert read_settings({"COILGAP_HOST": host}).needs_keys
    assert read_settings({"COILGAP_HOST": host, "COILGAP_KEYS": "auto"}).needs_keys


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.9.10", "::1", "localhost"])
def test_loopback_needs_keys_only_where_it_is_said(host):
    assert not read_settings({"COILGAP_HOST": host}).needs_keys
    assert read_settings({"COILGAP_HOST": host, "COILGAP_KEYS": "required"}).needs_keys
