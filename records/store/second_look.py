"""Whether what a trial was worked out of still stands in the logbook when the trial is stored.

A trial is measured beside the logbook, where it holds nobody up; other programs write meanwhile. So a sign is taken of
what it will rest on before that is read, and taken again inside the transaction that stores the trial.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from .bulk import batches
from .measured_with import marks, sign
from .tables import OF_A_TRIAL, files, settings, trials

if TYPE_CHECKING:
    from .logbook import Logbook


class ChangedMeanwhile(Exception):
    """Something that a trial rests on is no longer what it was measured with; nothing was stored."""


@dataclass(frozen=True, slots=True)
class Look:
    """What was seen of the logbook before a trial was worked out.

    code, protocol : the student's and the test's, as the logbook has them
    seen : a sign of both, and of the zone
    recordings : SHA-256 of those that the trial rests on
    shared : a sign of the trials that hold one of them
    """

    code: str
    protocol: str
    seen: str
    recordings: frozenset[str] = frozenset()
    shared: str = ""

    def at(self, logbook: "Logbook", recordings: Collection[str]) -> "Look":
        """With the trials that hold these recordings, before any of them is read."""
        with logbook.reading() as connection:
            return replace(self, recordings=frozenset(recordings), shared=_shared(connection, recordings))

    def confirm(self, connection: Connection) -> None:
        """Look again, inside the transaction that stores the trial.

        Raises
        ------
        ChangedMeanwhile
        """
        now = _seen(connection, self.code, self.protocol), _shared(connection, self.recordings)
        if now != (self.seen, self.shared):
            raise ChangedMeanwhile


def look(logbook: "Logbook", code: str, protocol: str) -> Look:
    """The first look, before student, protocol and zone are read."""
    code, protocol = _askable(code.strip().upper()), _askable(protocol)
    with logbook.reading() as connection:
        return Look(code, protocol, _seen(connection, code, protocol))


def _askable(text: str) -> str:
    """A text that a logbook can be asked for: none holds a zero character, and PostgreSQL refuses the question."""
    return "" if "\0" in text else text


def _seen(connection: Connection, code: str, protocol: str) -> str:
    zone = tuple(map(tuple, connection.execute(select(settings).order_by(settings.c.name))))
    return sign(marks(connection, [(code, protocol)])[code, protocol], zone)


def _shared(connection: Connection, recordings: Collection[str]) -> str:
    """A sign of all rows of the trials that hold one of these recordings, and of what each was measured with."""
    numbers: set[int] = set()
    for some in batches(sorted(recordings), 500):
        numbers.update(connection.execute(select(files.c.trial_id).where(files.c.recording.in_(some))).scalars())
    if not numbers:
        return ""
    found: list[object] = []
    for some in batches(sorted(numbers), 500):
        query = select(trials).where(trials.c.id.in_(some)).order_by(trials.c.id)
        rows = [tuple(row) for row in connection.execute(query)]
        pairs = {(row[1], row[2]) for row in rows}
        found += [rows, sorted(marks(connection, pairs).items())]
        for table in OF_A_TRIAL:
            seals = select(table.c.trial_id, table.c.seal).where(table.c.trial_id.in_(some))
            found += sorted(map(tuple, connection.execute(seals)))
    return sign(*found)
