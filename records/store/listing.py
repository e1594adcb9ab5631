"""Lists of the logbook that stay short however many trials there are: a page of students, the trials of some days."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import String, case, cast, func, literal, select
from sqlalchemy.sql.functions import aggregate_strings

from ...errors import UnknownTrial
from ..student import Student
from ..trial import Trial
from .bulk import batches
from .cells import text, whole
from .rows import student_from
from .student_overview import Outline, outline_of
from .tables import details, sheets, students, trials

if TYPE_CHECKING:
    from .logbook import Logbook

_AT_A_TIME = 200
Seals = str
"""Number and seal of some trials' narrow rows as one text: equal texts, equal rows."""


@dataclass(frozen=True, slots=True)
class StudentLine:
    """A student in a list: how many trials, practice among them, and the last day; None where there is none."""

    code: str
    trials: int
    last_on: date | None


class Marked(NamedTuple):
    """A trial's number, and the seals of all that is told of it: equal seals, equal rows."""

    number: int
    trial: int
    student: int | None
    detail: int | None
    sheet: int | None


class Pair(NamedTuple):
    """A student and protocol, and how many trials that count there are."""

    code: str
    protocol: str
    trials: int


def student_lines(logbook: "Logbook", codes: Sequence[str]) -> tuple[StudentLine, ...]:
    """These students with their trials, in the order asked for."""
    found: dict[str, list[Outline]] = {code: [] for code in codes}
    for each in outlines_of(logbook, codes):
        found[each.code].append(each)
    return tuple(
        StudentLine(code, len(own), max((each.on for each in own), default=None)) for code, own in found.items()
    )


def outlines_of(logbook: "Logbook", codes: Sequence[str]) -> tuple[Outline, ...]:
    """The trials of these students, read from the table: an index that lost an entry would hide one."""
    wanted = select(trials).where(func.coalesce(trials.c.code, "").in_(list(codes))).order_by(trials.c.day, trials.c.id)
    with logbook.reading() as connection:
        rows = connection.execute(wanted).all()
    return tuple(map(outline_of, rows))


def last_day(logbook: "Logbook") -> date | None:
    """The day of the last trial; None if there is none."""
    with logbook.reading() as connection:
        row = connection.execute(select(trials).order_by(trials.c.day.desc(), trials.c.id.desc()).limit(1)).first()
    return None if row is None else outline_of(row).on


def marked_trials(logbook: "Logbook", since: date, until: date) -> tuple[Marked, ...]:
    """The trials of these days, both included, in order of day and number, each with its seals."""
    query = _MARKED.where(trials.c.day >= since, trials.c.day <= until).order_by(trials.c.day, trials.c.id)
    with logbook.reading() as connection:
        return tuple(Marked(*row) for row in connection.execute(query).all())


def marks_of(logbook: "Logbook", numbers: Sequence[int]) -> dict[int, Marked]:
    """The trials of these numbers that there are, each with its seals."""
    found: dict[int, Marked] = {}
    with logbook.reading() as connection:
        for some in batches(numbers, _AT_A_TIME):
            rows = connection.execute(_MARKED.where(trials.c.id.in_(some))).all()
            found |= {row[0]: Marked(*row) for row in rows}
    return found


def owners_of(logbook: "Logbook", numbers: Sequence[int]) -> dict[int, str]:
    """Whose each of these trials is, of those that there are."""
    found: dict[int, str] = {}
    with logbook.reading() as connection:
        for some in batches(sorted(set(numbers)), _AT_A_TIME):
            rows = connection.execute(select(trials.c.id, trials.c.code).where(trials.c.id.in_(some))).all()
            found |= {row[0]: text(row[1]) for row in rows}
    return found


def outline_anew(
    logbook: "Logbook", protocol: str, before: tuple[tuple[Outline, ...], Seals] | None
) -> tuple[tuple[Outline, ...], Seals]:
    """A protocol's trials by day and number, with their seals; those of before where no row has changed since."""
    each = cast(trials.c.id, String) + literal(":") + cast(trials.c.seal, String)
    query = select(aggregate_strings(each, " ")).where(trials.c.protocol == protocol)
    with logbook.reading() as connection:
        seals = str(connection.execute(query).scalar_one() or "")  # one text: thousands of rows take ten times as long
    if before is not None and before[1] == seals:
        return before
    return tuple(logbook.outline(protocol)), seals


def pairs(
    logbook: "Logbook", protocols: Sequence[str] | None = None, since: date | None = None, until: date | None = None
) -> tuple[Pair, ...]:
    """Every student and protocol with a trial of these days, by code and protocol."""
    counted = func.sum(case((trials.c.practice, 0), else_=1))
    query = select(trials.c.code, trials.c.protocol, counted)
    query = query if protocols is None else query.where(trials.c.protocol.in_(list(protocols)))
    query = query if since is None else query.where(trials.c.day >= since)
    query = query if until is None else query.where(trials.c.day <= until)
    grouped = query.group_by(trials.c.code, trials.c.protocol).order_by(trials.c.code, trials.c.protocol)
    with logbook.reading() as connection:
        rows = connection.execute(grouped).all()
    return tuple(sorted(Pair(text(row[0]), text(row[1]), whole(int(row[2]))) for row in rows))


def still_there(logbook: "Logbook", numbers: Sequence[int]) -> Iterator[tuple[Student, Trial]]:
    """The trials of these numbers with their students; who was forgotten in between is passed over."""
    for some in batches(numbers, _AT_A_TIME):
        try:
            found = logbook.trials_numbered(some)
        except UnknownTrial:
            found = [each for number in some for each in _one(logbook, number)]
        people = students_of(logbook, [each.code for each in found])
        yield from ((people[each.code], each) for each in found if each.code in people)


def students_of(logbook: "Logbook", codes: Sequence[str]) -> dict[str, Student]:
    """The students of these codes that there are."""
    found: dict[str, Student] = {}
    with logbook.reading() as connection:
        for some in batches(sorted(set(codes)), _AT_A_TIME):
            rows = connection.execute(select(students).where(students.c.code.in_(some))).all()
            found |= {each.code: each for each in map(student_from, rows)}
    return found


def _one(logbook: "Logbook", number: int) -> Iterator[Trial]:
    try:
        yield logbook.trial(number)
    except UnknownTrial:
        return


_MARKED = (
    select(trials.c.id, trials.c.seal, students.c.seal, details.c.seal, sheets.c.seal)
    .outerjoin(students, students.c.code == trials.c.code)
    .outerjoin(details, details.c.trial_id == trials.c.id)
    .outerjoin(sheets, sheets.c.trial_id == trials.c.id)
)
"""Each trial's row of seals, as ``Marked`` holds it."""
