"""Open a logbook: find it, make it, see that its version is known, bring it up to date.

SQLite keeps its rollback journal beside the file (no write-ahead log): it works on a network drive, leaves one file to
copy, and gives the journal the rights of the file, which only its owner can read. One program writes at a time on
SQLite and on PostgreSQL alike; the others wait, and after ``wait_s`` get a sentence.
"""

import sqlite3
from collections.abc import Callable, Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, cast

from sqlalchemy import URL, Connection, Engine, QueuePool, RootTransaction, create_engine, event, inspect
from sqlalchemy.exc import DBAPIError

from ... import ledger
from ...errors import LogbookNewer, NoLogbook
from .failures import moved, told
from .file import APPLICATION, another_program, keep_private, made, refuse_stranger, take_back
from .location import Place, default_place, place_of
from .seals import damaged
from .tables import metadata
from .version import SCHEMA, VERSION_TABLE

if TYPE_CHECKING:
    import psycopg

__all__ = ["Place", "connected", "default_place", "engine_for", "place_of", "prepare", "reading", "writing"]

WAIT_S = 20.0
_WRITES = "ownmark_writes"
_WATCHED = {
    "keepalives_idle": "30",
    "keepalives_interval": "10",
    "keepalives_count": "3",
    "tcp_user_timeout": "60000",
}
"""A connection over which nothing comes back any more, as behind a cable that was pulled out, ends after a minute; by
the system's own times it is waited for two hours. What an address says itself goes before. Source: PostgreSQL's
documentation, libpq, connection parameters; [s], [s], times, [ms]."""
_LOCK = 0x6F776E6D61726B  # one number that every ownmark asks the server for: "ownmark"
_SETTINGS = (
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
    "PRAGMA synchronous = FULL",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
)


def engine_for(place: Place, wait_s: float = WAIT_S, password: str | None = None) -> Engine:
    """A way to the database. Nothing is opened yet."""
    if place.file is not None:
        engine = create_engine("sqlite://", creator=lambda: _sqlite(place, wait_s), hide_parameters=True, **_POOL)
        event.listen(engine, "begin", _begin)
        return engine
    if place.url is None:
        raise NoLogbook("no place is given for the logbook.")
    engine = create_engine(
        place.url if password is None else place.url.set(password=password),
        hide_parameters=True,
        connect_args=_watched(place.url) | {"connect_timeout": max(2, int(wait_s)), "application_name": "ownmark"},
        **_POOL,
    )

    def settle(raw: "psycopg.Connection", _record: object) -> None:
        _on_server(raw, wait_s)

    event.listen(engine, "connect", settle)
    return engine


def _watched(url: URL) -> dict[str, object]:
    """How a connection is watched, as far as its address does not say so."""
    return {name: value for name, value in _WATCHED.items() if name not in url.query}


_VERSION_QUERY = f"SELECT version_num FROM {VERSION_TABLE}"  # noqa: S608 a constant


class _Pool(TypedDict):
    poolclass: type[QueuePool]
    pool_size: int
    max_overflow: int


_POOL: _Pool = {"poolclass": QueuePool, "pool_size": 2, "max_overflow": 2}


def _sqlite(place: Place, wait_s: float) -> sqlite3.Connection:
    """Connect to the file, which must be there: SQLite itself never makes one."""
    if place.file is None or not place.file.exists():
        raise moved()  # it was there when the logbook was opened
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


def watching(place: Place) -> sqlite3.Connection:
    """A connection of its own to the file, which reads and never writes."""
    raw = _sqlite(place, WAIT_S)
    raw.execute("PRAGMA query_only = ON")
    return raw


def _begin(connection: Connection) -> None:
    """Take the write lock at the start, so that a writer waits there and never half-way."""
    writes = connection.get_execution_options().get(_WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _on_server(raw: "psycopg.Connection", wait_s: float) -> None:
    """Set how long to wait, and leave JSON as text."""
    from psycopg.types.string import TextLoader

    raw.adapters.register_loader("json", TextLoader)
    before, raw.autocommit = raw.autocommit, True
    raw.execute(f"SET lock_timeout = {int(wait_s * 1000)}".encode())
    raw.autocommit = before


@contextmanager
def reading(engine: Engine, place: Place) -> Generator[Connection, None, None]:
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
def writing(engine: Engine, place: Place) -> Generator[Connection, None, None]:
    """The one transaction that may write: all of it is kept, or nothing."""
    with told(place.shown, writing=True), engine.connect() as connection:
        connection = connection.execution_options(**{_WRITES: True})  # noqa: PLW2901
        transaction = connection.begin()
        with _taken_back(transaction):
            if place.file is None:
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")
            yield connection
        _commit(transaction, place)


@contextmanager
def _taken_back(transaction: RootTransaction) -> Generator[None, None, None]:
    """Take everything back if something is raised."""
    try:
        yield
    except BaseException:
        with suppress(DBAPIError, sqlite3.Error):  # what was raised first is told
            transaction.rollback()
        raise


def _commit(transaction: RootTransaction, place: Place) -> None:
    """Keep what was written, and note that it was. A server that goes away now may have kept it or not."""
    try:
        transaction.commit()
    except BaseException:
        if place.file is None:
            ledger.note(f"{place.shown}, perhaps: the connection ended while it was being kept")
        raise
    ledger.note(place.shown)


@contextmanager
def connected(engine: Engine, place: Place) -> Generator["sqlite3.Connection | psycopg.Connection", None, None]:
    """The driver's own connection outside of any transaction, for housekeeping."""
    with told(place.shown, writing=True), engine.connect() as connection:
        if place.file is None:
            connection = connection.execution_options(isolation_level="AUTOCOMMIT")  # noqa: PLW2901
        yield cast("sqlite3.Connection | psycopg.Connection", connection.connection.driver_connection)


After = Callable[[Connection, str | None], None]
"""What is done with the rows once the tables are of today's version: it is told which version they had."""


def prepare(engine: Engine, place: Place, *, create: bool, after: After) -> None:
    """See that the tables are there and of a known version; make them, or bring them up to date, where permitted.

    after : done in the transaction that changes the tables

    Raises
    ------
    NoLogbook
        If there is none and ``create`` is false, or the database belongs to another program.
    LogbookNewer, LogbookDamaged, LogbookReadOnly, LogbookLocked, DiskFull
    """
    if place.file is None:
        _brought_up(engine, place, create=create, after=after)
        return
    new = False
    try:
        with told(place.shown, writing=True):
            new = made(place.file, place.shown, create=create)
            refuse_stranger(place.file, place.shown)
        _brought_up(engine, place, create=create, after=after)
    except BaseException:
        if new:
            engine.dispose()
            take_back(place.file)
        raise
    keep_private(place.file)


def _brought_up(engine: Engine, place: Place, *, create: bool, after: After) -> None:
    """Make the tables, or bring them up to date."""
    with reading(engine, place) as connection:
        version = _version(connection)
    if version == SCHEMA:
        return
    if version is None and not create:
        raise NoLogbook("there is no logbook here yet.", where=place.shown, mend="Add a student, and it is made.")
    with writing(engine, place) as connection:
        version = _version(connection)
        if version != SCHEMA:  # another program may have been faster
            _migrate(connection)
            after(connection, version)
            if place.file is not None:
                connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION}")


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
            mend="Bring ownmark up to date.",
        )
    return str(found[0])


def _none_or_stranger(connection: Connection) -> None:
    """Refuse a database that holds what ownmark did not put there."""
    there = set(inspect(connection).get_table_names())
    file = connection.dialect.name == "sqlite"
    if there & set(metadata.tables) or (there and file):
        raise another_program()


def _migrate(connection: Connection) -> None:
    """Go through every step that is missing, inside the transaction that is open."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    config.attributes["version_table"] = VERSION_TABLE
    command.upgrade(config, "head")
