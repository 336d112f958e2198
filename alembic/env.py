"""Runs the migrations on the database of the settings, or on the one that the service hands over."""

from __future__ import annotations

import os

from alembic import context

import service.catalogue.tables
import service.idempotency.tables
import service.keys.tables
import service.ledger.tables
import service.searches.tables
import service.shelf.tables  # noqa: F401
from service.catalogue.upgrade import migration_engine
from service.database import Row
from service.settings import read_settings

url = context.config.attributes.get("database_url") or read_settings(os.environ).database_url
engine = migration_engine(url)
with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=Row.metadata,
        render_as_batch=True,
        transactional_ddl=True,  # SQLite can, but is not expected to: a migration happens wholly or not at all
        compare_type=True,
        compare_server_default=True,
    )
    with context.begin_transaction():
        context.run_migrations()
engine.dispose()
