"""How fast parts come into the catalogue, beside bare inserts of the same rows into the same tables.

    python tests/benchmarks/imports.py [--parts 100000] [--database postgresql://user@host/empty]

Without an address it is an SQLite file in a temporary folder. The database must be empty: the parts stay in it.
"""

import argparse
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

from sqlalchemy import insert

sys.path.insert(0, str(Path(__file__).parents[2]))

from service.api.interchange import unload
from service.api.interchange.load import load
from service.api.interchange.naming import source_file
from service.catalogue.revisions import PARTS
from service.catalogue.upgrade import migrate
from service.database import Database

HEADER = (
    "sku,name,supplier,fits,wire_mm,wire_mm_plus_minus,total_coils,free_length_mm,free_length_mm_plus_minus,"
    "rate_n_per_mm,ends,forming,active_coils,mean_diameter_mm,tensile_strength_mpa\n"
)
AIM_SECONDS = 60


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--parts", type=int, default=100_000, help="coil springs to import")
    parser.add_argument("--database", help="address of an empty database")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="imports-") as folder:
        address = options.database or f"sqlite:///{folder}/imports.sqlite3"
        migrate(address)
        database = Database(address)
        try:
            _measure(database, options.parts)
        finally:
            database.close()


def _measure(database: Database, parts: int) -> None:
    bare = _seconds(lambda: _bare_inserts(database, parts))
    file = source_file("coil_spring.csv", _springs(parts, rate=70))
    first = _seconds(lambda: load(database, [file]))
    _show(f"import of {parts:,} parts", first, f"(aim for 100,000: < {AIM_SECONDS})")
    _show("the same again, nothing changed", _seconds(lambda: load(database, [file])))
    changed = source_file("coil_spring.csv", _springs(parts, rate=71))
    _show("every part changed", _seconds(lambda: load(database, [changed])))
    _show("dry run", _seconds(lambda: load(database, [file], dry_run=True)))
    _show("export", _seconds(lambda: _export(database)))
    print(f"{'import / bare inserts':40}{first / bare:>12.2f} x")


def _springs(parts: int, rate: int) -> bytes:
    rows = (
        f"SPR-{number:06},Coil spring {number},Invented Works,tarn-300/front;tarn-310,{15 + number % 20 / 10},0.05,"
        f"10.5,{400 + number % 50},1,{rate + number % 30},closed_unground,cold,8.5,107.5,1950\n"
        for number in range(parts)
    )
    return (HEADER + "".join(rows)).encode()


def _bare_inserts(database: Database, parts: int) -> None:
    """The same two tables and about the same text, without a look at what it says, and taken back."""
    times = {"created_at": "2026-01-01T00:00:00Z"}
    head = {
        "revision": 1,
        "status": "active",
        **times,
        "kind": "coil_spring",
        "supplier": "Invented Works",
        "name": "N",
    }
    revision = {"revision": 1, "revised_at": times["created_at"], "body": "x" * 400}
    skus = [f"BARE-{number:06}" for number in range(parts)]
    with database.writing() as connection:
        connection.execute(insert(PARTS.heads), [{"sku": sku, **head} for sku in skus])
        connection.execute(insert(PARTS.revisions), [{"sku": sku, **revision} for sku in skus])
        connection.rollback()


def _export(database: Database) -> None:
    with database.snapshot() as connection:
        unload.csv_file(connection, "coil_spring")


def _seconds(work: Callable[[], object]) -> float:
    began = perf_counter()
    work()
    return perf_counter() - began


def _show(what: str, seconds: float, note: str = "") -> None:
    print(f"{what:40}{seconds:>12.2f} s {note}".rstrip())


if __name__ == "__main__":
    main()
