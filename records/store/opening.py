"""Open a logbook: find it, make it, see that its version is known, bring it up to date.

SQLite keeps its rollback journal beside the file (no write-ahead log): it works on a network drive, leaves one file to
copy, and gives the journal the rights of the file, which only its owner can read. One program writes at a time on
SQLite and on PostgreSQL alike; the others wait, and after ``wait_s`` get a sentence.
"""

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event, inspect

from ...errors import LogbookNewer, NoLogbook
from .failures import told, unreachable
from .place import Place, default_place, place_of
from .seals import damaged
from .tables import metadata
from .version import SCHEMA, VERSION_TABLE

__all__ = ["Place", "connected", "default_place", "engine_for", "place_of", "prepare", "reading", "writing"]

WAIT_S = 20.0
_WRITES = "ownmark_writes"
_LOCK = 0x6F776E6D61726B  # one number that every ownmark asks the server for: "ownmark"
_APPLICATION = 0x4F574E4D  # in the SQLite file's head, so that it is known for a logbook: "OWNM"
_SETTINGS = (
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
    "PRAGMA synchronous = FULL",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
)


def engine_for(place: Place, wait_s: float = WAIT_S) -> Engine:
    """A way to the database. Nothing is opened yet."""
    if place.file is not None:
        engine = create_engine("sqlite://", creator=lambda: _sqlite(place, wait_s), hide_parameters=True, **_POOL)
        event.listen(engine, "begin", _begin)
        return engine
    if place.url is None:
        raise NoLogbook("no place is given for the logbook.")
    engine = create_engine(
        place.url,
        hide_parameters=True,
        connect_args={"connect_timeout": max(2, int(wait_s)), "application_name": "ownmark"},
        **_POOL,
    )
    event.listen(engine, "connect", lambda raw, _: _on_server(raw, wait_s))
    return engine


_VERSION_QUERY = f"SELECT version_num FROM {VERSION_TABLE}"  # noqa: S608 a constant
_POOL: dict[str, Any] = {"poolclass": QueuePool, "pool_size": 2, "max_overflow": 2}


def _sqlite(place: Place, wait_s: float) -> sqlite3.Connection:
    """Connect to the file, which must be there: SQLite itself never makes one."""
    if place.file is None or not place.file.exists():
        raise unreachable("there is no such file")
    raw = sqlite3.connect(
        f"{place.file.absolute().as_uri()}?mode=rw",
        uri=True,
        timeout=wait_s,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        for setting in _SETTINGS:
            raw.execute(setting)
    except BaseException:
        raw.close()
        raise
    return raw


def _begin(connection: Connection) -> None:
    """Take the write lock at the start, so that a writer waits there and never half-way."""
    writes = connection.get_execution_options().get(_WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _on_server(raw: Any, wait_s: float) -> None:  # noqa: ANN401 the driver's connection
    """Set how long to wait, and leave JSON as text."""
    from psycopg.types.string import TextLoader

    raw.adapters.register_loader("json", TextLoader)
    before, raw.autocommit = raw.autocommit, True
    raw.execute(f"SET lock_timeout = {int(wait_s * 1000)}")
    raw.autocommit = before


@contextmanager
def reading(engine: Engine, place: Place) -> Iterator[Connection]:
    """A short transaction that only reads, on one state of the logbook.

    Rows are fetched to the last before any is looked at: SQLite keeps its lock while a list is half read, and the
    refusal of a row would hold it for as long as someone holds the refusal.
    """
    with told(place.shown), engine.connect() as connection:
        if place.file is None:
            connection = connection.execution_options(isolation_level="REPEATABLE READ")  # noqa: PLW2901
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine, place: Place) -> Iterator[Connection]:
    """The one transaction that may write: all of it is kept, or nothing."""
    with told(place.shown, writing=True), engine.connect() as connection:
        connection = connection.execution_options(**{_WRITES: True})  # noqa: PLW2901
        with connection.begin():
            if place.file is None:
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")
            yield connection


@contextmanager
def connected(engine: Engine, place: Place) -> Iterator[Any]:
    """The driver's own connection outside of any transaction, for housekeeping."""
    with told(place.shown, writing=True), engine.connect() as connection:
        if place.file is None:
            connection = connection.execution_options(isolation_level="AUTOCOMMIT")  # noqa: PLW2901
        yield connection.connection.driver_connection


def prepare(engine: Engine, place: Place, *, create: bool) -> None:
    """See that the tables are there and of a known version; make them, or bring them up to date, where permitted.

    Raises
    ------
    NoLogbook
        If there is none and ``create`` is false, or the database belongs to another program.
    LogbookNewer, LogbookDamaged, LogbookReadOnly, LogbookLocked, DiskFull
    """
    if place.file is not None:
        _prepare_file(place, place.file, create=create)
    with reading(engine, place) as connection:
        version = _version(connection)
    if version == SCHEMA:
        return
    if version is None and not create:
        raise NoLogbook("there is no logbook here yet.", where=place.shown, mend="Add a student, and it is made.")
    with writing(engine, place) as connection:
        if _version(connection) != SCHEMA:  # another program may have been faster
            _migrate(connection)
            if place.file is not None:
                connection.exec_driver_sql(f"PRAGMA application_id = {_APPLICATION}")


def _prepare_file(place: Place, path: Path, *, create: bool) -> None:
    """Make the file, readable by its owner only, or take everyone else's rights from it."""
    with told(place.shown):
        there = path.exists()
    with told(place.shown, writing=True):
        if not there:
            if not create:
                raise NoLogbook(
                    "there is no logbook here.",
                    where=place.shown,
                    mend="Check --logbook; the first `ownmark student add` or `protocol copy` makes one.",
                )
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with suppress(FileExistsError):
                os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise NoLogbook("this is a folder.", where=place.shown, mend="Give a file in it.")
        if not stat.S_ISREG(state.st_mode):
            raise NoLogbook("this is a device or a pipe, not a file.", where=place.shown, mend="Give a file.")
        if os.name == "posix" and stat.S_IMODE(state.st_mode) & 0o077:
            with suppress(OSError):  # someone else's file, or one on a read-only disk, can still be read
                path.chmod(stat.S_IMODE(state.st_mode) & 0o700)


def _version(connection: Connection) -> str | None:
    """The logbook's version; None where nothing is there yet.

    One cheap query, and on a new logbook a second.
    """
    if not inspect(connection).has_table(VERSION_TABLE):
        return _none_or_stranger(connection)
    found = [row[0] for row in connection.exec_driver_sql(_VERSION_QUERY)]
    if len(found) != 1 or not str(found[0]).isdigit():
        raise damaged("the version")
    if int(found[0]) > int(SCHEMA):
        raise LogbookNewer(
            f"this logbook was written by a newer ownmark (version {int(found[0])} of the logbook; "
            f"this one knows {int(SCHEMA)}).",
            mend="Bring ownmark up to date. Nothing was changed.",
        )
    return str(found[0])


def _none_or_stranger(connection: Connection) -> None:
    """Refuse a database that holds what ownmark did not put there."""
    there = set(inspect(connection).get_table_names())
    file = connection.dialect.name == "sqlite"
    if there & set(metadata.tables) or (there and file):
        raise NoLogbook(
            "this is a database of another program, not a logbook.",
            mend="Give another file, or an empty database. Nothing was changed.",
        )


def _migrate(connection: Connection) -> None:
    """Go through every step that is missing, inside the transaction that is open."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    config.attributes["version_table"] = VERSION_TABLE
    command.upgrade(config, "head")
