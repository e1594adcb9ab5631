"""What a therapist asks of a trial: the ceiling, when it was crossed, recovery, what was not measured, conditions.

It tells what was recorded and never that exercise is safe: a recording cannot know that.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from ..ingest.moments import clock_text, on_the_wall
from .student import Student
from .trial import Trial

CEILING = ("time_above_ceiling", "longest_above_ceiling", "first_above_ceiling")
DIP_S = 10.0
"""Crossings that lie this close together are shown as one [s]. Common practice, no source."""
SHOWN = ("heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "recovery_60s", "coverage_heart_rate")


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
        length = f"{self.until_s - self.from_s:.0f} s, {self.above_s:.0f} s of it above"
        span = f"{clock_text(self.from_s)} to {clock_text(self.until_s)} ({length})"
        zone = " UTC" if self.utc else ""
        return span if self.from_clock is None else f"{self.from_clock} to {self.until_clock}{zone}, {span}"


@dataclass(frozen=True, slots=True)
class Safety:
    """What is to be told of one trial. ``changed`` says where the sheet rests on another ceiling than today's."""

    student: Student
    trial: Trial
    ceiling_bpm: float | None
    changed: str
    crossings: tuple[Crossing, ...]
    figures: Mapping[str, Mapping[str, Any]]
    unmeasured: tuple[tuple[float, float], ...]
    invalid: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    lines: tuple[str, ...]


def safety_of(student: Student, trial: Trial) -> Safety:
    """What a trial's sheet says about exertion; ``lines`` are the main sentences."""
    sheet: Mapping[str, Any] = trial.sheet or {}
    from ..metrics import choose_basis

    known = choose_basis(conditions=student.conditions).cautions()
    figures = sheet.get("figures", {})
    provenance = sheet.get("provenance", {})
    used = provenance.get("ceiling_bpm")
    stretches = _joined(provenance.get("above_ceiling", ()))
    above = provenance.get("above_ceiling", ())
    start = provenance.get("start")
    start = on_the_wall(datetime.fromisoformat(start), trial.zone) if start else None
    crossings = tuple(_crossing(span, start, above) for span in stretches)
    unmeasured = tuple((float(begin), float(end)) for begin, end in provenance.get("unmeasured", ()))
    invalid = tuple(
        (name, str(figure.get("note") or "Not given."))
        for name, figure in figures.items()
        if figure.get("value") is None and name in provenance.get("refused", ())
    )
    changed = _changed(used, student)
    return Safety(
        student=student,
        trial=trial,
        ceiling_bpm=used,
        changed=changed,
        crossings=crossings,
        figures={name: figures[name] for name in (*SHOWN, *CEILING) if name in figures},
        unmeasured=unmeasured,
        invalid=invalid,
        cautions=tuple(dict.fromkeys((*known, *sheet.get("cautions", ())))),
        lines=tuple(_lines(student, used, crossings, figures, changed)),
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


def _lines(
    student: Student,
    used: float | None,
    crossings: tuple[Crossing, ...],
    figures: Mapping[str, Mapping[str, Any]],
    changed: str,
) -> list[str]:
    """The ceiling and its crossings in sentences."""
    now = student.ceiling
    lines = []
    if now is not None:
        when = f" on {now.set_on.isoformat()}" if now.set_on else ""
        lines.append(f"Ceiling {now.bpm:g} /min, set by the {now.set_by}{when}.")
    else:
        lines.append("No ceiling is written down for this student.")
    if changed:
        lines.append(changed)
    covered = figures.get("coverage_heart_rate", {}).get("value")
    if covered is None:
        lines.append("Heart rate was not measured: nothing can be said about the ceiling.")
        return lines
    if used is None:
        return lines
    if crossings:
        above = figures.get("time_above_ceiling", {})
        most = above.get("high")
        total = f"{above['value']:.0f} s" if above.get("value") is not None else "an unknown time"
        more = f", up to {most:.0f} s with what was not measured" if most and most > (above.get("value") or 0) else ""
        times = "once" if len(crossings) == 1 else f"{len(crossings)} times"
        dips = f" (dips of up to {DIP_S:.0f} s within)"
        lines.append(f"Above the ceiling {times}, {total} in all{more}{dips}:")
        lines += [f"  {crossing.words()}" for crossing in crossings]
    else:
        note = figures.get("first_above_ceiling", {}).get("note")
        lines.append(str(note or "No crossing of the ceiling was recorded in the time that was measured."))
    return lines


def _joined(spans: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    """Stretches with short dips between them as one: a heart that hovers about the limit is not 25 events."""
    joined: list[tuple[float, float]] = []
    for begin, end in spans:
        if joined and begin - joined[-1][1] <= DIP_S:
            joined[-1] = (joined[-1][0], float(end))
        else:
            joined.append((float(begin), float(end)))
    return joined


def _crossing(span: tuple[float, float], start: datetime | None, above: Sequence[Sequence[float]]) -> Crossing:
    """A stretch with its clock times."""
    begin, end = float(span[0]), float(span[1])
    inside = float(sum(until - since for since, until in above if since >= begin and until <= end))
    if start is None:
        return Crossing(begin, end, None, None, inside)
    first, last = (start + timedelta(seconds=seconds) for seconds in (begin, end))
    utc = start.tzinfo is not None and not start.utcoffset()
    return Crossing(begin, end, f"{first:%H:%M:%S}", f"{last:%H:%M:%S}", inside, utc)
