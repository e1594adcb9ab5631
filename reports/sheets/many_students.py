"""What a page of many students needs, read from the logbook in few passes."""

from collections.abc import Collection, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from ...errors import OwnmarkError
from ...records.change.limits import limits_of_trial
from ...records.change.shapes import Comparison
from ...records.change.verdict import NOT_COMPARABLE
from ...records.trial import Trial
from .class_page import ClassLine, DayTrial
from .district_table import DistrictRow

if TYPE_CHECKING:
    from ...records.protocol import Protocol
    from ...records.store.listing import Pair
    from ...records.store.logbook import Logbook


def last_day(logbook: "Logbook") -> date | None:
    """The day of the last trial in the logbook; None if there is none."""
    return max((each.on for each in logbook.trials(with_sheets=False)), default=None)


def class_lines(logbook: "Logbook", day: date, protocol: str | None = None) -> list[ClassLine]:
    """A line for each student of the logbook, with the trials of that day, of one protocol or of all."""
    days: dict[tuple[str, str], set[date]] = {}
    for each in logbook.trials(protocol=protocol, until=day, with_sheets=False):
        if not each.practice:
            days.setdefault((each.code, each.protocol), set()).add(each.on)
    today: dict[str, list[Trial]] = {}
    for each in logbook.trials(protocol=protocol, since=day, until=day):
        today.setdefault(each.code, []).append(each)
    protocols: dict[tuple[str, int], Protocol] = {}
    for each in (trial for trials in today.values() for trial in trials):
        key = (each.protocol, each.protocol_version)
        if key not in protocols:
            protocols[key] = logbook.protocol(*key)
    again = {(code, name) for (code, name), found in days.items() if len(found) > 1 and code in today}
    differed = _differed(logbook, again)

    def line_of(each: Trial) -> DayTrial:
        done_by = protocols[each.protocol, each.protocol_version]
        return DayTrial(
            each,
            done_by.title,
            len(days.get((each.code, each.protocol), ())),
            done_by.primary_figure,
            differed.get(each.id or 0, ()),
            tuple(limit.name for limit in limits_of_trial(each, done_by)),
        )

    return [
        ClassLine(
            student.code,
            tuple(map(line_of, today.get(student.code, ()))),
            max((last for (code, _), found in days.items() if code == student.code for last in found), default=None),
        )
        for student in logbook.students()
    ]


def _differed(logbook: "Logbook", again: Collection[tuple[str, str]]) -> dict[int, tuple[str, ...]]:
    """Which fields of the set-up forbid a verdict, by the number of the re-test, for these students and protocols."""
    if not again:
        return {}
    from ...records.judging import judge_all

    found: dict[int, tuple[str, ...]] = {}
    for name in sorted({name for _, name in again}):
        codes = {code for code, each in again if each == name}
        for _, told in judge_all(logbook, name, codes=codes):
            if not isinstance(told, OwnmarkError) and told.verdict == NOT_COMPARABLE:
                what = tuple(each.word for each in told.differences if each.forbids)
                found |= {each.trial or 0: what for each in told.retests}
    return found


def district_rows(
    logbook: "Logbook", protocol: str | None = None, *, since: date | None = None, until: date | None = None
) -> Iterator[DistrictRow]:
    """A row for each student and protocol with trials of these days, by protocol: one pass over its trials."""
    from ...records.judging import judge_all

    counts: dict[tuple[str, str], int] = {}
    for each in logbook.trials(protocol=protocol, since=since, until=until, with_sheets=False):
        key = (each.protocol, each.code)
        counts[key] = counts.get(key, 0) + (not each.practice)
    for name in sorted({name for name, _ in counts}):
        figure = logbook.protocol(name).primary_figure
        for code, found in judge_all(logbook, name, since=since, until=until):
            trials = counts.get((name, code), 0)
            if isinstance(found, OwnmarkError):
                yield DistrictRow(code, name, trials, figure, None)
            else:
                yield DistrictRow(code, name, trials, found.primary_figure, found)


def all_students(logbook: "Logbook", protocol: str | None) -> tuple[str, ...]:
    """The codes of all students; of none where one protocol was asked for, because nobody says who should do it."""
    return () if protocol is not None else tuple(each.code for each in logbook.students())


def district_rows_of(
    logbook: "Logbook", wanted: "Sequence[Pair]", *, since: date | None = None, until: date | None = None
) -> list[DistrictRow]:
    """The rows of these students and protocols, in the order asked for: only their trials are judged."""
    from ...records.judging import judge_all

    judged: dict[tuple[str, str], object] = {}
    figures: dict[str, str] = {}
    for name in sorted({each.protocol for each in wanted}):
        figures[name] = logbook.protocol(name).primary_figure
        codes = {each.code for each in wanted if each.protocol == name}
        for code, found in judge_all(logbook, name, codes=codes, since=since, until=until):
            judged[code, name] = found
    rows: list[DistrictRow] = []
    for each in wanted:
        found = judged.get((each.code, each.protocol))
        told = found if isinstance(found, Comparison) else None
        figure = told.primary_figure if told else figures[each.protocol]
        rows.append(DistrictRow(each.code, each.protocol, each.trials, figure, told))
    return rows
