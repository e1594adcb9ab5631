"""Why something cannot be kept of a student, and what became of a row of a list of students: one name a message.

Rates [/min]. What was written in a cell may be a name, and is repeated only where it was checked first.
"""

from datetime import date

from ..words.message import Message, Quoted

STUDENT_CODE_EMPTY = Message("student_code.empty")
STUDENT_CODE_MAIL = Message("student_code.mail")
STUDENT_CODE_DATE = Message("student_code.date")
STUDENT_CODE_NO_DIGIT = Message("student_code.no_digit")
STUDENT_CODE_NAME = Message("student_code.name")
STUDENT_CODE_SIGNS = Message("student_code.signs")
STUDENT_CODE_MEND = Message("student_code.mend")


def student_code_digits(most: int) -> Message:
    """More digits than a code has."""
    return Message.of("student_code.digits", most=most)


def student_code_long(most: int) -> Message:
    """More characters than a code has."""
    return Message.of("student_code.long", most=most)


STUDENT_ROLE_CEILING = Message("student.role_ceiling")
STUDENT_ROLE_TESTER = Message("student.role_tester")
STUDENT_ROLE_MEND = Message("student.role_mend")
STUDENT_NOTE_MAIL = Message("student.note_mail")
STUDENT_NOTE_MEND = Message("student.note_mend")
STUDENT_REST_ABOVE_MEND = Message("student.rest_above_mend")


def student_rest_above(bpm: float) -> Message:
    """A rest that is not below a maximum."""
    return Message.of("student.rest_above", bpm=bpm)


STUDENT_TABLE_NO_CODE = Message("student_table.no_code")
STUDENT_TABLE_HEADER = Message("student_table.header")
STUDENT_TABLE_NO_ROW = Message("student_table.no_row")
STUDENT_TABLE_ADD_ROW = Message("student_table.add_row")
STUDENT_TABLE_TAKE_ONE = Message("student_table.take_one")
STUDENT_TABLE_LEAVE_OUT = Message("student_table.leave_out")


def student_table_twice(column: Quoted) -> Message:
    """Two columns that are the same."""
    return Message.of("student_table.twice", column=column)


def student_table_unknown(columns: tuple[Message, ...]) -> Message:
    """Columns that hold nothing that is kept of a student."""
    return Message.of("student_table.unknown", columns=columns)


def student_table_column(column: Quoted) -> Message:
    """Such a column by its header."""
    return Message.of("student_table.column", column=column)


def student_table_near(column: Quoted, near: tuple[Quoted, ...]) -> Message:
    """Such a column, and what it may be called here."""
    return Message.of("student_table.near", column=column, near=near)


def student_table_unnamed(number: int) -> Message:
    """A column without a header, by its place."""
    return Message.of("student_table.unnamed", number=number)


STUDENT_ROW_ANSWER = Message("student_row.answer")
STUDENT_ROW_CELLS = Message("student_row.cells")
STUDENT_ROW_QUOTES = Message("student_row.quotes")
STUDENT_ROW_CEILING = Message("student_row.ceiling")
STUDENT_ROW_CEILING_MEND = Message("student_row.ceiling_mend")
STUDENT_ROW_BORN = Message("student_row.born")
STUDENT_ROW_BIRTHDAY = Message("student_row.birthday")
STUDENT_ROW_BORN_MEND = Message("student_row.born_mend")
STUDENT_ROW_BORN_AHEAD = Message("student_row.born_ahead")
STUDENT_ROW_CHECK_YEAR = Message("student_row.check_year")
STUDENT_ROW_SEX = Message("student_row.sex")
STUDENT_ROW_SEX_MEND = Message("student_row.sex_mend")
STUDENT_ROW_DATE_MEND = Message("student_row.date_mend")
STUDENT_ROW_NUMBER_MEND = Message("student_row.number_mend")
STUDENT_ROW_NONE_MEND = Message("student_row.none_mend")
STUDENT_ROW_CORRECT = Message("student_row.correct")
STUDENT_ROW_ABILITIES_DAY = Message("student_row.abilities_day")
STUDENT_ROW_ABILITIES_MEND = Message("student_row.abilities_mend")
STUDENT_ROW_CEILING_DAY_MEND = Message("student_row.ceiling_day_mend")


def student_row_alone(column: Quoted, needs: Quoted) -> Message:
    """A cell that says how something was measured or set, and that is missing."""
    return Message.of("student_row.alone", column=column, needs=needs)


def student_row_alone_mend(column: Quoted, needs: Quoted) -> Message:
    """What to do about a cell that misses another."""
    return Message.of("student_row.alone_mend", column=column, needs=needs)


def student_row_none(column: Quoted) -> Message:
    """“none” in a cell: a list takes nothing away."""
    return Message.of("student_row.none", column=column)


def student_row_number(column: Quoted) -> Message:
    """A rate that is no number."""
    return Message.of("student_row.number", column=column)


def student_row_two_numbers(column: Quoted) -> Message:
    """A rate that can be read in two ways."""
    return Message.of("student_row.two_numbers", column=column)


def student_row_rate(column: Quoted, bpm: float) -> Message:
    """A rate that no heart has."""
    return Message.of("student_row.rate", column=column, bpm=bpm)


def student_row_rate_mend(low: float, high: float) -> Message:
    """The rates that a heart has."""
    return Message.of("student_row.rate_mend", low=low, high=high)


def student_row_date(column: Quoted) -> Message:
    """A cell that is no date."""
    return Message.of("student_row.date", column=column)


def student_row_early(column: Quoted, on: date) -> Message:
    """A day before anything of a student at school."""
    return Message.of("student_row.early", column=column, on=on)


def student_row_ahead(column: Quoted, on: date) -> Message:
    """A day that is yet to come."""
    return Message.of("student_row.ahead", column=column, on=on)


def student_row_word(column: Quoted, number: int) -> Message:
    """An entry of a cell, counted from 1, that is none of the words of a closed list."""
    return Message.of("student_row.word", column=column, number=number)


def student_row_near(near: tuple[Quoted, ...]) -> Message:
    """What may have been meant."""
    return Message.of("student_row.near", near=near)


def student_row_words(known: tuple[Quoted, ...]) -> Message:
    """The words of a closed list."""
    return Message.of("student_row.words", known=known)


def student_row_ceiling_day(on: date) -> Message:
    """A ceiling without a day beside one with a day, which would go on to count."""
    return Message.of("student_row.ceiling_day", on=on)


def student_row_added(said: tuple[Message, ...]) -> Message:
    """A student who is new, and what is kept."""
    return Message.of("student_row.added", said=said)


STUDENT_ROW_CODE_ONLY = Message("student_row.code_only")
STUDENT_ROW_SAME = Message("student_row.same")


def student_row_besides(conditions: tuple[str, ...]) -> Message:
    """Conditions that are kept, and that a row does not name: it takes none away."""
    return Message.of("student_row.besides", conditions=conditions)


def student_row_otherwise(differences: tuple[Message, ...]) -> Message:
    """A student who is there, and what the row says otherwise."""
    return Message.of("student_row.otherwise", differences=differences)


STUDENT_ROW_TWICE_MEND = Message("student_row.twice_mend")


def student_row_twice(rows: tuple[Quoted, ...], columns: tuple[Quoted, ...]) -> Message:
    """Other rows of the list, by their numbers, that say something else of the same student, and in which columns."""
    return Message.of("student_row.twice", rows=rows, columns=columns)


def student_row_corrected(differences: tuple[Message, ...]) -> Message:
    """A student who was corrected, and in what."""
    return Message.of("student_row.corrected", differences=differences)


def student_row_worked_out(count: int) -> Message:
    """Trials whose figures were worked out again."""
    return Message.of("student_row.worked_out", count=count)


def student_row_not_worked_out(numbers: tuple[Quoted, ...]) -> Message:
    """Trials that could not be worked out again."""
    return Message.of("student_row.not_worked_out", numbers=numbers)


def student_row_differs(said: tuple[Message, ...], kept: tuple[Message, ...]) -> Message:
    """What a row says of one thing, and what is kept of it."""
    return Message.of("student_row.differs", said=said, kept=kept)


def student_row_new(said: tuple[Message, ...]) -> Message:
    """What a row says of something of which nothing is kept."""
    return Message.of("student_row.new", said=said)


def student_row_fault(kind: Quoted) -> Message:
    """What ownmark itself failed at."""
    return Message.of("student_row.fault", kind=kind)


def student_part_born(month: Quoted) -> Message:
    """A month of birth."""
    return Message.of("student_part.born", month=month)


def student_part_sex(sex: str) -> Message:
    """A sex."""
    return Message.of("student_part.sex", sex=sex)


def student_part_conditions(conditions: tuple[str, ...]) -> Message:
    """Conditions."""
    return Message.of("student_part.conditions", conditions=conditions)


def student_part_rest(bpm: float) -> Message:
    """A heart rate at rest."""
    return Message.of("student_part.rest", bpm=bpm)


def student_part_max(bpm: float) -> Message:
    """A highest heart rate."""
    return Message.of("student_part.max", bpm=bpm)


def student_part_measured(on: date) -> Message:
    """When a rate was measured."""
    return Message.of("student_part.measured", on=on)


def student_part_how(text: Quoted) -> Message:
    """How a rate was measured: a posture, a kind of exercise."""
    return Message.of("student_part.how", text=text)


def student_part_ceiling(bpm: float, role: Quoted) -> Message:
    """A ceiling and who set it."""
    return Message.of("student_part.ceiling", bpm=bpm, role=role)


def student_part_set(on: date) -> Message:
    """When a ceiling was set."""
    return Message.of("student_part.set", on=on)


def student_part_can(movements: tuple[str, ...]) -> Message:
    """What the student moves."""
    return Message.of("student_part.can", movements=movements)


def student_part_senses(senses: tuple[str, ...]) -> Message:
    """What else a task may ask of the student."""
    return Message.of("student_part.senses", senses=senses)


def student_part_needs(needs: tuple[str, ...]) -> Message:
    """What a test must offer."""
    return Message.of("student_part.needs", needs=needs)


STUDENT_PART_NO_NEEDS = Message("student_part.no_needs")
STUDENT_PART_NOTE = Message("student_part.note")
