"""What a class's day is now: its entries, folded. Pure; the same entries always give the same day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Literal

from ..day_entry import (
    Assisted,
    ClockCheck,
    Entry,
    Exertion,
    FileIn,
    Listed,
    Noted,
    Press,
    PressKind,
    PutAway,
    RowDraft,
    Stopped,
    Stored,
    Undone,
)
from ..protocol import Assistance


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that was entered, and when. ``number`` names the entry, so that it can be undone."""

    number: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Stop(Moment):
    """The student stopped; ``why`` is empty until somebody writes it."""

    why: str


@dataclass(frozen=True, slots=True)
class Help(Moment):
    """Somebody helped from ``at`` on; ``until`` None: it goes on, or nobody pressed."""

    until: datetime | None
    level: Assistance | None


@dataclass(frozen=True, slots=True)
class Note(Moment):
    """A note."""

    text: str


@dataclass(frozen=True, slots=True)
class Effort(Moment):
    """Perceived exertion."""

    value: float
    scale: Literal["6-20", "0-10", "pictures 0-10"]


@dataclass(frozen=True, slots=True)
class DayTest:
    """A student's test of the day, as far as it has come.

    turn : the student's first, second … of that day
    listed : the entry that put the student on the list; None: only something else was entered
    presses : when each phase was pressed; a phase that begins again takes away what came behind it
    assisted : in the order in which it began
    draft : what somebody typed for the row; ``drafted``: the entry that it stands in
    trials : the numbers under which it was stored, and ``files`` the received files that were
    entries : the numbers of all that was entered of it; ``listings`` of what put it on the list and changed it there
    """

    code: str
    turn: int = 1
    listed: int | None = None
    protocol: str | None = None
    strap: str | None = None
    presses: Mapping[PressKind, Moment] = field(default_factory=dict[PressKind, Moment])
    stops: tuple[Stop, ...] = ()
    assisted: tuple[Help, ...] = ()
    exertion: Effort | None = None
    notes: tuple[Note, ...] = ()
    draft: RowDraft | None = None
    drafted: int | None = None
    trials: tuple[int, ...] = ()
    files: tuple[str, ...] = ()
    entries: tuple[int, ...] = ()
    listings: tuple[int, ...] = ()

    @property
    def state(self) -> Literal["waiting", "resting", "working", "ended"]:
        """Where the student is by the presses."""
        last = max(self.presses, key=_ORDER.__getitem__, default=None)
        return "waiting" if last is None else _STATES[last]

    @property
    def stored(self) -> bool:
        """Whether its row is in the logbook."""
        return bool(self.trials)

    @property
    def begun(self) -> bool:
        """Whether anything of it was entered that is not in the logbook yet."""
        entered = (self.presses, self.stops, self.assisted, self.exertion, self.notes, self.draft)
        return not self.stored and any(each is not None and each != () and each != {} for each in entered)


@dataclass(frozen=True, slots=True)
class Check(Moment):
    """A strap's clock held against the screen; as ``day_entry.ClockCheck``."""

    how: Literal["button", "taps", "shown"]
    shown_s: float | None


@dataclass(frozen=True, slots=True)
class File(Moment):
    """A received file, under the name by which it came first.

    again : other names under which the same bytes came later
    put_away : the entry that put it away; None: it is not
    """

    sha256: str
    name: str
    size: int
    again: tuple[str, ...] = ()
    put_away: int | None = None


@dataclass(frozen=True, slots=True)
class Happened:
    """The day.

    tests : in the order in which the students came onto the list
    checks : of each strap's clock, by the strap's label as it was written first
    last : the number of the last entry, 0 without any
    undone : the numbers of entries that do not count
    """

    day: date
    tests: tuple[DayTest, ...] = ()
    checks: Mapping[str, tuple[Check, ...]] = field(default_factory=dict[str, tuple[Check, ...]])
    files: tuple[File, ...] = ()
    last: int = 0
    undone: frozenset[int] = frozenset()

    def test(self, code: str, turn: int = 1) -> DayTest | None:
        """A student's test; None: nothing was entered of it."""
        return next((each for each in self.tests if (each.code, each.turn) == (code, turn)), None)

    def file(self, sha256: str) -> File | None:
        """A received file."""
        return next((each for each in self.files if each.sha256 == sha256), None)

    @property
    def open_files(self) -> tuple[File, ...]:
        """Files that are neither in the logbook nor put away."""
        stored = {sha256 for test in self.tests for sha256 in test.files}
        return tuple(each for each in self.files if each.put_away is None and each.sha256 not in stored)

    @property
    def open(self) -> bool:
        """Whether something waits: a file, or a student of whom something was entered and nothing is stored."""
        return bool(self.open_files) or any(each.begun for each in self.tests)


_ORDER: Mapping[PressKind, int] = {"rest_begins": 0, "work_begins": 1, "work_ends": 2}
_STATES: Mapping[PressKind, Literal["resting", "working", "ended"]] = {
    "rest_begins": "resting",
    "work_begins": "working",
    "work_ends": "ended",
}


def happened(day: date, entries: Sequence[Entry]) -> Happened:
    """Fold the entries of a day, in the order of their numbers."""
    of_day = sorted((each for each in entries if each.day == day and each.number), key=lambda each: each.number or 0)
    void = voided(of_day)
    counting = [each for each in of_day if each.number not in void]
    by_test: dict[tuple[str, int], list[Entry]] = {}
    for each in counting:
        if each.code is not None and not isinstance(each.what, FileIn | PutAway | ClockCheck | Undone):
            by_test.setdefault((each.code, each.what.turn), []).append(each)
    last = max((each.number or 0 for each in of_day), default=0)
    tests = tuple(_test(code, turn, group) for (code, turn), group in by_test.items())
    return Happened(day, tests, _checks(counting), _files(counting), last, void)


def by_day(entries: Iterable[Entry]) -> dict[date, Happened]:
    """Each day of some entries, the newest first."""
    found: dict[date, list[Entry]] = {}
    for each in entries:
        found.setdefault(each.day, []).append(each)
    return {day: happened(day, found[day]) for day in sorted(found, reverse=True)}


def voided(entries: Sequence[Entry]) -> frozenset[int]:
    """The numbers of what was undone; an undo that was undone itself undoes nothing.

    entries : in the order of their numbers
    """
    void = set[int]()
    for each in reversed(entries):
        if isinstance(each.what, Undone) and each.number not in void and each.what.entry < (each.number or 0):
            void.add(each.what.entry)
    return frozenset(void)


def _test(code: str, turn: int, entries: Sequence[Entry]) -> DayTest:
    """A student's test out of its entries."""
    listings = tuple(each.number or 0 for each in entries if isinstance(each.what, Listed))
    found = DayTest(code, turn, entries=tuple(each.number or 0 for each in entries), listings=listings)
    for each in entries:
        found = _with(found, each)
    return replace(found, presses=_presses(entries), assisted=_assisted(entries))


def _with(test: DayTest, each: Entry) -> DayTest:
    """The test with one entry more; presses and help are looked at together."""
    number, at = each.number or 0, each.at
    match each.what:
        case Listed(protocol=protocol, strap=strap):
            return replace(test, listed=number, protocol=protocol, strap=strap)
        case Stopped(why=why):
            return replace(test, stops=_by_time(*test.stops, Stop(number, at, why)))
        case Exertion(value=value, scale=scale):
            return replace(test, exertion=Effort(number, at, value, scale))
        case Noted(text=text):
            return replace(test, notes=(*test.notes, Note(number, at, text)))
        case RowDraft() as draft:
            return replace(test, draft=draft, drafted=number)
        case Stored(trial=trial, files=files):
            trials = tuple(dict.fromkeys((*test.trials, trial)))
            return replace(test, trials=trials, files=tuple(dict.fromkeys((*test.files, *files))))
        case _:
            return test


def _by_time(*stops: Stop) -> tuple[Stop, ...]:
    return tuple(sorted(stops, key=lambda each: (each.at, each.number)))


def _presses(entries: Sequence[Entry]) -> dict[PressKind, Moment]:
    """When each phase was pressed; by the clock, because a press can arrive late."""
    pressed = [(each.at, each.number or 0, each.what) for each in entries if isinstance(each.what, Press)]
    found: dict[PressKind, Moment] = {}
    for at, number, press in sorted(pressed, key=lambda each: each[:2]):
        what = press.what
        found = {kind: moment for kind, moment in found.items() if _ORDER[kind] < _ORDER[what]}
        found[what] = Moment(number, at)
    return found


def _assisted(entries: Sequence[Entry]) -> tuple[Help, ...]:
    """Each help from its beginning to the next press that ends it."""
    pressed = [(each.at, each.number or 0, each.what) for each in entries if isinstance(each.what, Assisted)]
    found: list[Help] = []
    for at, number, what in sorted(pressed, key=lambda each: each[:2]):
        if what.what == "begins":
            found.append(Help(number, at, None, what.level))
        elif found and found[-1].until is None:
            found[-1] = replace(found[-1], until=at, level=what.level or found[-1].level)
    return tuple(found)


def _checks(entries: Sequence[Entry]) -> dict[str, tuple[Check, ...]]:
    """Checks of each strap's clock; a strap is the same however its label is written."""
    labels: dict[str, str] = {}
    found: dict[str, tuple[Check, ...]] = {}
    for each in entries:
        if isinstance(each.what, ClockCheck):
            label = labels.setdefault(each.what.strap.casefold(), each.what.strap)
            check = Check(each.number or 0, each.at, each.what.how, each.what.shown_s)
            found[label] = (*found.get(label, ()), check)
    return found


def _files(entries: Sequence[Entry]) -> tuple[File, ...]:
    """The received files; a file that comes again after it was put away is needed after all."""
    found: dict[str, File] = {}
    for each in entries:
        if isinstance(each.what, FileIn):
            came, before = each.what, found.get(each.what.sha256)
            if before is None:
                found[came.sha256] = File(each.number or 0, each.at, came.sha256, came.name, came.size)
                continue
            others = dict.fromkeys((*before.again, *([came.name] if came.name != before.name else [])))
            found[came.sha256] = replace(before, again=tuple(others), put_away=None)
        elif isinstance(each.what, PutAway) and each.what.sha256 in found:
            found[each.what.sha256] = replace(found[each.what.sha256], put_away=each.number)
    return tuple(found.values())
