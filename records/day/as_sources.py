"""The day's presses as what a plan knows beforehand, so that the bag's files find their places by themselves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import NotOneTrial
from ...ingest.clock_shift import shifted
from ...ingest.recording import ACCELERATION, Recording, Span
from ..plan.known import sources_of
from ..plan.names import words_in
from ..plan.seen import Seen, clock_at_start
from ..plan.sources import Listed, Sources
from ..plan.whose import belongs
from ..plan.written import Written
from ..protocol import Protocol
from ..wearing import Worn
from .clock_checks import RIGHT_S, Shift, shift_of
from .happened import DayTest, Happened

if TYPE_CHECKING:
    from ..store.logbook import Logbook


@dataclass(frozen=True, slots=True)
class OnTheClock:
    """The files of the day with their clocks put right.

    seen : in their order, those whose clock was off as they are on the right one
    shifts : what was added to the clock, by SHA-256 [s]
    suggested : what a check suggests and nobody has looked at yet, by SHA-256
    """

    seen: tuple[Seen, ...]
    shifts: Mapping[str, float] = field(default_factory=dict[str, float])
    suggested: Mapping[str, Shift] = field(default_factory=dict[str, Shift])


def on_the_clock(day: Happened, seen: Sequence[Seen], zone: str | None) -> OnTheClock:
    """Put right the clock of every file of which a person, or a check of its strap, says how far it was off.

    A check counts where it is sure; what a person typed goes before it, and no shift is an answer too.
    """
    typed = {sha256: by for test in day.tests if test.draft for sha256, by in test.draft.shifts.items()}
    laid: list[Seen] = []
    shifts: dict[str, float] = {}
    suggested: dict[str, Shift] = {}
    for each in seen:
        found = Shift(typed[each.sha256], True) if each.sha256 in typed else _checked(day, each, zone)
        moved = _moved(each, found.seconds) if found is not None and found.sure and found.seconds else None
        if found is not None and not found.sure:
            suggested[each.sha256] = found
        if found is not None and moved is not None:
            shifts[each.sha256] = found.seconds
        laid.append(moved or each)
    return OnTheClock(tuple(laid), shifts, suggested)


def as_sources(
    logbook: "Logbook",
    day: Happened,
    seen: Sequence[Seen] = (),
    *,
    zone: str | None,
    today: date | None = None,
    paths: Mapping[str, Path] | None = None,
) -> Sources:
    """What the plan knows of a day: the class, its straps, when each student began and worked, the notes.

    seen : the files, on the right clock; only where one strap is handed on do they say between whom
    paths : where each received file lies, by its SHA-256; files that a row names are that student's
    """
    protocols = {each.name: each for each in logbook.protocols()}
    tests = [each for each in day.tests if each.turn == 1]
    roster = tuple(Listed(each.code, each.protocol, each.strap) for each in tests)
    works = {each.code: text for each in tests if (text := work_text(each))}
    starts = {each.code: at for each in tests if (at := start_of(each, protocols.get(each.protocol or ""))) is not None}
    notes = {each.code: text for each in tests if (text := notes_text(each))}
    worn = tuple(worn_by(tests, protocols, seen, zone))
    found = sources_of(logbook, roster, worn, starts, zone, today, Written(works, notes))
    return replace(found, given=_given(day, paths or {}), stored=_stored(day, paths or {}))


def work_text(test: DayTest) -> str:
    """The work as it stands on the form of a day, ``9:05:12-9:11:00``; empty unless both its ends were pressed."""
    begin, end = test.presses.get("work_begins"), test.presses.get("work_ends")
    return f"{clock_text(begin.at)}-{clock_text(end.at)}" if begin and end and begin.at < end.at else ""


def start_of(test: DayTest, protocol: Protocol | None) -> float | None:
    """When the trial began, with its rest [s after midnight]; None: it was not pressed.

    Where the work alone was pressed, and not its end, the protocol says how long the rest before it was.
    """
    rest, work = test.presses.get("rest_begins"), test.presses.get("work_begins")
    if rest is not None:
        return of_day(rest.at)
    if work is None or work_text(test):
        return None
    return of_day(work.at) - ((protocol.rest_s or 0.0) if protocol else 0.0)


def notes_text(test: DayTest) -> str:
    """Every note of the test in one line."""
    return " ".join(" ".join(each.text.split()) for each in test.notes)


def worn_by(
    tests: Sequence[DayTest], protocols: Mapping[str, Protocol], seen: Sequence[Seen], zone: str | None
) -> list[Worn]:
    """Who wore which strap; where it was handed on, from when until when, by the presses and the files between them."""
    by_strap: dict[str, list[DayTest]] = {}
    for each in tests:
        if each.strap:
            by_strap.setdefault(each.strap.casefold(), []).append(each)
    found: list[Worn] = []
    for wearers in by_strap.values():
        spans = [(span, each) for each in wearers if (span := _pressed(each, protocols)) is not None]
        spans.sort(key=lambda pair: pair[0])
        label = wearers[0].strap or ""
        files = [span for each in seen if is_of(each, label) and (span := each.clock_span(zone)) is not None]
        apart = [_between(one[0][1], other[0][0], files) for one, other in pairwise(spans)]
        times = ["", *map(_hms, apart), ""]
        turns = zip(spans, pairwise(times), strict=False)  # nobody pressed: no turn
        found += [Worn(label, each.code, since, until) for (_, each), (since, until) in turns]
        pressed = {each.code for _, each in spans}
        found += [Worn(label, each.code) for each in wearers if each.code not in pressed]
    return found


def is_of(seen: Seen, strap: str) -> bool:
    """Whether a file is clearly named after a strap."""
    return belongs(seen, Worn(strap, ""), set(words_in(seen.path.stem, [strap])))


def clock_text(at: datetime) -> str:
    """A time as it is written on the form: ``9:05:12``."""
    return f"{at.hour}:{at.minute:02d}:{at.second:02d}"


def of_day(at: datetime) -> float:
    """Seconds after midnight."""
    return at.hour * 3600.0 + at.minute * 60.0 + at.second


def _pressed(test: DayTest, protocols: Mapping[str, Protocol]) -> Span | None:
    """From the first press until the last, recovery included [s after midnight]; None: nothing was pressed."""
    if not test.presses:
        return None
    protocol = protocols.get(test.protocol or "")
    times = [of_day(each.at) for each in test.presses.values()]
    if "work_ends" in test.presses or protocol is None:
        return min(times), max(times) + ((protocol.recovery_s or 0.0) if protocol else 0.0)
    begin = start_of(test, protocol) or 0.0
    planned = (protocol.rest_s or 0.0) + (protocol.work_s or 0.0) + (protocol.recovery_s or 0.0)
    return begin, max(*times, begin + planned)


def _between(end: float, begin: float, files: Sequence[Span]) -> float:
    """The moment at which a strap was handed on: between two of its files if there is such a gap, else half-way."""
    low, high = min(end, begin), max(end, begin)
    ends = [each[1] for each in files if low - _AROUND_S <= each[1] <= high + _AROUND_S]
    begins = [each[0] for each in files if low - _AROUND_S <= each[0] <= high + _AROUND_S]
    gaps = [(last, first) for last in ends for first in begins if last <= first]
    return sum(min(gaps, key=lambda gap: gap[1] - gap[0])) / 2 if gaps else (low + high) / 2


_AROUND_S = 120.0
"""A strap is taken off, and put on, within so much of the presses [s]. Our own choice, as for the list of straps."""


def _hms(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _checked(day: Happened, seen: Seen, zone: str | None) -> Shift | None:
    """What the checks of a file's strap say of its clock; None: nothing, or that it is right."""
    recording = seen.recording
    checks = next((checks for strap, checks in day.checks.items() if is_of(seen, strap)), ())
    at_start = None if recording is None else clock_at_start(recording, zone)
    if not checks or recording is None or at_start is None:
        return None
    pressed = [at_start + mark.time_s for mark in recording.marks if mark.kind == "button"]
    tapped = [at_start + each for each in _taps(recording)] if any(each.how == "taps" for each in checks) else []
    found = shift_of(checks, pressed, tapped)
    return None if found is None or abs(found.seconds) < RIGHT_S else found


def _taps(recording: Recording) -> list[float]:
    """The first of each three taps [s from the recording's start]."""
    from ...metrics.motion.grid import to_grid
    from ...metrics.motion.taps import find_taps

    sensor = next((each for each in recording.all(ACCELERATION) if len(each)), None)
    grid = None if sensor is None else to_grid(sensor)
    return [] if grid is None else [each.time_s[0] for each in find_taps(grid)]


def _moved(seen: Seen, seconds: float) -> Seen | None:
    """A file with so much added to its clock; None: it has none."""
    if seen.recording is None:
        return None
    try:
        return replace(seen, recording=shifted(seen.recording, seconds))
    except NotOneTrial:
        return None


def _given(day: Happened, paths: Mapping[str, Path]) -> dict[Path, tuple[str, ...]]:
    """Whose each file is by the rows that name it."""
    found: dict[Path, tuple[str, ...]] = {}
    for test in day.tests:
        for sha256 in (test.draft.files if test.draft and test.turn == 1 else None) or ():
            if sha256 in paths:
                path = paths[sha256]
                found[path] = tuple(dict.fromkeys((*found.get(path, ()), test.code)))
    return found


def _stored(day: Happened, paths: Mapping[str, Path]) -> frozenset[tuple[str, str]]:
    """Strap and student of files that are in the logbook and left the folder: they still tell its wearers apart."""
    gone = [
        (test, Seen(Path(file.name)))
        for test in day.tests
        for file in day.files
        if test.turn == 1 and test.strap and file.sha256 in test.files and file.sha256 not in paths
    ]
    return frozenset(
        (test.strap.casefold(), test.code) for test, file in gone if test.strap and is_of(file, test.strap)
    )
