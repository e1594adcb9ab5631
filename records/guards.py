"""What could be a mistake in a trial that is being added: asked of the person, or refused where it is absurd.

A question names the answers that settle it; answers stand in the trial's ``confirmed`` (the column ``confirm`` of a
class's table). The rest of the class goes in meanwhile.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ..errors import NotATrial, NotConfirmed, Question, UsageError
from ..ingest.clock_times import Moment, moment_told, on_the_wall, parse_span, resolve_span, uses_clock, zone_from
from ..ingest.combine import distinct, placings
from ..ingest.messages import EITHER_DAY
from ..ingest.recording import Recording
from ..metrics.figure import EffortSheet
from ..metrics.message_codes import code_of
from ..metrics.messages.trial import PHASES_WHOLE
from ..words.message import Message, Quoted
from ..words.render import english_date
from . import guard_messages as say
from .marked_phases import is_marked
from .opened import Opened
from .protocol import Protocol
from .trial import Trial

if TYPE_CHECKING:
    from ..metrics.phases import Span

YES, CLOCK, START, UTC = "yes", "clock", "start", "utc"
"""Answers: it was so; clock times are meant; times from the start are meant; the times written down are in UTC."""

WITHIN_SHARE, WITHIN_S = 0.2, 30.0
"""A phase that differs from the protocol's by more than either is asked about. Our own choice: people's hands and
watches differ by seconds, a wrong row by minutes."""
MOST_S, LEAST_WORK_S = 3 * 3600.0, 10.0
"""No phase of a school test is longer, and no work shorter [s]. Our own choice."""
LONG_S = 3600.0
"""Without a length in the protocol, a file longer than this is hardly one trial [s]. Our own choice."""
LONG_AGO_DAYS = 60
"""A file's day this long before today is asked about where nobody wrote the day down. Our own choice."""
SCHOOL_DAY_S = (6 * 3600.0, 20 * 3600.0)
"""From when until when a test can be given [s after midnight]. Our own choice, wide."""
SEEN_WITHIN_S = 5.0
"""A recording that begins or ends this close to a phase has seen it [s]. Our own choice: hands on a button."""
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
PHASES = (("rest", "rest_phase"), ("work", "work"), ("recovery", "recovery"))


def ask(trial: Trial, questions: Sequence[Question]) -> None:
    """Refuse a trial of which a question is open.

    Raises
    ------
    NotConfirmed
        With every open question.
    """
    given = {each.casefold() for each in trial.confirmed}
    still = tuple(each for each in questions if given.isdisjoint(each.answers))
    if still:
        where = f"trial {trial.id}" if trial.id else ""
        asked = say.guard_asked(tuple(each.asked for each in still))
        raise NotConfirmed(asked, questions=still, where=where, mend=say.GUARD_ANSWER)


def settled(trial: Trial, files: Opened, today: date, *, day_stated: bool, known: Collection[Question] = ()) -> Trial:
    """A trial with what its answers say: its day, and which of its times are clock times.

    Parameters
    ----------
    files : its files, opened; at least one can be read
    day_stated : a person wrote the day down
    known : what was open before it was edited: that is not asked again, and no answer of now is for it

    Raises
    ------
    NotConfirmed
        If its day, its zone, or the reading of its times must be asked.
    """
    whole = clock_of(files)
    readings = {field: found for field, found in _readings(trial, whole).items() if found not in known}
    ask(trial, before_reading(trial, files, today, day_stated=day_stated, known=known))
    given = {each.casefold() for each in trial.confirmed}
    changes: dict[str, object] = {field: at_clock(getattr(trial, field)) for field in readings if CLOCK in given}
    recorded = recorded_day(trial, whole)
    days = whole.possible_days if recorded is None else (recorded,)
    meant = next((each for each in days if each.isoformat() in given), None)
    if meant is not None and trial.on not in days:
        changes["on"] = meant
    return trial.model_copy(update=changes)


def before_reading(
    trial: Trial, files: Opened, today: date, *, day_stated: bool, known: Collection[Question] = ()
) -> list[Question]:
    """What is asked of a trial's day, zone and written times before its phases are looked at; as ``settled``."""
    whole = clock_of(files)
    found = (*_of_day(trial, whole, today, day_stated=day_stated), *_of_zone(trial, whole))
    return [each for each in (*found, *_readings(trial, whole).values()) if each not in known]


def refuse_unasked(given: Collection[str], questions: Collection[Question], where: str) -> None:
    """Refuse an answer that settles nothing: who gives it takes it for heard.

    Raises
    ------
    NotATrial
    """
    of_use = {each for question in questions for each in question.answers}
    idle = next((each for each in given if each.casefold() not in of_use), None)
    if idle is None:
        return
    what = f"“{shortened(idle)}” answers nothing that is asked of this edit."
    can = ", ".join(dict.fromkeys(each for question in questions for each in question.answers))
    mend = f"What is asked can be answered with {can}." if can else "Leave --confirm away: nothing is asked."
    raise NotATrial(what, where=where, mend=mend)


def shortened(text: str) -> str:
    """What was typed, so far as a line can hold it."""
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"


_SHOWN = 40


def of_times(trial: Trial, files: Opened, today: date) -> tuple[Question, ...]:
    """What is asked of the day, the zone and the written times of a trial that is kept, whatever was answered."""
    whole = clock_of(files)
    days = _of_day(trial, whole, today, day_stated=True)
    return (*days, *_of_zone(trial, whole), *_readings(trial, whole).values())


def _readings(trial: Trial, whole: Recording) -> dict[str, Question]:
    """By field: times that can be read in two ways."""
    return {field: found for _, field in PHASES if (found := _two_readings(trial, field, whole)) is not None}


def clock_of(files: Opened) -> Recording:
    """The span and the clock of a trial's files together, without their samples."""
    kept, _ = distinct(files.recordings)
    laid, start, clock_s = placings(kept, files.offsets)
    pairs = list(zip(kept, laid, strict=True))
    first = min(float(placing.on_trial(each.first_s)) for each, placing in pairs)
    last = max(float(placing.on_trial(each.last_s)) for each, placing in pairs)
    notes = tuple(note for each in kept for note in each.notes if note.code == EITHER_DAY)
    whole = Recording(streams=(), start=start, clock_s=clock_s, whole_s=(first, last), notes=notes)
    dated = next((each for each in kept if each.possible_days), whole)
    return replace(whole, shift_s=dated.shift_s, stated=dated.stated)


def recorded_day(trial: Trial, whole: Recording) -> date | None:
    """The day on which the files began, in the trial's zone."""
    return None if whole.start is None else on_the_wall(whole.start, trial.zone).date()


def _of_day(trial: Trial, whole: Recording, today: date, *, day_stated: bool) -> Iterator[Question]:
    recorded = recorded_day(trial, whole)
    if recorded is None:
        yield from _of_open_day(trial, whole)
        return
    answer = recorded.isoformat()
    if recorded != trial.on:
        yield Question(say.guard_other_day(recorded, trial.on, Quoted(answer)), (YES, answer))
    elif not day_stated and (today - recorded).days > LONG_AGO_DAYS:
        yield Question(say.guard_long_ago(recorded, Quoted(answer)), (YES, answer))


def _of_open_day(trial: Trial, whole: Recording) -> Iterator[Question]:
    """A file whose date can be read in several ways, none of them the trial's day."""
    days = whole.possible_days
    if days and trial.on not in days:
        answers = tuple(each.isoformat() for each in days)
        yield Question(say.guard_neither_day(days, trial.on, tuple(map(Quoted, answers))), (YES, *answers))


def _of_zone(trial: Trial, whole: Recording) -> Iterator[Question]:
    """Clock times beside a file that states UTC, and no zone."""
    start = whole.start
    if start is None or start.tzinfo is None or start.utcoffset() or trial.zone is not None:
        return
    written = [text for _, field in PHASES if (text := getattr(trial, field))]
    if any(_by_clock(text, whole) for text in written):
        yield Question(say.guard_zone(start.date(), Quoted(f"{start:%H:%M}")), (UTC,))


def _by_clock(text: str, whole: Recording) -> bool:
    try:
        return uses_clock(text, whole)
    except UsageError:  # it is refused where it is used
        return False


def _two_readings(trial: Trial, field: str, whole: Recording) -> Question | None:
    """Times of two parts that a clock of the recording would read as well; None where only one reading is possible."""
    text = getattr(trial, field)
    if not text or (whole.start is None and whole.clock_s is None):
        return None
    moments = parse_span(text)
    low, high = SCHOOL_DAY_S
    if not all(each.clock is False and low <= 60 * each.seconds <= high for each in moments):
        return None
    begin, end = resolve_span(at_clock(text), whole, zone_from(trial.zone))
    if begin >= whole.last_s or end <= whole.first_s or end - begin > MOST_S:
        return None
    lengths = [_length(moments, scale) for scale in (60.0, 1.0)]
    return Question(say.guard_two_readings(Quoted(text), *lengths), (CLOCK, START))


def _length(moments: Sequence[Moment], scale: float) -> float:
    return scale * (moments[1].seconds - moments[0].seconds)


def answered(texts: Mapping[str, str], trial: Trial) -> dict[str, str]:
    """What a row says once its answers are heard, so that giving it again differs from nothing.

    A day that was answered, and phases that stand as laps or presses, are kept as they came out when it went in.
    """
    given = {each.casefold() for each in trial.confirmed}
    days = any(_DAY.fullmatch(each) for each in given)
    said = {name: text for name, text in texts.items() if not (name == "on" and days)}
    for _, field in PHASES:
        text = said.get(field, "")
        if text and is_marked(text):
            del said[field]
        elif text and CLOCK in given and all(each.clock is False for each in parse_span(text)):
            said[field] = at_clock(text)
    return said


def at_clock(text: str) -> str:
    """FROM-UNTIL as clock times."""
    return "-".join(f"@{each.text.lstrip('@')}" for each in parse_span(text))


def of_sheet(trial: Trial, protocol: Protocol, sheet: EffortSheet) -> tuple[Question, ...]:
    """What is asked of a trial whose figures are worked out.

    Raises
    ------
    NotATrial
        If a phase is of an absurd length.
    """
    refuse_absurd(trial, sheet)
    return of_phases(protocol, sheet)


def of_phases(protocol: Protocol, sheet: EffortSheet) -> tuple[Question, ...]:
    """What is asked of the phases of a sheet, however long they are."""
    used = sheet.provenance.phases
    whole = code_of(used.decided) == PHASES_WHOLE.code
    questions: list[Question] = []
    for phase, span in _spans(sheet):
        planned: float | None = getattr(protocol, f"{phase}_s")
        if span is None:
            continue
        asked = _of_length(phase, span[1] - span[0], planned, whole=whole and phase == "work")
        questions += [Question(asked, (YES,))] if asked else []
    if used.rest is not None and used.rest[0] >= used.work[1]:
        questions.append(Question(say.GUARD_ORDER, (YES,)))
    rest, work = sheet.provenance.basis.rest_bpm, sheet.figures["heart_rate_mean"].value
    if used.rest is not None and rest is not None and work is not None and rest >= work:
        questions.append(Question(say.guard_rest_above(rest, work), (YES,)))
    return tuple(questions)


def _spans(sheet: EffortSheet) -> "tuple[tuple[str, Span | None], ...]":
    used = sheet.provenance.phases
    return (("rest", used.rest), ("work", used.work), ("recovery", used.recovery))


def refuse_absurd(trial: Trial, sheet: EffortSheet) -> None:
    """Refuse lengths that no test has.

    Raises
    ------
    NotATrial
        If a phase is longer than three hours, or work is shorter than ten seconds.
    """
    where = f"{trial.code}, {english_date(trial.on)}"
    for phase, span in _spans(sheet):
        if span is None:
            continue
        length = span[1] - span[0]
        if length > MOST_S:
            raise NotATrial(say.guard_too_long(phase, length, MOST_S), where=where, mend=say.GUARD_SAY_WORK)
        if phase == "work" and length < LEAST_WORK_S:
            raise NotATrial(say.guard_too_short(length, LEAST_WORK_S), where=where, mend=say.GUARD_SAY_WORK)


def _of_length(phase: str, seconds: float, planned: float | None, *, whole: bool) -> Message | None:
    """What is asked of the length of a phase; None where it is as planned."""
    if planned is None:
        return say.guard_whole_long(seconds) if whole and seconds > LONG_S else None
    if not beyond(seconds, planned):
        return None
    if whole and seconds > planned:
        return say.guard_whole(seconds, planned)
    return say.guard_length(phase, seconds, planned)


def beyond(seconds: float, planned: float) -> bool:
    """Whether a length differs from the planned one by more than is passed over."""
    apart = abs(seconds - planned)
    return apart > WITHIN_S or apart > WITHIN_SHARE * planned


def moment(at_s: float, whole: Recording, zone: str | None) -> Quoted:
    """A moment of a recording by the school's clock and in seconds."""
    return Quoted(moment_told(at_s, None if whole.start is None else on_the_wall(whole.start, zone)))


def unseen(sheet: EffortSheet, whole: Recording, zone: str | None = None) -> tuple[Message, ...]:
    """What of its phases a recording did not see, because it began late or ended early.

    zone : in which the school's clocks are
    """
    told: list[Message] = []
    for phase, span in _spans(sheet):
        if span is None:
            continue
        if span[0] + SEEN_WITHIN_S < whole.first_s < span[1]:
            told.append(say.guard_late(phase, whole.first_s - span[0], moment(whole.first_s, whole, zone)))
        if span[0] < whole.last_s < span[1] - SEEN_WITHIN_S:
            told.append(say.guard_early_end(phase, span[1] - whole.last_s, moment(whole.last_s, whole, zone)))
    return tuple(told)
