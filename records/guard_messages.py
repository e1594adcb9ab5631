"""What is asked of a trial before it goes in, and why one is refused as absurd: one name a message.

Lengths and times [s], rates [/min]. Every question names the answers that can be given to it.
"""

from datetime import date

from ..words.message import Message, Quoted


def guard_asked(questions: tuple[Message, ...]) -> Message:
    """Everything that is asked of one trial."""
    return Message.of("guard.asked", questions=questions)


GUARD_ANSWER = Message("guard.answer")
LONG_AGO_CODE = "guard.long_ago"
"""Of the one question that can be answered for all rows together."""


def guard_two_readings(written: Quoted, clock: float, start: float) -> Message:
    """Times that could be clock times or minutes and seconds from the start, and how long each would be."""
    return Message.of("guard.two_readings", written=written, clock=clock, start=start)


def guard_length(phase: str, seconds: float, planned: float) -> Message:
    """A phase of another length than the protocol's."""
    return Message.of("guard.length", phase=phase, seconds=seconds, planned=planned)


def guard_whole(seconds: float, planned: float) -> Message:
    """No phase is written down, and the file is longer than the protocol's work."""
    return Message.of("guard.whole", seconds=seconds, planned=planned)


def guard_whole_long(seconds: float) -> Message:
    """No phase is written down, and the file is long for a trial."""
    return Message.of("guard.whole_long", seconds=seconds)


GUARD_ORDER = Message("guard.order")


def guard_rest_above(rest: float, work: float) -> Message:
    """Heart rate at rest is not below that at work."""
    return Message.of("guard.rest_above", rest=rest, work=work)


def guard_other_day(recorded: date, on: date, answer: Quoted) -> Message:
    """The file states another day than the row; ``answer`` takes the file's."""
    return Message.of("guard.other_day", recorded=recorded, on=on, answer=answer)


def guard_neither_day(days: tuple[date, ...], on: date, answers: tuple[Quoted, ...]) -> Message:
    """The file's date can be read as one of some days, and the trial's is none of them."""
    return Message.of("guard.neither_day", days=days, on=on, answers=answers)


def guard_long_ago(recorded: date, answer: Quoted) -> Message:
    """No day is written down, and the file's lies long before today."""
    return Message.of(LONG_AGO_CODE, recorded=recorded, answer=answer)


def guard_undated(on: date, others: date, answer: Quoted) -> Message:
    """No day is written down, the file states none, and the other rows are of another day than today."""
    return Message.of("guard.undated", on=on, others=others, answer=answer)


def guard_day_order(first: date, second: date, one: Quoted, other: Quoted) -> Message:
    """A date whose day and month can change places, and nothing in the table settles it."""
    return Message.of("guard.day_order", first=first, second=second, one=one, other=other)


def guard_zone(on: date, at: Quoted) -> Message:
    """The file states its times in UTC, and nobody says in which zone the school is."""
    return Message.of("guard.zone", on=on, at=at)


def guard_named(field: str, begin: Quoted) -> Message:
    """A text that may name somebody; ``begin``: the name's first letter."""
    return Message.of("guard.named", field=field, begin=begin)


def guard_phone(field: str) -> Message:
    """A text that may hold a telephone number."""
    return Message.of("guard.phone", field=field)


def guard_mail(field: str) -> Message:
    """A text that may hold a mail address."""
    return Message.of("guard.mail", field=field)


def guard_too_long(phase: str, seconds: float, most: float) -> Message:
    """No phase is that long."""
    return Message.of("guard.too_long", phase=phase, seconds=seconds, most=most)


def guard_too_short(seconds: float, least: float) -> Message:
    """No work is that short."""
    return Message.of("guard.too_short", seconds=seconds, least=least)


GUARD_SAY_WORK = Message("guard.say_work")


def guard_late(phase: str, seconds: float, at: Quoted) -> Message:
    """The recording begins in the middle of a phase: when, and how much of it was not seen."""
    return Message.of("guard.late", phase=phase, seconds=seconds, at=at)


def guard_early_end(phase: str, seconds: float, at: Quoted) -> Message:
    """The recording ends in the middle of a phase: when, and how much of it was not seen."""
    return Message.of("guard.early_end", phase=phase, seconds=seconds, at=at)


def guard_narrowed(file: Quoted, kept: Quoted) -> Message:
    """Less of a recording is kept than before an edit: what is kept of it now."""
    return Message.of("guard.narrowed", file=file, kept=kept)


def guard_other_narrowed(number: int) -> Message:
    """Another trial of the recording keeps less of it, because this one holds those minutes now."""
    return Message.of("guard.other_narrowed", number=number)


def guard_worn(work: Quoted, worn: Quoted) -> Message:
    """By the clock the work lies outside of the time at which the student wore the strap."""
    return Message.of("guard.worn", work=work, worn=worn)
