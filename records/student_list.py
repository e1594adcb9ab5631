"""A list of students into the logbook, row by row; each row stands for itself, and none is kept in part.

Rows go in some hundred at a time, each time in one transaction. Whoever is there already is passed over where the row
says the same, and told where it says otherwise: nothing is overwritten unless that was asked for. A list can be mended
and given again.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Literal

from ..errors import NotAStudent, NotConfirmed, OwnmarkError, Question
from ..words.message import Message, Quoted
from . import student_messages as say
from . import text_guards
from .store.listing import students_of
from .student import Student
from .student_differences import Difference, besides, changes, differences, parts, plain_values
from .student_mending import StudentMended, edit_student
from .student_table import StudentRow
from .student_texts import Said, free_texts, said_in
from .student_twice import contradictions

if TYPE_CHECKING:
    from .store.logbook import Logbook

AT_ONCE = 500
"""Rows of one transaction: others who write wait for no more."""
_OTHERS = 5
"""Rows that are named to one that they contradict."""
State = Literal["added", "there already", "corrected", "to confirm", "refused"]
STATES: tuple[State, ...] = ("added", "there already", "corrected", "to confirm", "refused")


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What became of a row.

    told : what to say of it, one message after the other
    reason : the refusal or question, None where there is none
    questions : that are open and that the row's column confirm can answer
    fields : what it says otherwise than what is kept, by field: kept, said
    otherwise : the student is there, and the row says something else
    fault : what ownmark itself failed at in this row
    """

    row: StudentRow
    state: State
    told: tuple[Message | str, ...] = ()
    reason: OwnmarkError | None = None
    questions: tuple[Question, ...] = ()
    fields: Mapping[str, tuple[object, object]] = field(default_factory=dict[str, tuple[object, object]])
    otherwise: bool = False
    fault: Exception | None = None


def add_list(
    logbook: "Logbook | None",
    rows: Sequence[StudentRow],
    *,
    today: date,
    correct: bool = False,
    only_show: bool = False,
) -> Iterator[RowOutcome]:
    """Add every row's student.

    Parameters
    ----------
    logbook : None only where ``only_show`` asks what would become of the rows in a logbook that is not there yet
    today : nothing that a row says lies behind it
    correct : a student who is there is corrected where the row says otherwise; the history keeps what stood there
    only_show : tell what would become of each row, and write nothing
    """
    shown: dict[str, Student] = {}
    told = iter(_all_said(rows, today))
    for piece in _pieces(rows):
        said = list(islice(told, len(piece)))
        if logbook is None or only_show:
            yield from _shown(logbook, piece, said, shown, correct=correct)
            continue
        with logbook.within() as inside:
            kept = students_of(inside, _codes(said))
            decided = [_decided(row, each, kept) for row, each in zip(piece, said, strict=True)]
            inside.add_students([new for _, new in decided if new is not None])
        for (outcome, _), each in zip(decided, said, strict=True):
            mend = correct and outcome.otherwise and isinstance(each, Said)
            yield _corrected(logbook, outcome, each) if mend and isinstance(each, Said) else outcome


def _pieces(rows: Sequence[StudentRow]) -> Iterator[list[StudentRow]]:
    """The rows some at a time; of a student who has several, one at a time: each is held against those before it."""
    piece: list[StudentRow] = []
    codes: set[str] = set()
    for row in rows:
        if len(piece) == AT_ONCE or (row.code and row.code in codes):
            yield piece
            piece, codes = [], set()
        piece.append(row)
        codes.add(row.code)
    if piece:
        yield piece


def _said(row: StudentRow, today: date) -> Said | RowOutcome:
    """What a row says, or that it cannot go in."""
    if row.too_many:
        return RowOutcome(row, "refused", (say.STUDENT_ROW_CELLS, say.STUDENT_ROW_QUOTES))
    try:
        return said_in(row.texts, row.days, row.answers, today)
    except OwnmarkError as reason:
        return _refused(row, reason)
    except Exception as fault:  # noqa: BLE001 whatever it is, the other rows are added
        return _failed(row, fault)


def _all_said(rows: Sequence[StudentRow], today: date) -> list[Said | RowOutcome]:
    """What each row says; rows that contradict each other cannot go in, whichever of them is right."""
    all_said = [_said(row, today) for row in rows]
    twice = contradictions([each if isinstance(each, Said) else None for each in all_said])
    for place, (places, columns) in twice.items():
        others = tuple(Quoted(str(rows[each].number)) for each in places if each != place)
        what = say.student_row_twice(others[:_OTHERS], tuple(map(Quoted, columns)))
        all_said[place] = _refused(rows[place], NotAStudent(what, mend=say.STUDENT_ROW_TWICE_MEND))
    return all_said


def _codes(said: Sequence[Said | RowOutcome]) -> list[str]:
    return [each.code for each in said if isinstance(each, Said)]


def _decided(
    row: StudentRow, said: Said | RowOutcome, kept: Mapping[str, Student]
) -> tuple[RowOutcome, Student | None]:
    """What becomes of a row, and the student who is to be added."""
    if isinstance(said, RowOutcome):
        return said, None
    before = kept.get(said.code)
    try:
        text_guards.ask_of(_new_texts(said, before), row.answers)
        if before is None:
            new = Student.model_validate({"code": said.code, **changes(said, Student(code=said.code))})
            told = parts(said)
            return RowOutcome(row, "added", (say.student_row_added(told) if told else say.STUDENT_ROW_CODE_ONLY,)), new
        return _there(row, said, before), None
    except OwnmarkError as reason:
        return _refused(row, reason), None
    except Exception as fault:  # noqa: BLE001 as above
        return _failed(row, fault), None


def _new_texts(said: Said, before: Student | None) -> dict[str, str]:
    """The free texts of a row that are not kept already: what a person let stand once is not asked again."""
    if before is None:
        return free_texts(said)
    there = {before.notes, *(each.posture for each in before.rests), *(each.exercise for each in before.maxima)}
    return {name: text for name, text in free_texts(said).items() if text not in there}


def _there(row: StudentRow, said: Said, before: Student) -> RowOutcome:
    """A row whose student is in the logbook."""
    found = differences(said, before)
    if not found:
        more = besides(said, before)
        return RowOutcome(row, "there already", (say.student_row_besides(more) if more else say.STUDENT_ROW_SAME,))
    after = Student.model_validate({**before.model_dump(), **changes(said, before)})
    told = (say.student_row_otherwise(_told(found)), say.STUDENT_ROW_CORRECT)
    return RowOutcome(row, "to confirm", told, fields=plain_values(before, after), otherwise=True)


def _told(found: Sequence[Difference]) -> tuple[Message, ...]:
    return tuple(each.told for each in found)


def _refused(row: StudentRow, reason: OwnmarkError) -> RowOutcome:
    if isinstance(reason, NotConfirmed):
        return RowOutcome(row, "to confirm", (reason.what, say.STUDENT_ROW_ANSWER), reason, reason.questions)
    return RowOutcome(row, "refused", tuple(part for part in (reason.what, reason.mend) if part), reason)


def _failed(row: StudentRow, fault: Exception) -> RowOutcome:
    return RowOutcome(row, "refused", (say.student_row_fault(Quoted(type(fault).__name__)),), fault=fault)


def _corrected(logbook: "Logbook", outcome: RowOutcome, said: Said) -> RowOutcome:
    """The row's student as the row says; the figures that rest on it are worked out again."""
    found: list[tuple[Difference, ...]] = []

    def now(kept: Student) -> dict[str, object]:
        """Against what is kept at this moment: another may have changed it since the row was held against it."""
        found[:] = [differences(said, kept)]
        return changes(said, kept)

    try:
        mended = edit_student(logbook, said.code, now)
    except OwnmarkError as reason:
        if reason.code not in ("not_a_student", "unknown_code"):
            raise  # the logbook's own: the disk is full, another program is writing
        return _refused(outcome.row, reason)
    if not mended.fields:
        return RowOutcome(outcome.row, "there already", (say.STUDENT_ROW_SAME,))
    return RowOutcome(outcome.row, "corrected", _of_mended(mended, _told(found[0])), fields=outcome.fields)


def _of_mended(mended: StudentMended, told: tuple[Message, ...]) -> tuple[Message, ...]:
    refused = tuple(Quoted(str(each.trial_id)) for each in mended.trials if each.refused is not None)
    done = len(mended.trials) - len(refused)
    return (
        say.student_row_corrected(told),
        *((say.student_row_worked_out(done),) if done else ()),
        *((say.student_row_not_worked_out(refused),) if refused else ()),
    )


def _shown(
    logbook: "Logbook | None",
    piece: Sequence[StudentRow],
    said: Sequence[Said | RowOutcome],
    shown: dict[str, Student],
    *,
    correct: bool,
) -> Iterator[RowOutcome]:
    """What would become of rows; ``shown`` holds the students as the rows before would leave them."""
    kept = ({} if logbook is None else students_of(logbook, _codes(said))) | shown
    for row, each in zip(piece, said, strict=True):
        outcome, new = _decided(row, each, kept)
        if new is not None:
            shown[new.code] = new
        elif correct and outcome.otherwise and isinstance(each, Said):
            before = kept[each.code]
            shown[each.code] = Student.model_validate({**before.model_dump(), **changes(each, before)})
            told = (say.student_row_corrected(_told(differences(each, before))),)
            outcome = RowOutcome(row, "corrected", told, fields=outcome.fields)
        yield outcome
