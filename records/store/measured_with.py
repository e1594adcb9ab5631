"""What a trial is measured with, and whether the logbook still holds it so when the trial is stored."""

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from sqlalchemy import Connection, select

from ...errors import OwnmarkError
from ..protocol import Protocol
from ..student import Student
from .bulk import batches
from .rows import same_as_files
from .tables import files, protocols, students, trials

if TYPE_CHECKING:
    from .logbook import Logbook

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


def facts_of(logbook: "Logbook", code: str, protocol: str) -> Facts:
    """The facts of one student and the latest version of a protocol, of one state of the logbook."""
    code = code.strip().upper()
    with logbook.snapshot() as inside:
        student: Student | OwnmarkError
        named: Protocol | OwnmarkError
        try:
            named = inside.protocol(protocol)
        except OwnmarkError as reason:
            named = reason
        try:
            student = inside.student(code)
        except OwnmarkError as reason:
            student = reason
        mark = marks(inside.connection, [(code, protocol)])[code, protocol]
        return Facts(student, named, mark, _recordings_of(inside.connection, code))


def marks(connection: Connection, pairs: Collection[Pair]) -> Mapping[Pair, str]:
    """A sign of what the logbook holds of each student and protocol: any change of either makes another one."""
    kept: dict[str, object] = {}
    for some in batches({code for code, _ in pairs}, 500):
        found = connection.execute(
            select(students.c.code, students.c.value, students.c.seal).where(students.c.code.in_(some))
        )
        kept |= {row[0]: tuple(row) for row in found}
    names = {name for _, name in pairs}
    latest: dict[str, object] = {}
    for some in batches(names, 500):
        query = select(protocols).where(protocols.c.name.in_(some)).order_by(protocols.c.name, protocols.c.version)
        latest |= {row[0]: tuple(row) for row in connection.execute(query)}
    return {pair: _mark(kept.get(pair[0]), latest.get(pair[1])) for pair in dict.fromkeys(pairs)}


def _mark(*rows: object) -> str:
    return hashlib.sha256(repr(rows).encode("utf-8", "surrogatepass")).hexdigest()


def _recordings_of(connection: Connection, code: str) -> frozenset[str]:
    query = select(files.c.recording).join(trials, trials.c.id == files.c.trial_id).where(trials.c.code == code)
    return frozenset(connection.execute(query).scalars())


def held_by_any(connection: Connection, recordings: Collection[str]) -> frozenset[str]:
    """Those of these recordings that a trial of the logbook holds, all of it or a part."""
    found: set[str] = set()
    for some in batches(recordings, 500):
        found.update(connection.execute(select(files.c.recording).where(files.c.recording.in_(some))).scalars())
    return frozenset(found)


def twin_of(connection: Connection, code: str, recordings: Collection[str]) -> int | None:
    """The number of the student's trial out of just these recordings; None where there is none."""
    return trial_of_key(connection, code, same_as_files(recordings))


def trial_of_key(connection: Connection, code: str, same_as: str) -> int | None:
    """The number of the student's trial that is the same as one that would be ``same_as``; None where there is none."""
    of_it = (trials.c.code == code, trials.c.same_as == same_as)
    return connection.execute(select(trials.c.id).where(*of_it)).scalar()


def stored_as(connection: Connection, numbers: Collection[int]) -> Mapping[int, Pair]:
    """The code of each of these trials, and what makes it the same as another one; those that are not there lack."""
    query = select(trials.c.id, trials.c.code, trials.c.same_as).where(trials.c.id.in_(list(numbers)))
    return {number: (code, same) for number, code, same in connection.execute(query)}
