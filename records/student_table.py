"""A list of students as a table: a row a student, with what ``ownmark student add`` takes of one.

    code,born,conditions,rest,ceiling,set_by
    TH-11,2011-09,muscular-dystrophy,84,140,therapist

Columns may miss, but for the code; one that holds nothing of a student is asked about and never passed over in silence.
"""

import difflib
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from ..errors import NotAStudent, NotConfirmed, OwnmarkError, Question
from ..words.message import Message, Quoted
from ..words.plain import printable
from . import student_messages as say
from .address import Place
from .spreadsheet import Numbered, rows_of
from .student import check_code
from .student_texts import DAYS
from .written_days import days_of

COLUMNS = (
    *("code", "born", "sex", "conditions", "rest", "posture", "max", "exercise", "measured_on"),
    *("ceiling", "set_by", "set_on", "can", "needs", "notes", "confirm"),
)
"""Every column that a list can have, named as the options of ``ownmark student add``."""
OTHER: Mapping[str, str] = {
    "student": "code",
    "condition": "conditions",
    "maximum": "max",
    "note": "notes",
    "confirmed": "confirm",
}
"""Other names of a column, as the student's fields are called elsewhere."""
CALLED: Mapping[str, str] = {
    **dict.fromkeys(("birth", "birthday", "birthdate", "birth_date", "date_of_birth", "dob", "birth_month"), "born"),
    **dict.fromkeys(("id", "student_id", "student_code"), "code"),
    **dict.fromkeys(("gender",), "sex"),
    **dict.fromkeys(("diagnosis", "disability", "disabilities", "health"), "conditions"),
    **dict.fromkeys(("resting", "resting_hr", "rest_hr", "hr_rest", "resting_heart_rate"), "rest"),
    **dict.fromkeys(("max_hr", "hr_max", "maximum_heart_rate", "hrmax"), "max"),
    **dict.fromkeys(("limit", "upper_limit", "hr_limit"), "ceiling"),
}
"""Words by which others call them: said where such a column is met, never taken for it."""
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class StudentRow:
    """A row as written.

    number : its line in the file, from 1
    texts : the cells that hold something, by column
    days : of each column of days with something in it the days that it can mean
    too_many : it has more cells than the list has columns
    """

    number: int
    texts: Mapping[str, str]
    days: Mapping[str, tuple[date, ...]] = field(default_factory=dict[str, tuple[date, ...]])
    too_many: bool = False

    @property
    def code(self) -> str:
        """The student's code; empty where what is written is none, and may be a name."""
        try:
            return check_code(self.texts.get("code", ""))
        except OwnmarkError:
            return ""

    @property
    def answers(self) -> frozenset[str]:
        """What the row confirms, in small letters."""
        return frozenset(each.strip().casefold() for each in self.texts.get("confirm", "").split(";"))


def read_students(path: Place, leave_out: Collection[str] = ()) -> tuple[StudentRow, ...]:
    """Every row of a list of students.

    leave_out : columns that are not read, by their headers

    Raises
    ------
    UnreadableFile
        If it cannot be opened, is no table, or holds no header.
    NotAStudent
        If it has no column of codes, a column twice, or no row.
    NotConfirmed
        If it has columns that hold nothing of a student, and nobody has said that they are left out: each is a question
        whose answer is the column.
    """
    return students_in(rows_of(path), str(path), leave_out)


def students_in(table: Sequence[Numbered], where: str, leave_out: Collection[str] = ()) -> tuple[StudentRow, ...]:
    """As ``read_students``, of the rows of a table; ``where`` names it."""
    header, lines = table[0][1], [each for each in table[1:] if not each[1][0].lstrip().startswith("#")]
    names = [column_named(name) for name in header]
    if "code" not in names:
        raise NotAStudent(say.STUDENT_TABLE_NO_CODE, where=where, mend=say.STUDENT_TABLE_HEADER)
    twice = next((name for name in names if name in COLUMNS and names.count(name) > 1), None)
    if twice is not None:
        raise NotAStudent(say.student_table_twice(Quoted(twice)), where=where, mend=say.STUDENT_TABLE_TAKE_ONE)
    if not lines:
        raise NotAStudent(say.STUDENT_TABLE_NO_ROW, where=where, mend=say.STUDENT_TABLE_ADD_ROW)
    _ask_unknown(names, lines, where, frozenset(map(column_named, leave_out)))
    rows = [_row(number, names, cells) for number, cells in lines]
    read = {name: days_of([row.texts.get(name, "") for row in rows]) for name in DAYS}
    return tuple(
        StudentRow(
            row.number,
            row.texts,
            {name: read[name][place] for name in DAYS if name in row.texts},
            row.too_many,
        )
        for place, row in enumerate(rows)
    )


def column_named(header: str) -> str:
    """The column that a header means; one that means none is given in small letters, with one stroke between words."""
    plain = re.sub(r"[\s_\-]+", "_", header.strip().lower())
    return OTHER.get(plain, plain)


def _ask_unknown(names: Sequence[str], lines: Sequence[Numbered], where: str, left_out: frozenset[str]) -> None:
    """Ask about columns that hold nothing of a student; one without a name only where something stands in it."""
    questions: list[Question] = []
    for place, name in enumerate(names):
        if name in COLUMNS or name in left_out:
            continue
        filled = any(place < len(cells) and cells[place].strip() for _, cells in lines)
        if name:
            questions.append(Question(_asked(name), (name,)))
        elif filled:
            questions.append(Question(say.student_table_unnamed(place + 1), ()))
    if questions:
        what = say.student_table_unknown(tuple(each.asked for each in questions))
        raise NotConfirmed(what, questions=tuple(questions), where=where, mend=say.STUDENT_TABLE_LEAVE_OUT)


def _asked(name: str) -> Message:
    shown = Quoted(printable(name if len(name) <= _SHOWN else f"{name[:_SHOWN]}…"))
    near = [CALLED[name]] if name in CALLED else difflib.get_close_matches(name, COLUMNS, n=2, cutoff=0.7)
    return say.student_table_near(shown, tuple(map(Quoted, near))) if near else say.student_table_column(shown)


def _row(number: int, names: Sequence[str], cells: Sequence[str]) -> StudentRow:
    texts = {name: cell.strip() for name, cell in zip(names, cells, strict=False) if name in COLUMNS and cell.strip()}
    return StudentRow(number, texts, too_many=any(cell.strip() for cell in cells[len(names) :]))
