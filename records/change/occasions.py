"""Which trials are the baseline, and which the re-test.

A person may say it by a day. Else the trials of the first four weeks are the baseline and those of the last four weeks
the re-test; what lies between is neither. Four weeks are long enough for repeats on several days and short enough that
training has not yet changed the student (common practice, no source).
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Protocol, TypeVar

from ...errors import NothingToCompare
from ...words.message import Message
from . import messages as say

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
) -> tuple[tuple[T, ...], tuple[T, ...], tuple[Message, ...]]:
    """``(baselines, re-tests, notes)`` of one student on one protocol; practice trials stay where their day puts them.

    Raises
    ------
    NothingToCompare
        If there are not two occasions.
    """
    ordered = sorted(trials, key=lambda each: (each.on, each.id or 0))
    counted = [each for each in ordered if not each.practice]
    if len({each.on for each in counted}) < 2:
        raise NothingToCompare(say.NO_PAIR_ONE_DAY if counted else say.NO_PAIR_NO_TRIAL, mend=say.NO_PAIR_REPEAT)
    if retest_from is not None:
        before = [each for each in ordered if each.on < retest_from]
        after = [each for each in ordered if each.on >= retest_from]
        for side, none in ((before, say.no_pair_none_before), (after, say.no_pair_none_from)):
            if all(each.practice for each in side):
                raise NothingToCompare(none(retest_from), mend=say.NO_PAIR_DAY_BETWEEN)
        return tuple(before), tuple(after), ()
    return _by_weeks(ordered, counted[0].on, counted[-1].on)


def _by_weeks(
    ordered: Sequence[T], first: date, last: date
) -> tuple[tuple[T, ...], tuple[T, ...], tuple[Message, ...]]:
    """The first four weeks against the last four."""
    if last - first <= WITHIN:
        days = {each.on for each in ordered if not each.practice}
        if len(days) > 2:
            raise NothingToCompare(say.no_pair_repeats(first, last), mend=say.NO_PAIR_FROM)
        return (
            _until(ordered, last - _ONE_DAY),
            tuple(each for each in ordered if each.on >= last),
            (say.REMARK_TWO_DAYS,),
        )
    begin = max(last - WITHIN, first + WITHIN + _ONE_DAY)
    before = _until(ordered, first + WITHIN)
    after = tuple(each for each in ordered if each.on >= begin)
    between = [each for each in ordered if each not in before and each not in after]
    days = tuple(dict.fromkeys(each.on for each in between))
    return before, after, (say.remark_between(days),) if days else ()


def _until(ordered: Sequence[T], day: date) -> tuple[T, ...]:
    return tuple(each for each in ordered if each.on <= day)
