"""Which trials are the baseline, and which the re-test.

A person may say it by a day. Else the trials of the first four weeks are the baseline and those of the last four weeks
the re-test; what lies between is neither. Four weeks are long enough for repeats on several days and short enough that
training has not yet changed the student (common practice, no source).
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Protocol, TypeVar

from ...errors import NothingToCompare

WITHIN = timedelta(days=28)
_ONE_DAY = timedelta(days=1)


class Dated(Protocol):
    """A trial, or an outline of one."""

    @property
    def id(self) -> int | None:
        """Its number."""
        ...

    @property
    def on(self) -> date:
        """Its day."""
        ...

    @property
    def practice(self) -> bool:
        """Whether it never counts."""
        ...


T = TypeVar("T", bound=Dated)


def occasions(
    trials: Sequence[T], retest_from: date | None = None
) -> tuple[tuple[T, ...], tuple[T, ...], tuple[str, ...]]:
    """``(baselines, re-tests, notes)`` of one student on one protocol; practice trials stay where their day puts them.

    Raises
    ------
    NothingToCompare
        If there are not two occasions.
    """
    ordered = sorted(trials, key=lambda each: (each.on, each.id or 0))
    counted = [each for each in ordered if not each.practice]
    if len({each.on for each in counted}) < 2:
        raise NothingToCompare(
            "there is one day with a trial, and two are needed." if counted else "there is no trial yet.",
            mend="Give the same test again: `ownmark repeat` shows how it was set up.",
        )
    if retest_from is not None:
        before = [each for each in ordered if each.on < retest_from]
        after = [each for each in ordered if each.on >= retest_from]
        if not any(not each.practice for each in before) or not any(not each.practice for each in after):
            side = "before" if not any(not each.practice for each in before) else "from"
            raise NothingToCompare(
                f"there is no trial {side} {retest_from.isoformat()}{' on' if side == 'from' else ''}.",
                mend="Give a day that lies between baseline and re-test.",
            )
        return tuple(before), tuple(after), ()
    return _by_weeks(ordered, counted[0].on, counted[-1].on)


def _by_weeks(ordered: Sequence[T], first: date, last: date) -> tuple[tuple[T, ...], tuple[T, ...], tuple[str, ...]]:
    """The first four weeks against the last four."""
    if last - first <= WITHIN:
        days = {each.on for each in ordered if not each.practice}
        if len(days) > 2:
            raise NothingToCompare(
                f"all trials lie within four weeks ({first.isoformat()} to {last.isoformat()}): they are repeats of "
                "one baseline.",
                mend="If some of them are the re-test, say from which day: --retest-from YYYY-MM-DD.",
            )
        note = "Two days within four weeks: the first is taken for the baseline, the second for the re-test."
        return _until(ordered, last - _ONE_DAY), tuple(each for each in ordered if each.on >= last), (note,)
    begin = max(last - WITHIN, first + WITHIN + _ONE_DAY)
    before = _until(ordered, first + WITHIN)
    after = tuple(each for each in ordered if each.on >= begin)
    between = [each for each in ordered if each not in before and each not in after]
    notes = ()
    if between:
        days = ", ".join(dict.fromkeys(each.on.isoformat() for each in between))
        notes = (f"Trials between baseline and re-test are left out: {days}. --retest-from draws the line elsewhere.",)
    return before, after, notes


def _until(ordered: Sequence[T], day: date) -> tuple[T, ...]:
    return tuple(each for each in ordered if each.on <= day)
