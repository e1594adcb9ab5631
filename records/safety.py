"""What a therapist asks of a trial: the ceiling, when it was crossed, recovery, what was not measured, conditions.

It tells what was recorded and never that exercise is safe: a recording cannot know that.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from ..ingest.clock_times import clock_text, on_the_wall
from ..metrics.figure import Figure, PossibleCrossing, as_messages
from ..words.message import Message
from ..words.numbers import clock, nearest
from ..words.render import Words
from .student import Student
from .trial import Trial

CEILING = ("time_above_ceiling", "longest_above_ceiling", "first_above_ceiling", "possible_above_ceiling")
DIP_S = 10.0
"""Crossings that lie this close together are shown as one [s]. Common practice, no source."""
SHOWN = ("heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "recovery_60s", "coverage_heart_rate")
MOST_SPANS = 3
"""So many stretches without heart rate are named where they are told in a sentence, the longest."""
_LEAST_S = 0.5  # less is no second when it is rounded


@dataclass(frozen=True, slots=True)
class Crossing:
    """A stretch above the ceiling [s from the recording's start], and its clock times if the recording has a clock.

    above_s : how much of it was above [s]; short dips are joined
    utc : the recording states UTC and nobody named the place's zone, so the clock times are not those of the wall
    """

    from_s: float
    until_s: float
    from_clock: str | None
    until_clock: str | None
    above_s: float = 0.0
    utc: bool = False

    def words(self) -> str:
        """The stretch for a person."""
        length = f"{nearest(self.until_s - self.from_s)} s, {nearest(self.above_s)} s of it above"
        span = f"{clock_text(self.from_s)} to {clock_text(self.until_s)} ({length})"
        zone = " UTC" if self.utc else ""
        return span if self.from_clock is None else f"{self.from_clock} to {self.until_clock}{zone}, {span}"


@dataclass(frozen=True, slots=True)
class Possible:
    """Readings above the ceiling that are in no figure: where, how high [/min], and why they are in none.

    reasons : names of cleaning rules, and those of ``metrics.ceiling.BEYOND_RULES``
    """

    where: Crossing
    highest_bpm: float
    reasons: tuple[str, ...]

    def words(self) -> str:
        """The stretch for a person."""
        told = _WORDS.listed([_WORDS.get(f"rule.{each}") for each in self.reasons])
        return f"{self.where.words()}, read up to {nearest(self.highest_bpm)} /min: {told}"


@dataclass(frozen=True, slots=True)
class Safety:
    """What is to be told of one trial.

    changed : where the sheet rests on another ceiling than today's
    possible : crossings that may have been
    unmeasured : stretches of work without heart rate; ``recording_unmeasured`` those of the whole recording  [s]
    """

    student: Student
    trial: Trial
    ceiling_bpm: float | None
    changed: str
    crossings: tuple[Crossing, ...]
    possible: tuple[Possible, ...]
    figures: Mapping[str, Figure]
    unmeasured: tuple[tuple[float, float], ...]
    recording_unmeasured: tuple[tuple[float, float], ...]
    invalid: tuple[tuple[str, Message], ...]
    cautions: tuple[Message, ...]
    lines: tuple[str, ...]

    @property
    def measured(self) -> bool:
        """Whether heart rate was measured at all, so that something can be said about the ceiling."""
        return _value(self.figures, "time_above_ceiling") is not None or bool(self.possible)


_WORDS = Words("en", terminal=True)


def safety_of(student: Student, trial: Trial) -> Safety:
    """What a trial's sheet says about exertion; ``lines`` are the main sentences."""
    from ..metrics import choose_basis

    known = as_messages(choose_basis(conditions=student.conditions).cautions())
    figures: Mapping[str, Figure] = {} if trial.sheet is None else trial.sheet.figures
    made = None if trial.sheet is None else trial.sheet.provenance
    used = made and made.ceiling_bpm
    above = () if made is None else made.above_ceiling
    start = on_the_wall(datetime.fromisoformat(made.start), trial.zone) if made and made.start else None
    crossings = tuple(_crossing(span, start, above) for span in _joined(above))
    possible = _possible(() if made is None else made.possible_crossings, start)
    refused = () if made is None else made.refused
    invalid = tuple(
        (name, figure.reason) for name, figure in figures.items() if figure.reason is not None and name in refused
    )
    changed = _changed(used, student)
    gaps = () if made is None else made.recording_unmeasured
    return Safety(
        student=student,
        trial=trial,
        ceiling_bpm=used,
        changed=changed,
        crossings=crossings,
        possible=possible,
        figures={name: figures[name] for name in (*SHOWN, *CEILING) if name in figures},
        unmeasured=() if made is None else made.unmeasured,
        recording_unmeasured=gaps,
        invalid=invalid,
        cautions=tuple(dict.fromkeys((*known, *(() if trial.sheet is None else trial.sheet.cautions)))),
        lines=(*_about_ceiling(student, changed), *_lines(used, crossings, possible, figures, gaps)),
    )


def _changed(used: float | None, student: Student) -> str:
    """A ceiling that was set after the sheet was made, or taken away."""
    now = student.ceiling
    if used is not None and (now is None or now.bpm != used):
        today = f"now it is {now.bpm:g} /min" if now else "now there is none"
        return f"The sheet counts above {used:g} /min; {today}. `ownmark recompute` brings the sheet up to date."
    if used is None and now is not None:
        return "The ceiling was set after this trial's sheet was made. `ownmark recompute` brings the sheet up to date."
    return ""


def _about_ceiling(student: Student, changed: str) -> list[str]:
    """Which ceiling there is, and whether the sheet knows it."""
    now = student.ceiling
    if now is None:
        lines = ["No ceiling is written down for this student."]
    else:
        when = f" on {now.set_on.isoformat()}" if now.set_on else ""
        lines = [f"Ceiling {now.bpm:g} /min, set by the {now.set_by}{when}."]
    return [*lines, changed] if changed else lines


def _lines(
    used: float | None,
    crossings: Sequence[Crossing],
    possible: Sequence[Possible],
    figures: Mapping[str, Figure],
    gaps: Sequence[tuple[float, float]],
) -> list[str]:
    """The crossings in sentences, certain ones first, and what was not measured beside them."""
    above = figures.get("time_above_ceiling")
    nothing = _value(figures, "coverage_heart_rate" if used is None else "time_above_ceiling") is None
    if nothing and not possible:
        return [_WORDS.get("safety.not_measured")]
    if used is None:
        return []
    lines = []
    if crossings:
        times = "once" if len(crossings) == 1 else f"{len(crossings)} times"
        dips = f" (dips of up to {nearest(DIP_S)} s within)"
        lines.append(f"Above the ceiling {times}, {seconds_between(above)} in all{dips}:")
        lines += [f"  {crossing.words()}" for crossing in crossings]
    elif possible:
        lines.append(_WORDS.get("safety.no_certain"))
    else:
        first = figures.get("first_above_ceiling")
        lines.append((first and first.note) or _WORDS.get("safety.no_crossing"))
    if possible:
        lines.append(f"{_WORDS.get('safety.possible')}, in readings that are in no figure:")
        lines += [f"  {each.words()}" for each in possible]
    return [*lines, *([unmeasured_words(gaps, _WORDS)] if gaps else [])]


def seconds_between(figure: Figure | None) -> str:
    """A length of time with its bounds where they say more [s]."""
    if figure is None or figure.value is None:
        return "an unknown time"
    value, low, high = figure.value, figure.low, figure.high
    text = f"{nearest(value)} s"
    if low is None or high is None or nearest(low) == nearest(high):
        return text
    return f"{text} ({nearest(low)} to {nearest(high)} s with what was not measured)"


def unmeasured_words(gaps: Sequence[tuple[float, float]], words: Words) -> str:
    """How much of the recording has no heart rate to go by, and where: the longest stretches, in order."""
    longest = sorted(sorted(gaps, key=lambda gap: gap[0] - gap[1])[:MOST_SPANS])
    spans = words.listed([words.get("form.range", low=clock(begin), high=clock(end)) for begin, end in longest])
    key = "safety.unmeasured_more" if len(gaps) > MOST_SPANS else "safety.unmeasured"
    return words.get(key, length=words.duration(sum(b - a for a, b in gaps)), spans=spans)


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


def _possible(found: Sequence[PossibleCrossing], start: datetime | None) -> tuple[Possible, ...]:
    """Possible crossings, those close together as one with every reason."""
    spans = [(each.from_s, each.until_s) for each in found]
    read, made = _joined(spans, 0.0), []  # two sensors may tell of the same moment
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
