"""Bringing a database to the tables that this version of the service expects."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, NullPool, create_engine, event
from sqlalchemy.exc import SQLAlchemyError

from service.database import BUSY_TIMEOUT_MS, POOL_SIZE, TIMEOUT_S, Database, begin_transaction, database_address
from service.settings import PREFIX, StartRefusedError

MIGRATE_COMMAND = "python -m service migrate"


class OutdatedDatabaseError(Exception):
    """The database's tables are not those of this version."""

    def __init__(self, found: str | None, expected: str | None) -> None:
        super().__init__(
            f"The database's tables are at {found or 'nothing yet'}, this version needs {expected}: "
            f"run {MIGRATE_COMMAND}"
        )


def migrations_folder() -> Path:
    """The migrations: beside this module in an installed package, at the top of a checkout otherwise."""
    installed = Path(__file__).with_name("migrations")
    return installed if installed.is_dir() else Path(__file__).parents[2] / "alembic"


def migration_config(url: str) -> Config:
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    config.set_main_option("path_separator", "os")
    config.attributes["database_url"] = url
    return config


def migration_engine(url: str) -> Engine:
    """An engine for migrations. On SQLite foreign keys stay off: a table that is changed by copying would lose rows."""
    address = database_address(url)
    if address.get_backend_name() != "sqlite":
        return create_engine(address, poolclass=NullPool, connect_args={"connect_timeout": 3})
    engine = create_engine(address, poolclass=NullPool, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000})
    engine = engine.execution_options(writes=True)
    event.listen(engine, "connect", _leave_transactions_to_us)
    event.listen(engine, "begin", begin_transaction)
    return engine


def migrate(url: str) -> None:
    """Apply every migration that is missing. Raises ``StartRefusedError`` where the tables are of a later version."""
    try:
        command.upgrade(migration_config(url), "head")
    except CommandError as error:
        raise StartRefusedError(f"The database's tables are not of this or an earlier version: {error}.") from error


@cache
def newest_revision() -> str | None:
    return ScriptDirectory(str(migrations_folder())).get_current_head()


def current_revision(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def ready_database(url: str, pool_size: int = POOL_SIZE, timeout_s: int = TIMEOUT_S) -> Database:
    """An open database with current tables; ``StartRefusedError`` says in one line why there is none.

    An embedded database is migrated here. A server's is not: others may be using it, so its keeper decides when.
    """
    database = Database(url, pool_size, timeout_s)
    try:
        if database.embedded:
            migrate(url)
        with database.reading() as connection:
            found, expected = current_revision(connection), newest_revision()
    except SQLAlchemyError as error:
        database.close()
        file = f" ({database.engine.url.database})" if database.embedded else ""
        raise StartRefusedError(f"The database cannot be opened: {_first_line(error)}{file}") from error
    if found != expected:
        database.close()
        raise StartRefusedError(str(OutdatedDatabaseError(found, expected)))
    return database


def existing_database(url: str) -> Database:
    """As ``ready_database``, but none is made: who only looks would take a new, empty one for his own."""
    address = database_address(url)
    if address.get_backend_name() == "sqlite" and "uri" not in address.query:
        file = Path(address.database or "").absolute()
        try:
            file.stat()
        except OSError as error:
            raise StartRefusedError(
                f"There is no database at {file}: {error.strerror}. {PREFIX}DATABASE_URL says where it is."
            ) from None
    return ready_database(url)


def _leave_transactions_to_us(connection: object, _record: object) -> None:
    connection.isolation_level = None  # type: ignore[attr-defined]


def _first_line(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error).strip().split("\n", maxsplit=1)[0]
