"""The logbook: students, protocols, trials and their original files, in one place."""

from collections import Counter
from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from typing import Self, TypeVar

from sqlalchemy import Connection, Row, Select, func, select, update

from ...errors import AlreadyThere, RecordsError
from ...metrics.figure import EffortSheet
from ..protocol import Protocol
from ..student import Student, check_code
from ..trial import Trial
from . import adding, opening, originals
from . import not_found as finding
from .bulk import batches, insert_rows
from .cells import whole
from .heart_rows import of_others
from .held import Held
from .location import Place, place_of
from .replacing import replace_trial
from .rows import (
    computed_by,
    protocol_from,
    protocol_row,
    student_from,
    student_row,
    trial_from,
    trial_rows,
)
from .seals import damaged
from .state import Watch
from .student_overview import Outline, outline_of
from .tables import details, files, of_student, protocols, sheets, students, trials

Columns = TypeVar("Columns", bound=tuple[object, ...])
_BATCH = 200
EXCERPTS = "0003"
"""From this version on a trial keeps its own span of a recording, and no more."""
BY_CONTENT = "0008"
"""From this version on a recording is known by what its file unpacks to."""
TODAYS_CEILING = "0004"
"""From this version on every sheet counts against the ceiling of today, not against that of the trial's day."""


def open_logbook(
    place: str | Path, create: bool = True, *, wait_s: float = opening.WAIT_S, password: str | None = None
) -> "Logbook":
    """Open the logbook at ``place``, a file or ``postgresql://account@server/database``.

    create : make it where there is none
    wait_s : how long to wait for another program that is writing  [s]
    password : of the server; else it comes from PGPASSWORD or the password file

    Raises
    ------
    NoLogbook, LogbookNewer, LogbookDamaged, LogbookLocked, LogbookReadOnly, DiskFull
    """
    where = place_of(place)
    engine = opening.engine_for(where, wait_s, password)
    try:
        opening.prepare(engine, where, create=create, after=partial(bring_up, where, engine))
    except BaseException:
        engine.dispose()
        raise
    return Logbook(where, engine)


def bring_up(place: Place, engine: opening.Engine, connection: Connection, version: str | None) -> None:
    """Keep what a logbook of an older version held as today's does, inside the transaction that is open."""
    if version is not None and version < BY_CONTENT:
        from ..shared_files import narrow_all
        from .known_by_content import know_by_content, let_removed_go, sharing

        renamed = know_by_content(connection)
        shared = None if version < EXCERPTS else sharing(connection, renamed)
        narrow_all(Within(place, engine, connection), shared)
        let_removed_go(connection, renamed)
    if version is not None and version < TODAYS_CEILING:
        from ..ceiling_of_today import count_anew

        count_anew(Within(place, engine, connection))


class Logbook:
    """An open logbook. Every method is one transaction: done, or as if it had not been called."""

    def __init__(self, place: Place, engine: opening.Engine) -> None:
        self.place = place
        self.engine = engine
        self._watch = Watch(place, engine)
        self.held = Held(self._watch.mark)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or the server."""
        self.held.clear()
        self._watch.close()
        self.engine.dispose()

    def reading(self) -> AbstractContextManager[Connection]:
        """A transaction that reads one state of the logbook."""
        return opening.reading(self.engine, self.place)

    def writing(self) -> AbstractContextManager[Connection]:
        """The one transaction that may write; another program's waits for its end."""
        return opening.writing(self.engine, self.place)

    @contextmanager
    def within(self) -> Generator["Within"]:
        """One transaction in which several methods are called: all of them count, or none."""
        with self.writing() as connection:
            yield Within(self.place, self.engine, connection)

    @contextmanager
    def snapshot(self) -> Generator["Within"]:
        """One state of the logbook, of which several methods read; nothing may be written."""
        with self.reading() as connection:
            yield Within(self.place, self.engine, connection)

    def add_student(self, student: Student) -> None:
        """Add a student.

        Raises
        ------
        AlreadyThere
            If the code is taken.
        """
        self.add_students([student])

    def add_students(self, new: Sequence[Student]) -> None:
        """Add many students, all or none.

        Raises
        ------
        AlreadyThere
            If a code is taken, or stands there twice.
        """
        codes = [student.code for student in new]
        with self.writing() as connection:
            taken = {
                row[0]
                for some in batches(codes, 500)
                for row in connection.execute(select(students.c.code).where(students.c.code.in_(some)))
            }
            taken.update(code for code, count in Counter(codes).items() if count > 1)
            if taken:
                what = f"the code {min(taken)} is taken."
                raise AlreadyThere(what, mend="Edit that student, or use another code.")
            insert_rows(connection, students, [student_row(student) for student in new])

    def student(self, code: str) -> Student:
        """The student of that code.

        Raises
        ------
        UnknownCode
            With the nearest codes.
        """
        with self.reading() as connection:
            return _student(connection, code)

    def students(self) -> tuple[Student, ...]:
        """All students, by code."""
        with self.reading() as connection:
            finding.whole(connection, "students")
            return tuple(map(student_from, connection.execute(select(students).order_by(students.c.code)).all()))

    def add_protocol(self, protocol: Protocol) -> None:
        """Add a protocol, as the version it says.

        Raises
        ------
        AlreadyThere
            If there is one of that name and version: versions are never changed.
        """
        with self.writing() as connection:
            if protocol.version in _versions(connection, protocol.name):
                raise AlreadyThere(
                    f"the protocol {protocol.name} has a version {protocol.version} already.",
                    mend="A version is never changed: edit it, which makes the next one.",
                )
            insert_rows(connection, protocols, [protocol_row(protocol)])

    def new_version(self, protocol: Protocol) -> Protocol:
        """Keep an edited protocol as the version after the latest. Trials keep the version they were done by.

        Raises
        ------
        UnknownProtocol
            If there is none of that name.
        """
        with self.writing() as connection:
            there = _versions(connection, protocol.name)
            if not there:
                raise finding.no_protocol(connection, protocol.name, None)
            after = Protocol.model_validate({**protocol.model_dump(), "version": max(there) + 1})
            insert_rows(connection, protocols, [protocol_row(after)])
        return after

    def protocol(self, name: str, version: int | None = None) -> Protocol:
        """A protocol, the latest version unless one is named.

        Raises
        ------
        UnknownProtocol
            With the nearest names, or the versions that there are.
        """
        query = select(protocols).where(protocols.c.name == name).order_by(protocols.c.version.desc()).limit(1)
        if version is not None:
            query = query.where(protocols.c.version == version)
        with self.reading() as connection:
            row = _one(connection, query)
            if row is None:
                raise finding.no_protocol(connection, name, version)
            return protocol_from(row)

    def protocols(self) -> tuple[Protocol, ...]:
        """The latest version of every protocol, by name."""
        with self.reading() as connection:
            finding.whole(connection, "protocols")
            rows = connection.execute(select(protocols).order_by(protocols.c.name, protocols.c.version)).all()
            return tuple({row[0]: protocol_from(row) for row in rows}.values())

    def add_trial(
        self,
        trial: Trial,
        originals: Sequence[tuple[str, bytes]] = (),
        *,
        again: bool = False,
        narrowed: Sequence[tuple[Trial, Sequence[tuple[str, bytes]]]] = (),
        confirm: Callable[[Connection], None] | None = None,
    ) -> Trial:
        """Add a trial with its files and its sheet, in one transaction, and give it back with its number.

        originals : name and bytes of each file; the trial's ``files`` are taken from them unless it names them itself
        again : it is known to be a second trial out of the same files, told by its protocol and phases
        narrowed : trials of which less is kept now, because a file of theirs holds this one too; with their new files
        confirm : asked first in the transaction; what it raises ends that

        Raises
        ------
        UnknownCode, UnknownProtocol, NotATrial, NotAStudent
        AlreadyThere
            If the student has a trial of the same files, or, without files, of the same results on that day.
        """
        entry = adding.prepared(trial, originals, again=again)
        with self.writing() as connection:
            if confirm is not None:
                confirm(connection)
            number = adding.insert_entries(connection, [entry])[0]
            for other, files_of_other in narrowed:
                replace_trial(connection, other, files_of_other)
        by = trial.computed_by or computed_by(trial.sheet)
        return entry.trial.model_copy(update={"id": number, "computed_by": by})

    def trial(self, number: int, *, with_sheet: bool = True) -> Trial:
        """A trial with its sheet.

        with_sheet : False leaves ``sheet`` None, which is many times faster

        Raises
        ------
        UnknownTrial
        """
        with self.reading() as connection:
            row = _one(connection, select(trials).where(trials.c.id == number))
            if row is None:
                raise finding.no_trial(connection, number)
            return _whole_trials(connection, [row], sheets_too=with_sheet)[0]

    def trials(
        self,
        code: str | None = None,
        protocol: str | None = None,
        since: date | None = None,
        until: date | None = None,
        *,
        with_sheets: bool = True,
    ) -> Iterator[Trial]:
        """Trials in order of day and number, read some hundred at a time, so that a writer is never held up.

        since, until : both included
        with_sheets : False leaves ``sheet`` None, which is many times faster
        """
        query = select(trials).order_by(trials.c.day, trials.c.id).limit(_BATCH)
        for clause, value in ((of_student(code or ""), code), (trials.c.protocol == protocol, protocol)):
            query = query if value is None else query.where(clause)
        query = query if since is None else query.where(trials.c.day >= since)
        query = query if until is None else query.where(trials.c.day <= until)
        return self._in_batches(query, with_sheets, look_first=code is None)

    def trials_numbered(self, numbers: Sequence[int], *, with_sheets: bool = True) -> list[Trial]:
        """These trials with their sheets, in the order asked for.

        with_sheets : False leaves ``sheet`` None, which is many times faster

        Raises
        ------
        UnknownTrial
        """
        found: dict[int | None, Trial] = {}
        with self.reading() as connection:
            for some in batches(numbers, _BATCH):
                rows = connection.execute(select(trials).where(trials.c.id.in_(some))).all()
                found |= {each.id: each for each in _whole_trials(connection, rows, sheets_too=with_sheets)}
            missing = next((number for number in numbers if number not in found), None)
            if missing is not None:
                raise finding.no_trial(connection, missing)
        return [found[number] for number in numbers]

    def outline(self, protocol: str | None = None, code: str | None = None) -> list[Outline]:
        """The trials of a protocol or of a student by day and number: days and codes, nothing more."""
        query = select(trials)
        query = query if protocol is None else query.where(trials.c.protocol == protocol)
        query = query if code is None else query.where(of_student(code))
        with self.reading() as connection:
            rows = connection.execute(query.order_by(trials.c.day, trials.c.id)).all()
            if code is None or not rows:
                finding.whole(connection, "trials")
        return list(map(outline_of, rows))

    def trial_numbers(self) -> list[int]:
        """The numbers of all trials, in order."""
        with self.reading() as connection:
            return list(connection.execute(select(trials.c.id).order_by(trials.c.id)).scalars())

    def versions_of(self, protocol: str) -> tuple[Protocol, ...]:
        """Every version of a protocol, the first first."""
        query = select(protocols).where(protocols.c.name == protocol).order_by(protocols.c.version)
        with self.reading() as connection:
            return tuple(map(protocol_from, connection.execute(query)))

    def _in_batches(self, query: Select[Columns], sheets_too: bool, *, look_first: bool) -> Iterator[Trial]:
        """Go on behind the last trial of each batch. A list that comes out empty is looked at too."""
        here, first = query, True
        while True:
            with self.reading() as connection:
                rows = connection.execute(here).all()
                if first and (look_first or not rows):
                    finding.whole(connection, "trials")
                found = _whole_trials(connection, rows, sheets_too=sheets_too)
            yield from found
            if len(rows) < _BATCH:
                return
            last, first = rows[-1], False
            here = query.where((trials.c.day > last.day) | ((trials.c.day == last.day) & (trials.c.id > last.id)))

    def count(self) -> dict[str, int]:
        """How many students, protocols (each version), trials, kept files and figures there are."""
        rows = func.count()
        queries = {
            "students": select(rows).select_from(students),
            "protocols": select(rows).select_from(protocols),
            "trials": select(rows).select_from(trials),
            "figures": select(func.coalesce(func.sum(trials.c.figure_count), 0)),
            "originals": select(rows).select_from(originals.originals),
        }
        with self.reading() as connection:
            return {name: int(connection.execute(query).scalar_one()) for name, query in queries.items()}

    def original(self, sha256: str) -> bytes:
        """The bytes of a kept file, checked against the hash.

        Raises
        ------
        UnknownTrial, LogbookDamaged
        """
        with self.reading() as connection:
            return originals.fetch(connection, sha256)

    def packed_original(self, sha256: str, name: str) -> originals.Original:
        """A kept file as it lies there, under a name; it is checked where it is unpacked.

        Raises
        ------
        UnknownTrial, LogbookDamaged
            If it is not there.
        """
        with self.reading() as connection:
            return originals.fetch_packed(connection, sha256, name)

    def holders(self, recording: str) -> tuple[tuple[int, str], ...]:
        """Number and student's code of every trial that holds this recording or a part of it, by its SHA-256."""
        query = select(trials.c.id, trials.c.code).join(files, files.c.trial_id == trials.c.id)
        with self.reading() as connection:
            rows = connection.execute(query.where(files.c.recording == recording).order_by(trials.c.id))
            return tuple((row[0], row[1]) for row in rows)

    def same_heart(self, keys: Collection[str], code: str, least: int) -> tuple[int, ...]:
        """The numbers of other students' trials that share so many of these keys of a heart."""
        with self.reading() as connection:
            return of_others(connection, keys, code, least) if keys else ()

    def narrow(self, narrowed: Sequence[tuple[Trial, Sequence[tuple[str, bytes]]]]) -> None:
        """Put trials with less of their files in the place of what is kept of them, all or none.

        Raises
        ------
        UnknownTrial
        """
        with self.writing() as connection:
            for trial, given in narrowed:
                replace_trial(connection, trial, given)

    def replace_sheet(self, number: int, sheet: EffortSheet) -> None:
        """Put a newly computed sheet in the place of a trial's old one.

        Raises
        ------
        UnknownTrial, NotATrial
        """
        with self.writing() as connection:
            row = _one(connection, select(trials).where(trials.c.id == number))
            if row is None:
                raise finding.no_trial(connection, number)
            trial = _whole_trials(connection, [row], sheets_too=False)[0]
            trial = trial.model_copy(update={"sheet": sheet, "computed_by": computed_by(sheet)})
            connection.execute(sheets.delete().where(sheets.c.trial_id == number))
            new = trial_rows(trial, number, row.same_as)
            names = [column.name for column in trials.columns]
            connection.execute(
                update(trials).where(trials.c.id == number).values(dict(zip(names, new.trial, strict=True)))
            )
            insert_rows(connection, sheets, [each for each in [new.sheet] if each])


class Within(Logbook):
    """A logbook seen from inside the transaction that is open: every method is a part of it."""

    def __init__(self, place: Place, engine: opening.Engine, connection: Connection) -> None:
        super().__init__(place, engine)
        self.connection = connection
        self.held = Held(None)

    @contextmanager
    def reading(self) -> Generator[Connection]:
        """The transaction that is open; a refusal names the logbook, also where it is caught inside."""
        try:
            yield self.connection
        except RecordsError as refusal:
            refusal.where = refusal.where or self.place.shown
            raise

    def writing(self) -> AbstractContextManager[Connection]:
        """The transaction that is open."""
        return self.reading()

    def edit_student(self, code: str, **changes: object) -> Student:
        """Replace fields of a student, checked like a new one; the code cannot be changed.

        Only inside of one piece of work: the figures that rest on the student are worked out in the same one
        (``student_mending.edit_student``), so that none is ever kept beside other facts than its own.

        Raises
        ------
        UnknownCode, NotAStudent
        """
        with self.writing() as connection:
            before = _student(connection, code)
            after = Student.model_validate({**before.model_dump(), **changes, "code": before.code})
            _, value, seal = student_row(after)
            connection.execute(update(students).where(students.c.code == after.code).values(value=value, seal=seal))
        return after


def _one(connection: Connection, query: Select[Columns]) -> Row[Columns] | None:
    return connection.execute(query).first()


def _student(connection: Connection, code: str) -> Student:
    row = _one(connection, select(students).where(students.c.code == code.strip().upper()))
    if row is None:
        raise finding.no_student(connection, check_code(code))
    return student_from(row)


def _versions(connection: Connection, name: str) -> list[int]:
    return [row[0] for row in connection.execute(select(protocols.c.version).where(protocols.c.name == name))]


def _whole_trials(connection: Connection, rows: Sequence[Row[Columns]], *, sheets_too: bool) -> list[Trial]:
    """Trials with what belongs to each. A row that is missing is damage, and told."""
    numbers = [whole(row[0]) for row in rows]
    detail = {row[0]: row for row in connection.execute(select(details).where(details.c.trial_id.in_(numbers)))}
    sheet: dict[int, Sequence[object]] = {}
    if sheets_too:
        sheet = {row[0]: row for row in connection.execute(select(sheets).where(sheets.c.trial_id.in_(numbers)))}
    found: list[Trial] = []
    for number, row in zip(numbers, rows, strict=True):
        if sheets_too and row.has_sheet and number not in sheet:
            raise damaged(f"the sheet of trial {number}")
        found.append(trial_from(row, detail.get(number), sheet.get(number)))
    return found
