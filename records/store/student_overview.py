"""One student at a glance, over the database's driver alone.

A look at one student is asked for between two lessons and reads three rows; importing the database toolkit and the
models takes ten times as long as reading them. So this reads through the driver, believes only rows whose seal fits,
and gives None at anything out of the ordinary: a lock, another version, a right that is too wide, an unknown code. The
caller then opens the logbook in full, and whatever is wrong is told there.
"""

import json
import re
import sqlite3
import stat
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, cast

from ...errors import LogbookDamaged
from .cells import Row, day, text, whole
from .file import known
from .seals import unsealed
from .version import SCHEMA, VERSION_TABLE

if TYPE_CHECKING:
    from ..student import Student

_SERVER = re.compile(r"postgres(?:ql)?(?:\+psycopg)?://(?P<rest>.+)\Z", re.IGNORECASE)
_VERSION = f"SELECT version_num FROM {VERSION_TABLE}"  # noqa: S608 a constant
_STUDENT = "SELECT code, CAST(value AS TEXT), seal FROM students WHERE code = %s"
_TRIALS = (
    "SELECT id, code, protocol, protocol_version, day, time_of_day, practice, computed_by, has_sheet, file_count, "
    "figure_count, same_as, seal FROM trials WHERE code = %s ORDER BY day, id"
)
_Fetch = Callable[[str, tuple[str, ...]], Sequence[Sequence[object]]]


class KeptRate(TypedDict):
    """A resting or highest heart rate as the logbook keeps it."""

    bpm: float
    on: str | None
    posture: str | None
    exercise: str | None


class KeptCeiling(TypedDict):
    """A ceiling as the logbook keeps it."""

    bpm: float
    set_by: str
    set_on: str | None


class KeptAnswers(TypedDict):
    """What a student can do and needs, as the logbook keeps it."""

    can: list[str]
    needs: list[str]
    on: str | None


class KeptStudent(TypedDict):
    """A student's fields as the logbook keeps them in JSON."""

    code: str
    born: str | None
    sex: str | None
    conditions: list[str]
    rests: list[KeptRate]
    maxima: list[KeptRate]
    ceilings: list[KeptCeiling]
    answers: list[KeptAnswers]
    notes: str


@dataclass(frozen=True, slots=True)
class Outline:
    """What a list needs of a trial."""

    id: int
    code: str
    protocol: str
    protocol_version: int
    on: date
    practice: bool


@dataclass(frozen=True, slots=True)
class Glance:
    """A student (checked when it was written) and the trials by day."""

    student: KeptStudent
    trials: tuple[Outline, ...]


def kept_fields(student: "Student") -> KeptStudent:
    """A student's fields as the logbook keeps them."""
    return cast("KeptStudent", student.model_dump(mode="json"))


def glance(place: str, code: str) -> Glance | None:
    """Look at one student of the logbook at ``place``, a file or ``postgresql://account@server/database``.

    None says nothing about what is wrong: open the logbook to learn it.
    """
    place, code = place.strip(), code.strip().upper()
    server = _SERVER.match(place)
    if server:
        return _on_server(server["rest"], code)
    return None if "://" in place else _in_file(place, code)


def _in_file(place: str, code: str) -> Glance | None:
    """From SQLite. A file that others may read is left to the full opening, which takes that right from them."""
    try:
        path = Path(place).expanduser()
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode) or stat.S_IMODE(mode) & 0o077 or not known(path):
            return None
        raw = sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=0, isolation_level=None)
    except (OSError, ValueError, RuntimeError, sqlite3.Error):
        return None
    try:
        for setting in ("trusted_schema = OFF", "cell_size_check = ON"):
            raw.execute(f"PRAGMA {setting}")
        raw.execute("BEGIN")
        found = _read(lambda query, values: raw.execute(_of_sqlite(query), values).fetchall(), code)
        if found is None or found.trials:
            return found
        whole = raw.execute("PRAGMA integrity_check(trials)").fetchall() == [("ok",)]  # a damaged page can hide rows
        return found if whole else None
    except (sqlite3.Error, ValueError):  # what is no text or no day is damage
        return None
    finally:
        raw.close()


def _of_sqlite(query: str) -> str:
    """The query for SQLite. It reads the table itself: an index that lost an entry would hide a trial."""
    return query.replace("WHERE code = %s", "WHERE +code = ?")


def _on_server(rest: str, code: str) -> Glance | None:
    """From PostgreSQL, on one state of the database."""
    import psycopg

    try:
        with psycopg.connect(f"postgresql://{rest}", connect_timeout=3, application_name="ownmark") as raw:
            raw.isolation_level = psycopg.IsolationLevel.REPEATABLE_READ
            raw.read_only = True
            raw.execute("SET LOCAL lock_timeout = 1000")  # whoever holds a lock is waited for by the full opening
            raw.execute("SET LOCAL statement_timeout = 3000")
            return _read(lambda query, values: raw.execute(query.encode(), values).fetchall(), code)
    except (psycopg.Error, ValueError):
        return None


def _read(fetch: _Fetch, code: str) -> Glance | None:
    """The student and the trials, if every row is what it was when it was written."""
    if [str(row[0]) for row in fetch(_VERSION, ())] != [SCHEMA]:
        return None
    found = fetch(_STUDENT, (code,))
    rows = [_typed(row) for row in fetch(_TRIALS, (code,))]
    if not found:
        return None
    try:
        student = cast("KeptStudent", json.loads(text(unsealed(found[0], code)[1])))
        student.setdefault("answers", [])  # a row of before has none
        trials = tuple(outline_of(row) for row in rows)
    except (LogbookDamaged, ValueError):
        return None
    return Glance(student, trials)


def _typed(row: Sequence[object]) -> Row:
    """A trial's row as the seal saw it: SQLite keeps a day as text and a truth as a number."""
    number, code, protocol, version, on, time_of_day, practice, by, has_sheet, *more = row
    on = date.fromisoformat(on) if isinstance(on, str) else on
    return (number, code, protocol, version, on, time_of_day, bool(practice), by, bool(has_sheet), *more)


def outline_of(row: Sequence[object]) -> Outline:
    """The outline of a trial out of its narrow row.

    Raises
    ------
    LogbookDamaged
        If its seal does not fit.
    """
    number, code, protocol, version, on, _, practice, *_ = unsealed(row, f"trial {row[0]}")
    return Outline(whole(number), text(code), text(protocol), whole(version), day(on), bool(practice))
