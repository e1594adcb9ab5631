"""What a row of a class's day asks beside what its plan asks: one name a message. Times [s]."""

from datetime import date

from ...words.message import Message, Quoted


def day_row_stop_why(at: Quoted) -> Message:
    """A stop that was pressed, and nobody wrote why."""
    return Message.of("day_row.stop_why", at=at)


def day_row_help_end(at: Quoted) -> Message:
    """Help that began, and nobody pressed when it ended."""
    return Message.of("day_row.help_end", at=at)


def day_row_other_day(on: date, day: date) -> Message:
    """Files of another day than the class's."""
    return Message.of("day_row.other_day", on=on, day=day)


def day_row_clock_off(file: Quoted, seconds: float) -> Message:
    """A check of its strap suggests that a file's clock was off."""
    return Message.of("day_row.clock_off", file=file, seconds=seconds)


def day_row_left_over(student: Quoted) -> Message:
    """A file that the plan gives to a student whose row is stored without it."""
    return Message.of("day_row.left_over", student=student)
