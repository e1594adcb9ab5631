"""What the logbook knows of earlier trials, by queries that stay short however many trials there are."""

from typing import TYPE_CHECKING

from sqlalchemy import select

from .cells import text, whole
from .seals import unsealed
from .student_overview import Outline, outline_of
from .tables import files, students, trials

if TYPE_CHECKING:
    from .logbook import Logbook

NEWEST = 1000
"""So many trials, the newest by number, are looked through for names of files: some terms of a school."""


def student_codes(logbook: "Logbook") -> frozenset[str]:
    """The codes of all students."""
    with logbook.reading() as connection:
        return frozenset(map(text, connection.execute(select(students.c.code)).scalars()))


def last_trial(logbook: "Logbook", code: str) -> Outline | None:
    """A student's last trial by day; None: there is none."""
    newest = select(trials).where(trials.c.code == code).order_by(trials.c.day.desc(), trials.c.id.desc()).limit(1)
    with logbook.reading() as connection:
        row = connection.execute(newest).one_or_none()
    return None if row is None else outline_of(row)


def newest_files(logbook: "Logbook", most: int = NEWEST) -> tuple[tuple[Outline, str], ...]:
    """The newest trials by number, the newest first, each once for the bare name of every file of it."""
    with logbook.reading() as connection:
        rows = connection.execute(select(trials).order_by(trials.c.id.desc()).limit(most)).all()
        found = [outline_of(row) for row in rows]
        first = min((each.id for each in found), default=0)
        beside = connection.execute(select(files).where(files.c.trial_id >= first)).all()
    names: dict[int, list[str]] = {}
    for row in beside:
        number, _, name, *_ = unsealed(row, f"a file of trial {row[0]}")
        names.setdefault(whole(number), []).append(text(name))
    return tuple((each, name) for each in found for name in names.get(each.id, ()))
