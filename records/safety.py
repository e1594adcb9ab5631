"""What a therapist asks of a trial: the ceiling, when it was crossed, recovery, what was not measured, conditions.

It tells what was recorded and never that exercise is safe: a recording cannot know that.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from ..ingest.clock_times import on_the_wall
from ..metrics.figure import Figure, PossibleCrossing, as_messages
from ..words.message import Message, Quoted
from ..words.numbers import clock
from . import messages as say
from .student import Ceiling, Student
from .trial import Trial

CEILING = ("time_above_ceiling", "longest_above_ceiling", "first_above_ceiling", "possible_above_ceiling")
DIP_S = 10.0
"""Crossings that lie this close together are shown as one [s]. Common practice, no source."""
SHOWN = ("heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "recovery_60s", "coverage_heart_rate")
MOST_SPANS = 3
"""So many stretches without heart rate are named where they are told in a sentence, the longest."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A stretch above the ceiling [s from the recording's start], and its clock times if the recording has a clock.

    above_s : how much of it was above [s]; short dips are joined
    utc : the recording states UTC and nobody named the place's zone, so the clock times are not those of the wall
    outside : nothing of it lies in the rest, the work or the recovery
    """

    from_s: float
    until_s: float
    from_clock: str | None
    until_clock: str | None
    above_s: float = 0.0
    utc: bool = False
    outside: bool = False


@dataclass(frozen=True, slots=True)
class Possible:
    """Readings above the ceiling that are in no figure: where, how high [/min], and why they are in none.

    reasons : names of cleaning rules, and those of ``metrics.ceiling.BEYOND_RULES``
    """

    where: Crossing
    highest_bpm: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Safety:
    """What is to be told of one trial.

    answer : what was recorded above the ceiling, in a sentence or two
    ceiling : the one of today and who set it; ``changed`` where the sheet rests on another one, and then nothing is
        told of what stood above
    ceiling_bpm : the one that the sheet counts with
    possible : crossings that may have been
    unmeasured : stretches of work without heart rate; ``recording_unmeasured`` those of all that was looked at  [s]
    gaps : how much of it that is
    looked_at : which part of the recording was looked at, where it was not all of it
    """

    student: Student
    trial: Trial
    answer: tuple[Message, ...]
    ceiling: Message
    ceiling_bpm: float | None
    changed: Message | None
    crossings: tuple[Crossing, ...]
    possible: tuple[Possible, ...]
    figures: Mapping[str, Figure]
    unmeasured: tuple[tuple[float, float], ...]
    recording_unmeasured: tuple[tuple[float, float], ...]
    gaps: Message | None
    looked_at: Message | None
    invalid: tuple[tuple[str, Message], ...]
    cautions: tuple[Message, ...]

    @property
    def sentences(self) -> tuple[Message, ...]:
        """All that is said in sentences, the answer first, each once."""
        found = (*self.answer, self.looked_at, self.ceiling, self.changed, self.gaps)
        return tuple(dict.fromkeys(each for each in found if each is not None))


def safety_of(student: Student, trial: Trial) -> Safety:
    """What a trial's sheet says about exertion."""
    from ..metrics import choose_basis

    known = as_messages(choose_basis(conditions=student.conditions).cautions())
    figures: Mapping[str, Figure] = {} if trial.sheet is None else trial.sheet.figures
    made = None if trial.sheet is None else trial.sheet.provenance
    used = None if made is None else made.ceiling_bpm
    changed = None if made is None else ceiling_changed(used, student.ceiling)
    above = () if made is None or changed is not None else made.above_ceiling
    start = on_the_wall(datetime.fromisoformat(made.start), trial.zone) if made and made.start else None
    phases = () if made is None else (made.phases.rest, made.phases.work, made.phases.recovery)
    inside = [phase for phase in phases if phase is not None]
    crossings = tuple(
        replace(_crossing(span, start, above), outside=not any(_meet(span, phase) for phase in inside))
        for span in _joined(above)
    )
    possible = _possible(() if made is None or changed is not None else made.possible_crossings, start)
    refused = () if made is None else made.refused
    invalid = tuple(
        (name, figure.reason) for name, figure in figures.items() if figure.reason is not None and name in refused
    )
    gaps = () if made is None else made.recording_unmeasured
    stale = None if _value(figures, "coverage_heart_rate") is None else changed
    return Safety(
        student=student,
        trial=trial,
        answer=_answer(trial, used, student.ceiling, crossings, possible) if stale is None else (stale,),
        ceiling=about_ceiling(student.ceiling),
        ceiling_bpm=used,
        changed=changed,
        crossings=crossings,
        possible=possible,
        figures={name: figures[name] for name in (SHOWN if changed else (*SHOWN, *CEILING)) if name in figures},
        unmeasured=() if made is None else made.unmeasured,
        recording_unmeasured=gaps,
        gaps=_unmeasured(gaps) if gaps and not changed and used is not None and _measured(figures, possible) else None,
        looked_at=None if made is None or made.span is None else say.ceiling_looked_at(*made.span),
        invalid=invalid,
        cautions=tuple(dict.fromkeys((*known, *(() if trial.sheet is None else trial.sheet.cautions)))),
    )


def about_ceiling(now: Ceiling | None) -> Message:
    """Which ceiling there is, and who set it when."""
    if now is None:
        return say.CEILING_NONE
    role = Quoted(now.set_by)
    return say.ceiling_set_on(now.bpm, role, now.set_on) if now.set_on else say.ceiling_set(now.bpm, role)


def ceiling_changed(used: float | None, now: Ceiling | None) -> Message | None:
    """What must not be overlooked where a sheet was worked out with another ceiling than today's [/min]."""
    if used is None:
        return None if now is None else say.CEILING_LATER
    if now is None:
        return say.ceiling_gone(used)
    return None if now.bpm == used else say.ceiling_changed(used, now.bpm)


def _answer(
    trial: Trial,
    used: float | None,
    now: Ceiling | None,
    crossings: Sequence[Crossing],
    possible: Sequence[Possible],
) -> tuple[Message, ...]:
    """What was recorded above the ceiling that the sheet counts with."""
    if trial.sheet is None:
        return (say.CEILING_NO_RECORDING,)
    figures = trial.sheet.figures
    if used is None:
        if _value(figures, "coverage_heart_rate") is not None:
            return (say.CEILING_NONE if now is None else say.CEILING_LATER,)
        return (say.CEILING_NO_HEART_RATE if now is None else say.CEILING_NOT_MEASURED,)
    if not _measured(figures, possible):
        return (say.CEILING_NOT_MEASURED,)
    above = figures.get("time_above_ceiling")
    if crossings:
        first = _first(figures.get("first_above_ceiling"), crossings[0].from_s)
        certain = say.ceiling_above(used, _length(above), first)
        whole = sum(each.where.above_s for each in possible)
        return (certain, say.ceiling_also_possible(len(possible), whole)) if possible else (certain,)
    high = None if above is None else above.high
    if possible:
        whole = sum(each.where.above_s for each in possible)
        highest, first_s = max(each.highest_bpm for each in possible), possible[0].where.from_s
        longest = max(whole, high or 0.0)
        if longest <= 0:
            return (say.ceiling_perhaps_moment(used, first_s, highest),)
        return (say.ceiling_perhaps(used, longest, first_s, highest),)
    percent = None if above is None else above.coverage
    if percent is None:
        return (say.ceiling_not_above(used),)
    if high is None or clock(high) == clock(0):
        return (say.ceiling_not_above_measured(used, percent),)
    return (say.ceiling_not_above_between(used, percent, high),)


def _measured(figures: Mapping[str, Figure], possible: Sequence[Possible]) -> bool:
    """Whether anything can be said about the ceiling that the sheet counts with."""
    return _value(figures, "time_above_ceiling") is not None or bool(possible)


def _length(above: Figure | None) -> Message:
    """For how long heart rate stood above, with bounds where they say more as they are shown."""
    if above is None or above.value is None:
        return say.CEILING_LENGTH_UNKNOWN
    value, low, high = above.value, above.low, above.high
    if low is None or high is None or clock(low) == clock(value) == clock(high):
        return say.ceiling_length(value)
    return say.ceiling_length_between(value, low, high)


def _first(figure: Figure | None, seen_s: float) -> Message:
    """When heart rate first stood above: as recorded, and how early it may have been."""
    low = None if figure is None else figure.low
    if low is None or low >= seen_s or clock(low) == clock(seen_s):
        return say.ceiling_first(seen_s)
    return say.ceiling_first_between(seen_s, low)


def _unmeasured(gaps: Sequence[tuple[float, float]]) -> Message:
    """How much of the recording has no heart rate to go by, and where: the longest stretches, in order."""
    longest = sorted(sorted(gaps, key=lambda gap: gap[0] - gap[1])[:MOST_SPANS])
    spans = tuple(say.ceiling_span(begin, until) for begin, until in longest)
    whole = sum(until - begin for begin, until in gaps)
    return (say.ceiling_unmeasured_more if len(gaps) > MOST_SPANS else say.ceiling_unmeasured)(whole, spans)


def _value(figures: Mapping[str, Figure], name: str) -> float | None:
    return figures[name].value if name in figures else None


def _joined(spans: Sequence[Sequence[float]], dip_s: float = DIP_S) -> list[tuple[float, float]]:
    """Stretches with short dips between them as one: a heart that hovers about the limit is not 25 events."""
    joined: list[tuple[float, float]] = []
    for begin, end in spans:
        if joined and begin - joined[-1][1] <= dip_s:
            joined[-1] = (joined[-1][0], max(joined[-1][1], float(end)))
        else:
            joined.append((float(begin), float(end)))
    return joined


def _meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether two stretches share time."""
    return one[0] < other[1] and other[0] < one[1]


def _possible(found: Sequence[PossibleCrossing], start: datetime | None) -> tuple[Possible, ...]:
    """Possible crossings, those close together as one with every reason."""
    spans = [(each.from_s, each.until_s) for each in found]
    read = _joined(spans, 0.0)  # two sensors may tell of the same moment
    made: list[Possible] = []
    for begin, end in _joined(spans):
        inside = [each for each in found if begin <= each.from_s and each.until_s <= end]
        reasons = tuple(dict.fromkeys(rule for each in inside for rule in each.rules))
        highest = max(each.highest_bpm for each in inside)
        made.append(Possible(_crossing((begin, end), start, read), highest, reasons))
    return tuple(made)


def _crossing(span: tuple[float, float], start: datetime | None, above: Sequence[Sequence[float]]) -> Crossing:
    """A stretch with its clock times."""
    begin, end = float(span[0]), float(span[1])
    inside = float(sum(until - since for since, until in above if since >= begin and until <= end))
    if start is None:
        return Crossing(begin, end, None, None, inside)
    first, last = (start + timedelta(seconds=seconds) for seconds in (begin, end))
    utc = start.tzinfo is not None and not start.utcoffset()
    return Crossing(begin, end, f"{first:%H:%M:%S}", f"{last:%H:%M:%S}", inside, utc)
