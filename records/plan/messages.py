"""What a plan of a day asks to look at, and why: one name a message.

Times are in seconds from the recording's start.
"""

from datetime import date

from ...words.message import Message, Quoted

DAY_PLAN_NOBODY = Message("day_plan.nobody")
DAY_PLAN_NO_CLOCK = Message("day_plan.no_clock")
DAY_PLAN_NO_FILE = Message("day_plan.no_file")
DAY_PLAN_NO_LENGTH = Message("day_plan.no_length")
DAY_PLAN_NO_PROTOCOL = Message("day_plan.no_protocol")
DAY_PLAN_WORN_BY_TWO = Message("day_plan.worn_by_two")
DAY_PLAN_NO_ZONE = Message("day_plan.no_zone")
DAY_PLAN_NAME = Message("day_plan.name")
DAY_PLAN_UNDATED = Message("day_plan.undated")
DAY_PLAN_START_AFTER_WORK = Message("day_plan.start_after_work")
DAY_PLAN_ANSWER = Message("day_plan.answer")


def day_plan_of_file(file: Quoted, what: Message) -> Message:
    """What is to look at in one of several files."""
    return Message.of("day_plan.of_file", file=file, what=what)


def day_plan_by_clock(student: Quoted) -> Message:
    """The only student who began inside the recording, by the time table."""
    return Message.of("day_plan.by_clock", student=student)


def day_plan_outside(files: tuple[Quoted, ...]) -> Message:
    """Links in a folder that lead out of it, which were not read."""
    return Message.of("day_plan.outside", files=files)


def day_plan_by_clock_left(student: Quoted) -> Message:
    """The only student who began inside the recording and has no other file."""
    return Message.of("day_plan.by_clock_left", student=student)


def day_plan_by_clock_alone(strap: Quoted, students: tuple[Quoted, ...], student: Quoted) -> Message:
    """Who of those who wore a strap it is by its clock, which nothing confirms."""
    return Message.of("day_plan.by_clock_alone", strap=strap, students=students, student=student)


def day_plan_by_short_code(student: Quoted) -> Message:
    """A number in the name that may be the student's code, or anything else."""
    return Message.of("day_plan.by_short_code", student=student)


def day_plan_by_earlier(student: Quoted, on: date) -> Message:
    """Whose a file of such a name was before."""
    return Message.of("day_plan.by_earlier", student=student, on=on)


def day_plan_by_number(strap: Quoted) -> Message:
    """A number in the name that may be the strap's, or anything else."""
    return Message.of("day_plan.by_number", strap=strap)


def day_plan_several(students: tuple[Quoted, ...]) -> Message:
    """A file that fits several students."""
    return Message.of("day_plan.several", students=students)


def day_plan_against_list(named: Quoted, listed: tuple[Quoted, ...]) -> Message:
    """A name of a file that says another student than the list of straps."""
    return Message.of("day_plan.against_list", named=named, listed=listed)


def day_plan_shared(strap: Quoted, students: tuple[Quoted, ...]) -> Message:
    """A strap that others wore while the file ran."""
    return Message.of("day_plan.shared", strap=strap, students=students)


def day_plan_other_time(student: Quoted, since: Quoted, until: Quoted) -> Message:
    """A file that does not lie within the time in which the student wore the strap."""
    return Message.of("day_plan.other_time", student=student, since=since, until=until)


def day_plan_worn_hours_off(student: Quoted, since: Quoted, until: Quoted, hours: int) -> Message:
    """A file that would lie within the time in which the student wore the strap if its clock were moved."""
    return Message.of("day_plan.worn_hours_off", student=student, since=since, until=until, hours=hours)


def day_plan_other_class(student: Quoted) -> Message:
    """A student who is not on the roster."""
    return Message.of("day_plan.other_class", student=student)


def day_plan_not_in_logbook(student: Quoted) -> Message:
    """A student whom the logbook does not know."""
    return Message.of("day_plan.not_in_logbook", student=student)


def day_plan_last_protocol(protocol: Quoted, on: date) -> Message:
    """The protocol of the student's last trial."""
    return Message.of("day_plan.last_protocol", protocol=protocol, on=on)


def day_plan_unknown_protocol(protocol: Quoted) -> Message:
    """A protocol that the logbook does not know."""
    return Message.of("day_plan.unknown_protocol", protocol=protocol)


def day_plan_start_differs(found: float, stated: float, within: float) -> Message:
    """Work that the recording shows elsewhere than it was written down."""
    return Message.of("day_plan.start_differs", found=found, stated=stated, within=within)


def day_plan_end_differs(found: float, stated: float, within: float) -> Message:
    """Work that the recording shows to end elsewhere than it was written down."""
    return Message.of("day_plan.end_differs", found=found, stated=stated, within=within)


def day_plan_other_length(phase: str, seconds: float, planned: float) -> Message:
    """A phase that was written down with another length than the protocol's."""
    return Message.of("day_plan.other_length", phase=phase, seconds=seconds, planned=planned)


def day_plan_rest_unwritten(seconds: float) -> Message:
    """Work that was written down, and no start: the rest before it is a proposal."""
    return Message.of("day_plan.rest_unwritten", seconds=seconds)


def day_plan_work_outside(work: Quoted) -> Message:
    """Work that was written down and does not lie in the recording."""
    return Message.of("day_plan.work_outside", work=work)


def day_plan_work_hours_off(work: Quoted, hours: int) -> Message:
    """Work that would lie in the recording if its clock were moved by whole hours."""
    return Message.of("day_plan.work_hours_off", work=work, hours=hours)


def day_plan_work_unread(work: Quoted, why: Quoted) -> Message:
    """Presses or a lap that were written down and that the recording does not have."""
    return Message.of("day_plan.work_unread", work=work, why=why)


def day_plan_start_outside(start: Quoted) -> Message:
    """A start that does not lie in the recording."""
    return Message.of("day_plan.start_outside", start=start)


def day_plan_hours_off(start: Quoted, hours: int) -> Message:
    """A start that would lie in the recording if its clock were moved by whole hours."""
    return Message.of("day_plan.hours_off", start=start, hours=hours)


def day_plan_unread(refused: str, why: Message) -> Message:
    """A file that cannot be read: the refusal's code, and its sentence."""
    return Message.of("day_plan.unread", refused=refused, why=why)


def day_plan_empty(why: Message) -> Message:
    """A file that holds nothing."""
    return Message.of("day_plan.empty", why=why)


def day_plan_many(count: int) -> Message:
    """An archive of several recordings."""
    return Message.of("day_plan.many", count=count)


def day_plan_seen(trials: tuple[Message, ...]) -> Message:
    """A recording that the logbook holds."""
    return Message.of("day_plan.seen", trials=trials)


def day_plan_twice(file: Quoted) -> Message:
    """The same recording under another name."""
    return Message.of("day_plan.twice", file=file)


def day_plan_other_day(on: date, most: date) -> Message:
    """A file of another day than most."""
    return Message.of("day_plan.other_day", on=on, most=most)


def day_plan_no_day(most: date) -> Message:
    """A file without a day; that of most files is proposed."""
    return Message.of("day_plan.no_day", most=most)


def day_plan_neither_day(days: tuple[date, ...], most: date) -> Message:
    """A file whose date can be read as one of some days, none of them that of most files."""
    return Message.of("day_plan.neither_day", days=days, most=most)


def day_plan_several_days(on: date, other: date) -> Message:
    """A file of a day on which as many are as on another."""
    return Message.of("day_plan.several_days", on=on, other=other)


def day_plan_future(on: date) -> Message:
    """A file of a day that is still to come."""
    return Message.of("day_plan.future", on=on)


def day_plan_long(seconds: float, planned: float) -> Message:
    """A file that runs much longer than the protocol."""
    return Message.of("day_plan.long", seconds=seconds, planned=planned)


def day_plan_two_files(files: tuple[Quoted, ...]) -> Message:
    """Several files with a heart rate for one student."""
    return Message.of("day_plan.two_files", files=files)


def day_plan_apart(why: Quoted) -> Message:
    """Files that cannot be one trial."""
    return Message.of("day_plan.apart", why=why)


def day_plan_strap_without_file(strap: Quoted, students: tuple[Quoted, ...]) -> Message:
    """A strap of the list of which there is no file, and who wore it."""
    return Message.of("day_plan.strap_without_file", strap=strap, students=students)


def day_plan_strap_missing(strap: Quoted) -> Message:
    """A strap of the list of which there is no file, and nobody's name beside it."""
    return Message.of("day_plan.strap_missing", strap=strap)


def day_plan_phase_not_seen(phase: str) -> Message:
    """A phase that lies outside of what was measured."""
    return Message.of("day_plan.phase_not_seen", phase=phase)
