"""Migrations: there and back, complete, and what the database refuses by itself."""

import pytest
from alembic import command
from sqlalchemy import inspect, text
from sqlalchemy.exc import DatabaseError

from service.catalogue.upgrade import (
    current_revision,
    migrate,
    migration_config,
    migration_engine,
    migrations_folder,
    newest_revision,
    ready_database,
)
from service.database import Database, Row
from service.settings import StartRefusedError

WRITTEN_ONCE = {
    "vehicle_revision": "INSERT INTO vehicle_revision VALUES ('v', 1, '2026-01-01T00:00:00Z', '{}')",
    "axle_revision": "INSERT INTO axle_revision VALUES ('v', 'front', 1, '2026-01-01T00:00:00Z', '{}')",
    "part_revision": "INSERT INTO part_revision VALUES ('p', 1, '2026-01-01T00:00:00Z', '{}')",
    "evaluation": "INSERT INTO evaluation (id, evaluated_at, axle, verdict, action, headline, engine_version, policy, "
    "policy_version, request, request_sha256, body, revisions, place, prev_sha256, sha256) VALUES ('e', "
    "'2026-01-01T00:00:00Z', 'front', 'clear', 'sell', 'h', '1', 'standard', 1, '{}', 'x', '', '{}', 1, '0', '1')",
    "evaluation_sku": "INSERT INTO evaluation_sku VALUES ('e', 'p')",
}
HEADS = (
    "INSERT INTO vehicle VALUES ('v', 1, 'active', '2026-01-01T00:00:00Z')",
    "INSERT INTO axle VALUES ('v', 'front', 1, 'active', '2026-01-01T00:00:00Z')",
    "INSERT INTO part VALUES ('p', 1, 'active', '2026-01-01T00:00:00Z', 'strut', 'S', 'N')",
)


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request, tmp_path):
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'migrated.sqlite3'}"
    return request.getfixturevalue("postgres_url")


def tables(url):
    engine = migration_engine(url)
    found = set(inspect(engine).get_table_names())
    engine.dispose()
    return found


def test_there_and_back_and_there_again(url):
    migrate(url)
    made = tables(url)
    assert made - {"alembic_version"} == set(Row.metadata.tables)
    command.downgrade(migration_config(url), "base")
    assert tables(url) == {"alembic_version"}
    migrate(url)
    assert tables(url) == made


def test_the_migrations_make_what_the_tables_declare(url):
    migrate(url)
    command.check(migration_config(url))


@pytest.mark.parametrize("verb", ["UPDATE {} SET {} = {}", "DELETE FROM {}"])
@pytest.mark.parametrize("table", WRITTEN_ONCE)
def test_the_database_itself_refuses_to_change_what_is_written_once(url, table, verb):
    migrate(url)
    database = Database(url)
    with database.writing() as connection:
        for statement in (*HEADS, *WRITTEN_ONCE.values()):
            connection.execute(text(statement))
    column = "id" if table == "evaluation" else "evaluation_id" if table == "evaluation_sku" else "body"
    change = text(verb.format(table, column, column))
    with pytest.raises(DatabaseError, match="written once"), database.writing() as connection:
        connection.execute(change)
    with database.reading() as connection:
        assert connection.execute(text(f"SELECT count(*) FROM {table}")).scalar() == 1  # noqa: S608
    database.close()


def test_an_embedded_database_is_brought_up_to_date(tmp_path):
    database = ready_database(f"sqlite:///{tmp_path / 'new.sqlite3'}")
    with database.reading() as connection:
        assert current_revision(connection) == newest_revision()
    database.close()


def test_a_servers_database_is_left_to_its_keeper(postgres_url):
    with pytest.raises(StartRefusedError, match=r"nothing yet, this version needs \w+: run python -m service migrate"):
        ready_database(postgres_url)
    migrate(postgres_url)
    ready_database(postgres_url).close()


def test_an_embedded_database_of_a_later_version_is_refused_and_not_touched(tmp_path):
    url = f"sqlite:///{tmp_path / 'later.sqlite3'}"
    migrate(url)
    engine = migration_engine(url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'later'"))
    engine.dispose()
    with pytest.raises(StartRefusedError, match="later"):
        ready_database(url)


def test_a_migration_that_fails_leaves_nothing_half_done(tmp_path):
    url = f"sqlite:///{tmp_path / 'half.sqlite3'}"
    engine = migration_engine(url)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE part (sku TEXT)"))  # in the way of the first migration
    with pytest.raises(DatabaseError):
        migrate(url)
    assert "vehicle" not in tables(url)
    engine.dispose()


def test_the_folder_of_migrations_is_found():
    assert (migrations_folder() / "env.py").is_file()
