"""The rows of a class's day: what the plan found with what was pressed, typed and answered, and what is still asked."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Literal

from ...ingest.clock_shift import written_shift
from ...words.message import Message, Quoted
from ..class_table import Row
from ..day_entry import RowDraft
from ..entry import field_named
from ..guards import at_clock
from ..plan.day import Plan, plan_day
from ..plan.names import words_in
from ..plan.row import Phases, Planned
from ..plan.seen import Seen
from ..plan.sources import Sources
from ..plan.whose import owners_of_all
from ..protocol import Protocol
from ..row_outcome import CHECKED
from ..wearing import Wearing, wearings_of
from . import messages as say
from .answers import (
    DAY_CHECKS,
    OF_TABLES,
    OWNER_CHECKS,
    PROTOCOL_CHECKS,
    Around,
    Asked,
    asked,
    inner,
    is_of_phases,
)
from .as_sources import OnTheClock, clock_text, is_of, notes_text, of_day, work_text
from .happened import DayTest, Happened

PHASES = ("rest_phase", "work", "recovery")
NO_DRAFT = RowDraft()


@dataclass(frozen=True, slots=True)
class DayRow:
    """A student's row of the day, or a file of which nobody knows whose it is.

    code : None where nobody knows
    files : SHA-256 of each
    texts : by a trial's field or a hand measure: what would go into the logbook
    proposed : the same without anything that was typed for the row
    worn : when its student wore the strap, and others wore it
    asked : what is open; empty: nothing
    row : as it goes in, where it is ready
    state : stored; ready; asked: something is open; empty: there is neither file nor result
    trials : the numbers under which it is stored
    """

    code: str | None
    turn: int
    state: Literal["stored", "ready", "asked", "empty"]
    files: tuple[str, ...] = ()
    texts: Mapping[str, str] | None = None
    asked: tuple[Asked, ...] = ()
    row: Row | None = None
    trials: tuple[int, ...] = ()
    proposed: Mapping[str, str] | None = None
    worn: tuple[Wearing, ...] = ()


@dataclass(frozen=True, slots=True)
class Bag:
    """The received files of the day that are at hand, on the right clock.

    paths : where each lies, by its SHA-256
    """

    clock: OnTheClock
    paths: Mapping[str, Path]

    def seen(self, sha256: str) -> Seen | None:
        """A file as it was read."""
        path = self.paths.get(sha256)
        return next((each for each in self.clock.seen if each.path == path), None)

    def hashes(self, paths: Sequence[Path]) -> tuple[str, ...]:
        """The received files that lie there."""
        by_path = {path: sha256 for sha256, path in self.paths.items()}
        return tuple(by_path[each] for each in paths if each in by_path)


def planned(day: Happened, bag: Bag, sources: Sources, before: Phases | None = None) -> Plan:
    """The plan of a day whose rows may name their files; a file that its own student's row leaves out is nobody's."""
    given = dict(sources.given)
    named = {test.code: test.draft.files for test in day.tests if test.draft and test.turn == 1}
    for each, owners in zip(bag.clock.seen, owners_of_all(bag.clock.seen, sources), strict=True):
        (sha256,) = bag.hashes([each.path]) or ("",)
        codes = [owner.code for owner in owners if owner.code is not None]
        left = [code for code in codes if _may_have(named.get(code), sha256)]
        if left != codes:
            given[each.path] = tuple(left)
    return plan_day(bag.clock.seen, replace(sources, given=given), before)


def _may_have(named: Sequence[str] | None, sha256: str) -> bool:
    """Whether a row that names these files, or none, has one of its own accord."""
    return named is None or sha256 in named


def rows_of_day(day: Happened, plan: Plan, bag: Bag, sources: Sources) -> tuple[DayRow, ...]:
    """Every row of the day: the students in the order of the list, then the files of nobody."""
    by_code = {row.code: row for row in plan.rows if row.code is not None}
    rows = [_of_test(day, test, by_code.get(test.code) if test.turn == 1 else None, bag, sources) for test in day.tests]
    known = {test.code for test in day.tests}
    rows += [_of_test(day, DayTest(code), row, bag, sources) for code, row in by_code.items() if code not in known]
    rows += [_of_nobody(day, row, bag, sources) for row in plan.rows if row.code is None]
    for test in day.tests:
        if test.stored and test.turn == 1 and test.code in by_code:
            rows += _left_over(day, test, by_code[test.code], bag, sources)
    return tuple(rows)


def still_told(remarks: Sequence[Message], day: Happened) -> tuple[Message, ...]:
    """What belongs to no row, without straps whose wearers are all in the logbook already."""
    stored = {test.code for test in day.tests if test.stored}
    return tuple(each for each in remarks if not _of_stored(each, stored))


def _of_stored(remark: Message, stored: set[str]) -> bool:
    students = dict(remark.values).get("students")
    codes = {each.text for each in students if isinstance(each, Quoted)} if isinstance(students, tuple) else set[str]()
    return remark.code == "day_plan.strap_without_file" and bool(codes) and codes <= stored


def needed(rows: Sequence[DayRow]) -> frozenset[str]:
    """The received files that some row still needs."""
    return frozenset(sha256 for row in rows if row.state != "stored" for sha256 in row.files)


def with_own_trials(rows: Sequence[DayRow], owners: Mapping[int, str]) -> tuple[DayRow, ...]:
    """The rows without trials that are another student's by now, or always were.

    owners : the code of each trial that is in the logbook, by its number
    """
    return tuple(
        replace(row, trials=tuple(each for each in row.trials if owners.get(each, row.code) == row.code))
        if row.trials
        else row
        for row in rows
    )


def _of_test(day: Happened, test: DayTest, found: Planned | None, bag: Bag, sources: Sources) -> DayRow:
    """A student's row."""
    draft = test.draft or NO_DRAFT
    if test.stored:
        return DayRow(test.code, test.turn, "stored", test.files, draft.texts, trials=test.trials)
    found = found or Planned(test.code, test.protocol, tuple(bag.paths[each] for each in _drafted(draft, bag)))
    files = bag.hashes(found.files)
    protocol = sources.protocols.get(draft.texts.get("protocol") or found.protocol or "")
    proposed = _proposed(test, found, protocol, day.day)
    texts = laid_over(proposed, draft.texts)
    around = _around(day, test, files, bag, sources)
    still = tuple(_open(day, test, found, draft, protocol, around, bag))
    if not files and not _has_result(texts):
        waits = all(each.code == "day_plan.no_file" for each in still)
        return DayRow(test.code, test.turn, "empty" if waits else "asked", (), texts, still, proposed=proposed)
    worn = _worn(test, sources)
    if still or protocol is None:
        return DayRow(test.code, test.turn, "asked", files, texts, still, proposed=proposed, worn=worn)
    row = _row(test, found, draft, texts, bag, worn)
    return DayRow(test.code, test.turn, "ready", files, texts, row=row, proposed=proposed, worn=worn)


def _drafted(draft: RowDraft, bag: Bag) -> list[str]:
    return [each for each in draft.files or () if each in bag.paths]


def _of_nobody(day: Happened, found: Planned, bag: Bag, sources: Sources) -> DayRow:
    """A file of which nobody knows whose it is: asked, and never stored as it is."""
    files = bag.hashes(found.files)
    around = Around(
        day.day,
        None,
        files,
        tuple(each for each in files if (seen := bag.seen(each)) and seen.recording),
        candidates=_candidates(files, bag, sources),
    )
    settled = OF_TABLES | PROTOCOL_CHECKS if around.usable else OF_TABLES | PROTOCOL_CHECKS | OWNER_CHECKS
    checks = [each for each in found.checks if inner(each).code not in settled] or list(found.checks)
    return DayRow(None, 1, "asked", files, {}, tuple(asked(each, around) for each in checks))


def _left_over(day: Happened, test: DayTest, found: Planned, bag: Bag, sources: Sources) -> list[DayRow]:
    """Files that came for a student whose row is stored already: each waits for somebody."""
    stored = {sha256 for each in day.tests if each.code == test.code for sha256 in each.files}
    rows: list[DayRow] = []
    for sha256 in bag.hashes(found.files):
        if sha256 not in stored:
            around = Around(day.day, None, (sha256,), candidates=_candidates((sha256,), bag, sources))
            question = asked(say.day_row_left_over(Quoted(test.code)), around)
            rows.append(DayRow(None, 1, "asked", (sha256,), {}, (question,)))
    return rows


def _around(day: Happened, test: DayTest, files: tuple[str, ...], bag: Bag, sources: Sources) -> Around:
    usable = tuple(each for each in files if (seen := bag.seen(each)) is not None and _usable(seen))
    return Around(
        day.day,
        test.code,
        files,
        usable,
        candidates=_candidates(files, bag, sources),
        protocols=tuple(sources.protocols),
        listed=test.listed,
    )


def _usable(seen: Seen) -> bool:
    return seen.recording is not None and not any(each.code == "day_plan.empty" for each in seen.checks)


def _candidates(files: Sequence[str], bag: Bag, sources: Sources) -> tuple[str, ...]:
    """Students whose a file may be: those of its name and its strap first, then the rest of the class."""
    seen = [each for sha256 in files if (each := bag.seen(sha256)) is not None]
    named = [code for each in seen for code in words_in(each.path.stem, sources.expected)]
    wearers = [worn.code for each in seen for worn in sources.worn if worn.strap and is_of(each, worn.strap)]
    return tuple(code for code in dict.fromkeys((*named, *wearers, *sources.expected)) if code)


def _open(
    day: Happened,
    test: DayTest,
    found: Planned,
    draft: RowDraft,
    protocol: Protocol | None,
    around: Around,
    bag: Bag,
) -> Iterator[Asked]:
    """What is still asked of a row: neither looked at nor settled by what was typed."""
    for message in (*found.checks, *_own(day, test, found, draft, around, bag)):
        code = inner(message).code
        settled = (
            code in OF_TABLES
            or (code in OWNER_CHECKS and draft.files is not None)
            or (code == "day_plan.two_files" and draft.files is not None)
            or (code in PROTOCOL_CHECKS and "protocol" in draft.texts)
            or (code in DAY_CHECKS and "on" in draft.texts)
            or (is_of_phases(code) and "work" in draft.texts)
            or (code == "day_plan.seen" and _is_of_the_day(inner(message), day))
            or (code == "day_plan.no_file" and (_has_result(draft.texts) or _by_hand(protocol) or bool(around.files)))
        )
        question = asked(message, around)
        if not settled and question.mark not in draft.checked:
            yield question


def _is_of_the_day(message: Message, day: Happened) -> bool:
    """Whether a recording is in the logbook as trials of this very day: a strap was worn by several."""
    here = {number for test in day.tests for number in test.trials}
    trials = dict(message.values).get("trials")
    numbers = (
        [dict(each.values)["number"] for each in trials if isinstance(each, Message)]
        if isinstance(trials, tuple)
        else []
    )
    return bool(numbers) and all(each in here for each in numbers)


def _own(day: Happened, test: DayTest, found: Planned, draft: RowDraft, around: Around, bag: Bag) -> Iterator[Message]:
    """What a row of the day asks beside its plan."""
    codes = {inner(each).code for each in found.checks}
    if found.on is not None and found.on != day.day and not codes & DAY_CHECKS:
        yield say.day_row_other_day(found.on, day.day)
    for sha256 in around.files:
        shift, seen = bag.clock.suggested.get(sha256), bag.seen(sha256)
        if shift is not None and seen is not None:
            yield say.day_row_clock_off(seen.shown, shift.seconds)
    if "stops" not in draft.texts:
        yield from (say.day_row_stop_why(Quoted(clock_text(each.at))) for each in test.stops if not each.why.strip())
    if "assisted" not in draft.texts and "work_ends" not in test.presses:
        yield from (say.day_row_help_end(Quoted(clock_text(each.at))) for each in test.assisted if each.until is None)


def _by_hand(protocol: Protocol | None) -> bool:
    """Whether a protocol's own result is entered by hand, so that it needs no file."""
    return protocol is not None and protocol.hand_measure(protocol.primary_figure) is not None


def _has_result(texts: Mapping[str, str]) -> bool:
    """Whether a result was entered by hand."""
    return any(text.strip() and (field_named(name) in (None, "distance_m")) for name, text in texts.items())


def laid_over(proposed: Mapping[str, str], typed: Mapping[str, str]) -> dict[str, str]:
    """What was typed over what is proposed; an empty text takes away what is proposed."""
    return {name: text for name, text in {**proposed, **typed}.items() if text.strip()}


def _proposed(test: DayTest, found: Planned, protocol: Protocol | None, day: date) -> dict[str, str]:
    """What would go in if nobody typed anything, by field: what was pressed before what the plan proposes."""
    proposed = {"code": test.code, "protocol": found.protocol or test.protocol or "", "notes": notes_text(test)}
    if found.files:
        proposed |= _phases(test, found, protocol)
        proposed["on"] = "" if found.on is None else found.on.isoformat()
    else:
        proposed["on"] = day.isoformat()
    return laid_over(proposed | _pressed(test), {})


def _phases(test: DayTest, found: Planned, protocol: Protocol | None) -> dict[str, str]:
    """The phases of the plan; of a test that it does not know, those that were pressed."""
    phases = found.phases
    if phases.work or test.turn == 1:
        return dict(zip(PHASES, (phases.rest, phases.work, phases.recovery), strict=True))
    rest, begin, end = (test.presses.get(each) for each in ("rest_begins", "work_begins", "work_ends"))
    text = work_text(test)
    spans = {"work": at_clock(text)} if text else {}
    if rest and begin and rest.at < begin.at:
        spans["rest_phase"] = at_clock(f"{clock_text(rest.at)}-{clock_text(begin.at)}")
    if text and end and protocol is not None and protocol.recovery_s:
        until = of_day(end.at) + protocol.recovery_s
        spans["recovery"] = at_clock(
            f"{clock_text(end.at)}-{int(until // 3600)}:{int(until // 60 % 60):02d}:{int(until % 60):02d}"
        )
    return spans


def _pressed(test: DayTest) -> dict[str, str]:
    """Stops, help and exertion as a class table has them."""
    found: dict[str, str] = {}
    stops = [f"@{clock_text(each.at)} {_one(each.why)}" for each in test.stops if each.why.strip()]
    end = test.presses.get("work_ends")
    ends = [(each.at, each.until or (end.at if end else None)) for each in test.assisted]
    spans = [
        at_clock(f"{clock_text(at)}-{clock_text(until)}") for at, until in ends if until is not None and at < until
    ]
    if stops:
        found["stops"] = "; ".join(stops)
    if spans:
        found["assisted"] = "; ".join(spans)
    if test.exertion is not None:
        found |= {"exertion": f"{test.exertion.value:g}", "exertion_scale": test.exertion.scale}
    levels = [each.level for each in test.assisted if each.level is not None]
    return found | ({"assistance_given": levels[-1]} if levels else {})


def _one(text: str) -> str:
    """A text that stands between semicolons."""
    return " ".join(text.replace(";", ",").split())


def _row(
    test: DayTest, found: Planned, draft: RowDraft, texts: Mapping[str, str], bag: Bag, worn: tuple[Wearing, ...]
) -> Row:
    """The row as a class's table would have it."""
    fields = {name: text for name, text in texts.items() if name not in ("columns", "offset")}
    confirmed = dict.fromkeys((*draft.answers, *((CHECKED,) if draft.checked else ())))
    offsets = [part.rpartition("=") for part in texts.get("offset", "").split(";") if "=" in part]
    shifts = [
        (bag.paths[each].name, bag.clock.shifts[each]) for each in bag.hashes(found.files) if each in bag.clock.shifts
    ]
    return Row(
        test.turn,
        {**fields, "confirmed": "; ".join(confirmed)},
        found.files,
        columns=tuple(part.strip() for part in texts.get("columns", "").split(";") if part.strip()),
        clock_shifts=tuple(f"{name}={written_shift(seconds)}" for name, seconds in shifts),
        offsets={name.strip(): value.strip() for name, _, value in offsets},
        worn=worn,
    )


def _worn(test: DayTest, sources: Sources) -> tuple[Wearing, ...]:
    """When the student wore the strap, and others wore it."""
    return wearings_of(test.code, [each for each in sources.worn if each.code == test.code], sources.worn)
