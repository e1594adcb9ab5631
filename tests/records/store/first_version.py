"""A logbook of the first version (schema 0001), as a file and as a backup, and how a server's schema gets the same.

``v0001`` was made by the last ownmark that wrote that version: a student with three baselines, a re-test, notes, a
condition and a ceiling, one sheet of which was made anew, and a second one whose practice trial has a sheet of
sentences and shares its recording.
"""

import gzip
import sqlite3
from datetime import date
from pathlib import Path

from alembic import command
from alembic.config import Config
from ownmark.records.store import opening
from ownmark.records.store.version import VERSION_TABLE
from sqlalchemy import inspect, select

FOLDER = Path(__file__).with_name("v0001")
BACKUP = FOLDER / "backup.zip"
TABLES = ("students", "protocols", "originals", "counters", "trials", "details", "sheets", "files", "figures")
"""In the order in which rows can be put in."""
STEPS = Path(opening.__file__).with_name("migrations")


def file(place):
    """The logbook as a SQLite file at ``place``."""
    place = Path(place)
    place.write_bytes(gzip.decompress((FOLDER / "logbook.db.gz").read_bytes()))
    place.chmod(0o600)
    return place


def rows_of(path):
    """Every row of every table, by the table's name, as SQLite keeps them."""
    raw = sqlite3.connect(path)
    try:
        return {table: raw.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in TABLES}
    finally:
        raw.close()


def put(place, tmp_path):
    """The logbook at a place: a file, or a database on a server, which goes the first step only and gets the rows."""
    source = file(tmp_path / "v0001.db")
    if not place.startswith("postgresql"):
        return file(place)
    where = opening.place_of(place)
    engine = opening.engine_for(where)
    try:
        with opening.writing(engine, where) as connection:
            _first_step(connection)
            with connection.connection.driver_connection.cursor() as cursor:
                for table, rows in rows_of(source).items():
                    kinds = [column["type"].python_type for column in inspect(connection).get_columns(table)]
                    for row in rows:
                        cursor.execute(
                            f"INSERT INTO {table} VALUES ({', '.join(['%s'] * len(row))})",
                            [_typed(cell, kind) for cell, kind in zip(row, kinds, strict=True)],
                        )
    finally:
        engine.dispose()
    return place


def _first_step(connection):
    config = Config()
    config.set_main_option("script_location", str(STEPS))
    config.attributes["connection"], config.attributes["version_table"] = connection, VERSION_TABLE
    command.upgrade(config, "0001")


def _typed(cell, kind):
    """What SQLite keeps as a number or a text, as a server has it."""
    return kind(cell) if kind is bool else date.fromisoformat(cell) if kind is date and cell else cell


def version(connection):
    return connection.exec_driver_sql(f"SELECT version_num FROM {VERSION_TABLE}").scalar_one()


def kept_sheets(logbook):
    """The text of every sheet, by the number of its trial."""
    from ownmark.records.store.tables import sheets

    with logbook.reading() as connection:
        return {row[0]: row[1] for row in connection.execute(select(sheets))}
