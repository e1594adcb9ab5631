"""What a trial is measured with, and whether the logbook still holds it so when the trial is stored."""

import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, TypeVar

from sqlalchemy import Connection, select

from ...errors import OwnmarkError
from ..protocol import Protocol
from ..student import Student
from .bulk import batches
from .rows import protocol_from, student_from
from .tables import files, protocols, students, trials

if TYPE_CHECKING:
    from .logbook import Logbook, Within

Found = TypeVar("Found")
NOTHING: frozenset[str] = frozenset()
Pair: TypeAlias = tuple[str, str]
"""A student's code and the name of a protocol, as the logbook has them."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a trial is measured with.

    student, protocol : or the refusal, where there is none
    mark : of the rows that they were read from (``marks``)
    held : SHA-256 of the recordings that trials of this student hold
    """

    student: Student | OwnmarkError
    protocol: Protocol | OwnmarkError
    mark: str
    held: frozenset[str]


def facts_of(logbook: "Logbook", pairs: Collection[Pair]) -> Mapping[Pair, Facts]:
    """The facts of students and the latest version of protocols, of one state of the logbook.

    pairs : a code and a name as they were written
    """
    with logbook.snapshot() as inside:
        return {(code, name): each for (code, name), each in _facts(inside, list(dict.fromkeys(pairs)))}


def _facts(inside: "Within", pairs: Sequence[Pair]) -> Iterator[tuple[Pair, Facts]]:
    kept, latest = _rows(inside.connection, [(code.strip().upper(), name) for code, name in pairs])
    held = _recordings_of(inside.connection, kept)
    students_by = {code: _refused(lambda row=row: _within(inside, student_from, row)) for code, row in kept.items()}
    protocols_by = {name: _refused(lambda row=row: _within(inside, protocol_from, row)) for name, row in latest.items()}
    for written, name in pairs:
        code = written.strip().upper()
        found = students_by.get(code) or _refused(lambda code=code: inside.student(code))
        done_by = protocols_by.get(name) or _refused(lambda name=name: inside.protocol(name))
        yield (written, name), Facts(found, done_by, sign(kept.get(code), latest.get(name)), held.get(code, NOTHING))


def _within(inside: "Within", read: Callable[[Sequence[object]], Found], row: Sequence[object]) -> Found:
    """What a row holds; a refusal names the logbook."""
    with inside.reading():
        return read(row)


def _refused(ask: Callable[[], Found]) -> Found | OwnmarkError:
    """What there is, or the refusal of what there is not."""
    try:
        return ask()
    except OwnmarkError as reason:
        return reason


def marks(connection: Connection, pairs: Collection[Pair]) -> Mapping[Pair, str]:
    """A sign of what the logbook holds of each student and protocol: any change of either makes another one."""
    kept, latest = _rows(connection, pairs)
    return {pair: sign(kept.get(pair[0]), latest.get(pair[1])) for pair in dict.fromkeys(pairs)}


_Rows: TypeAlias = dict[str, tuple[object, ...]]


def _rows(connection: Connection, pairs: Collection[Pair]) -> tuple[_Rows, _Rows]:
    """The row of each student, and that of the latest version of each protocol."""
    kept: _Rows = {}
    for some in batches({code for code, _ in pairs}, 500):
        kept |= {row[0]: tuple(row) for row in connection.execute(select(students).where(students.c.code.in_(some)))}
    latest: _Rows = {}
    for some in batches({name for _, name in pairs}, 500):
        query = select(protocols).where(protocols.c.name.in_(some)).order_by(protocols.c.name, protocols.c.version)
        latest |= {row[0]: tuple(row) for row in connection.execute(query)}
    return kept, latest


def sign(*rows: object) -> str:
    """What is another one as soon as anything of this is."""
    return hashlib.sha256(repr(rows).encode("utf-8", "surrogatepass")).hexdigest()


def _recordings_of(connection: Connection, codes: Collection[str]) -> Mapping[str, frozenset[str]]:
    """SHA-256 of the recordings that each student's trials hold."""
    found: dict[str, set[str]] = {}
    query = select(trials.c.code, files.c.recording).join(files, trials.c.id == files.c.trial_id)
    for some in batches(codes, 500):
        for code, recording in connection.execute(query.where(trials.c.code.in_(some))):
            found.setdefault(code, set()).add(recording)
    return {code: frozenset(each) for code, each in found.items()}


def held_by_any(connection: Connection, recordings: Collection[str]) -> frozenset[str]:
    """Those of these recordings that a trial of the logbook holds, all of it or a part."""
    found: set[str] = set()
    for some in batches(recordings, 500):
        found.update(connection.execute(select(files.c.recording).where(files.c.recording.in_(some))).scalars())
    return frozenset(found)


def holders_of(connection: Connection, recordings: Collection[str]) -> Mapping[str, tuple[tuple[int, str], ...]]:
    """Number and student's code of every trial that holds each of these recordings, all of it or a part."""
    found: dict[str, dict[tuple[int, str], None]] = {}
    query = select(files.c.recording, trials.c.id, trials.c.code).join(trials, trials.c.id == files.c.trial_id)
    for some in batches(recordings, 500):
        for recording, number, code in connection.execute(
            query.where(files.c.recording.in_(some)).order_by(trials.c.id)
        ):
            found.setdefault(recording, {})[number, code] = None
    return {recording: tuple(each) for recording, each in found.items()}


def trial_of_key(connection: Connection, code: str, same_as: str) -> int | None:
    """The number of the student's trial that is the same as one that would be ``same_as``; None where there is none."""
    of_it = (trials.c.code == code, trials.c.same_as == same_as)
    return connection.execute(select(trials.c.id).where(*of_it)).scalar()


def stored_as(connection: Connection, numbers: Collection[int]) -> Mapping[int, Pair]:
    """The code of each of these trials, and what makes it the same as another one; those that are not there lack."""
    query = select(trials.c.id, trials.c.code, trials.c.same_as).where(trials.c.id.in_(list(numbers)))
    return {number: (code, same) for number, code, same in connection.execute(query)}
