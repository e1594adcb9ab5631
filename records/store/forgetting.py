"""Forget a student: everything that is held about one person leaves the logbook, the files included."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, String, cast, delete, func, or_, select

from ...errors import RecordsError
from . import not_found as finding
from .bulk import batches
from .day_entries import forget_entries
from .history import forget_changes
from .logbook import Logbook
from .opening import connected
from .originals import drop_unused
from .received import received_at
from .rows import student_from
from .tables import OF_A_TRIAL, details, files, history, of_student, originals, students, trials

TABLES_WITH_STUDENTS = "students, trials, details, sheets, files, hearts, originals, history, day_entries"
AT_THE_SERVER = (
    f"VACUUM FULL {TABLES_WITH_STUDENTS}",
    "SELECT pg_switch_wal()",
    "CHECKPOINT",
)
"""What ends what a server keeps in its pages and its write-ahead log; a test runs it and looks for the bytes."""


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What was removed.

    trials : numbers of the trials
    files : name and size [bytes] of each original that is gone
    shared : names of the files that stay, because trials of other students hold them too
    mentions : numbers of other students' trials, and codes of other students, whose notes name the code
    received : SHA-256 and name of each received file of a class's day that only this student's rows name
    remains : what could not be done, in sentences
    on_server : it was in a database on a server, which keeps what was removed for a while
    """

    code: str
    trials: tuple[int, ...]
    figures: int
    files: tuple[tuple[str, int], ...]
    shared: tuple[str, ...]
    mentions: tuple[str, ...]
    remains: tuple[str, ...]
    on_server: bool = False
    received: tuple[tuple[str, str], ...] = ()

    def sentences(self) -> tuple[str, ...]:
        """What was removed and what was not, for a person."""
        size = sum(size for _, size in self.files)
        told = [
            f"{self.code} is forgotten: the student, {_several(len(self.trials), 'trial')}, "
            f"{_several(self.figures, 'figure')} and {_several(len(self.files), 'original file')} ({size} bytes)."
        ]
        if self.files:
            told.append(f"Removed files: {', '.join(name for name, _ in self.files)}.")
        if self.received:
            told.append(f"Removed received files: {', '.join(name for _, name in self.received)}.")
        if self.shared:
            told.append(f"Kept, because trials of other students hold them too: {', '.join(self.shared)}.")
        if self.mentions:
            told.append(f"The code is still named in the notes of {', '.join(self.mentions)}.")
        told += self.remains
        if self.on_server:
            told.append(
                "The server may still hold what was removed: in the free space of its pages, in its write-ahead log, "
                "and, if it has them, in a log of statements, archives, replicas and base backups. Ask whoever runs it "
                f"to run {'; '.join(AT_THE_SERVER)}; and to delete archives and base backups made before. Old segments "
                "of the write-ahead log go when they are written over."
            )
        return (
            *told,
            "What was written outside the logbook still holds the student. Look for backups, pages (HTML, PDF, "
            "pictures), exports, education-plan texts, class tables, disclosures, files set aside as unreadable, and "
            "the sensors' own files, and delete them too.",
        )


def forget(logbook: Logbook, code: str) -> Forgotten:
    """Remove a student, every trial, figure and file, in one transaction, and leave no trace in a SQLite file.

    On PostgreSQL the server gives the space free and keeps what stood there for a while, which ``on_server`` says:
    a table is written anew only under a lock that stops all others, so that is left to whoever runs the server.

    Raises
    ------
    UnknownCode
        With the nearest codes.
    """
    code = code.strip().upper()
    with logbook.writing() as connection:
        row = connection.execute(select(students).where(students.c.code == code)).first()
        if row is None:
            raise finding.no_student(connection, code)
        student_from(row)
        numbers = [each[0] for each in connection.execute(select(trials.c.id).where(of_student(code)))]
        held = _files_of(connection, numbers)
        count = 0
        for some in batches(numbers, 500):
            of_these = select(func.coalesce(func.sum(trials.c.figure_count), 0)).where(trials.c.id.in_(some))
            count += connection.execute(of_these).scalar_one()
            for table in OF_A_TRIAL:
                connection.execute(delete(table).where(table.c.trial_id.in_(some)))
        connection.execute(delete(trials).where(of_student(code)))
        received = forget_entries(connection, code)
        connection.execute(delete(students).where(students.c.code == code))
        of_removed = _of_removed(connection, forget_changes(connection, code))
        held = {**of_removed, **held}
        gone = set(drop_unused(connection, held))
        mentions = _mentions(connection, code)
        folder = received_at(logbook.place)
        for sha256, _ in received:  # before the commit: of what is forgotten nothing may be left behind
            folder.remove(sha256)
    return Forgotten(
        code=code,
        trials=tuple(sorted(numbers)),
        figures=count,
        files=tuple(named for sha256, named in held.items() if sha256 in gone),
        shared=tuple(named[0] for sha256, named in held.items() if sha256 not in gone),
        mentions=mentions,
        remains=_clean_up(logbook),
        on_server=logbook.place.file is None,
        received=received,
    )


def _files_of(connection: Connection, numbers: Iterable[int]) -> dict[str, tuple[str, int]]:
    """Name and size of every file of these trials, by hash."""
    found: dict[str, tuple[str, int]] = {}
    columns = (files.c.sha256, files.c.path, originals.c.size)
    for some in batches(numbers, 500):
        query = select(*columns).join(originals, originals.c.sha256 == files.c.sha256)
        for sha256, name, size in connection.execute(query.where(files.c.trial_id.in_(some))):
            found[sha256] = (name, size)
    return found


def _of_removed(connection: Connection, hashes: Iterable[str]) -> dict[str, tuple[str, int]]:
    """Size of every file that was kept for removed trials, by hash; such a file is told by its hash."""
    found: dict[str, tuple[str, int]] = {}
    for some in batches(hashes, 500):
        query = select(originals.c.sha256, originals.c.size).where(originals.c.sha256.in_(some))
        found |= {sha256: (f"{sha256[:12]}… of a removed trial", size) for sha256, size in connection.execute(query)}
    return found


def _mentions(connection: Connection, code: str) -> tuple[str, ...]:
    """Where the code stands in what is kept of others."""
    like, named = f"%{code}%", re.compile(rf"(?<![\w-]){re.escape(code)}(?![\w-])", re.IGNORECASE)
    in_trials = select(trials.c.id, trials.c.code, details.c.value).join(details, details.c.trial_id == trials.c.id)
    rows = connection.execute(in_trials.where(cast(details.c.value, String).ilike(like)).order_by(trials.c.id))
    found = [f"trial {number} of {other}" for number, other, value in rows if named.search(value)]
    others = select(students.c.code, students.c.value).where(cast(students.c.value, String).ilike(like))
    rows = connection.execute(others.where(students.c.code != code).order_by(students.c.code))
    found += [f"student {other}" for other, value in rows if named.search(value)]
    changes = select(history.c.kind, history.c.thing, history.c.why, history.c.value).where(
        or_(cast(history.c.value, String).ilike(like), history.c.why.ilike(like))
    )
    rows = connection.execute(changes.order_by(history.c.id)).all()
    found += [f"the history of {kind} {thing}" for kind, thing, *texts in rows if any(map(named.search, texts))]
    return tuple(dict.fromkeys(found))


def _clean_up(logbook: Logbook) -> tuple[str, ...]:
    """Write the file anew, so that nothing stays in its unused parts."""
    file = logbook.place.file is not None
    try:
        with connected(logbook.engine, logbook.place) as raw:
            raw.execute("VACUUM" if file else f"VACUUM {TABLES_WITH_STUDENTS}")
    except RecordsError as refusal:
        return (f"The student is removed; giving the space free did not succeed: {refusal.what}",)
    return ()


def _several(count: int, thing: str) -> str:
    return f"{count} {thing}{'' if count == 1 else 's'}"
