"""Baseline against re-test: whether they can be compared, and whether anything changed beyond day-to-day variation."""

import math
from collections.abc import Sequence

from ...words.message import Message
from ..protocol import Better
from . import messages as say
from .borrowed import Borrowed
from .detectable import chance_beyond
from .differences import Difference, differences, medicine_unknown
from .direction import direction
from .notes import (
    cautions,
    check_order,
    counted,
    error_notes,
    limit_notes,
    shift_notes,
    standing_notes,
    why_not_given,
)
from .observation import BasisSeen, TrialSeen, basis_of_baseline, seen
from .quantities import subject_of
from .results import by_day, resolution, sided, spreads, unit
from .sentence import Told, ask, for_the_better, repeats, sentences
from .shapes import Comparison, shown
from .shared_shift import shared_shift
from .sides import SideGap, judge_sides, together
from .verdict import CANNOT_BE_TOLD, NOT_COMPARABLE, NOT_GIVEN, Bounded, Judged, Verdict, judge
from .written_mean import written_mean

__all__ = [
    "BasisSeen",
    "Comparison",
    "TrialSeen",
    "basis_of_baseline",
    "compare",
    "seen",
    "spreads",
    "with_shared_shift",
]


def compare(
    baselines: Sequence[TrialSeen], retests: Sequence[TrialSeen], borrowed: Borrowed | None = None
) -> Comparison:
    """Compare a student's re-test with the same student's baseline.

    Parameters
    ----------
    baselines, retests : at least one trial each; practice trials among them are left out and said so. The primary
        figure, its direction and the smallest change that matters are those of the first baseline's protocol
        version, since they were agreed before the re-test.
    borrowed : what the student may borrow of the other students' day-to-day variation (``spreads``), if anything

    Raises
    ------
    NothingToCompare
        If a side is empty, the trials are of different students, one trial is on both sides, or a re-test lies
        before a baseline.
    """
    notes: list[Message] = []
    before, after = counted(baselines, notes), counted(retests, notes)
    check_order(before, after)
    listed, of_set_up = differences(before, after)
    protocol = before[0].protocol
    name = protocol.primary_figure
    conditions = tuple(dict.fromkeys(each for trial in (*before, *after) for each in trial.conditions))
    better, why_no_direction = direction(protocol, name, conditions)
    if better != "no direction" and medicine_unknown((*before, *after)):
        better, why_no_direction = "no direction", say.UNDIRECTED_MEDICINE
    base = _Base(before, after, listed, name, better, why_no_direction)
    notes += of_set_up
    notes += standing_notes(before, after)
    notes += limit_notes(before, after, name)
    forbidding = tuple(each.message() for each in listed if each.forbids)
    if forbidding:
        return base.without_change(NOT_COMPARABLE, say.verdict_not_comparable(forbidding), notes)
    reason = why_not_given(before, after, name)
    if reason is not None:
        return base.without_change(NOT_GIVEN, reason, notes)
    if sided([*before, *after], name):
        return base.of_sides(borrowed, notes)
    return base.of_one(borrowed, notes)


def with_shared_shift(found: Comparison, others: Sequence[float], resolution: float) -> Comparison:
    """The comparison with how the others moved who were tested on the same days, and a note on it.

    Parameters
    ----------
    found : with one change, beyond variation
    others : their changes
    resolution : step in which the figure is read
    """
    shift = shared_shift(found.change or 0.0, others, resolution)
    notes = (*found.notes, *shift_notes(shift, len(others)))
    return found.model_copy(update={"shared_shift": shift, "others_same_days": len(others), "notes": notes})


class _Base:
    """What every comparison of these trials shares."""

    def __init__(
        self,
        before: Sequence[TrialSeen],
        after: Sequence[TrialSeen],
        listed: tuple[Difference, ...],
        name: str,
        better: Better,
        why_no_direction: Message | None,
    ) -> None:
        self.before, self.after, self.listed = before, after, listed
        self.name, self.why_no_direction = name, why_no_direction
        self.better: Better = better
        self.trials = [*before, *after]
        self.unit = unit(self.trials, name)

    def without_change(self, verdict: Verdict, reason: Message, notes: Sequence[Message], **more: object) -> Comparison:
        """A comparison that scores no change, and why."""
        return self._made(verdict, (reason,), notes, **more)

    def of_one(self, borrowed: Borrowed | None, notes: Sequence[Message]) -> Comparison:
        """The comparison of a figure that has one value a trial."""
        before, notes_before = by_day(self.before, self.name)
        after, notes_after = by_day(self.after, self.name)
        notes = [*notes, *notes_before, *notes_after]
        if not before or not after:
            reason = say.not_given_no_retest if before else say.not_given_no_baseline
            return self.without_change(NOT_GIVEN, reason(subject_of(self.name)), notes)
        judged, own_rhythm = self._judged(before, after, borrowed)
        told = self._told(subject_of(self.name), before, after, judged, own_rhythm=own_rhythm)
        swing = judged.detectable
        return self._made(
            judged.verdict,
            (*sentences(told), *ask(self.listed)),
            [*notes, *error_notes(judged, self.unit, self.name), *([say.REMARK_OWN_RHYTHM] if own_rhythm else [])],
            own_rhythm=own_rhythm,
            for_the_better=for_the_better(judged, self.better),
            baseline_value=told.before,
            retest_value=told.after,
            change=judged.change,
            change_low=_finite(judged.low),
            change_high=_finite(judged.high),
            interval_low=None if swing is None else judged.change - swing,
            interval_high=None if swing is None else judged.change + swing,
            detectable_change=swing,
            typical_error=judged.error,
            degrees_of_freedom=None if judged.df is None else _finite(judged.df),
            percent=judged.percent,
            repeats=told.repeats,
            error_source=judged.source,
            error_students=judged.others or None,
            baseline_drift=judged.drift,
            withheld=judged.withheld,
            chance_of_a_change_that_matters=self._chance(judged, len(before), len(after)),
        )

    def _judged(
        self, before: Sequence[Bounded], after: Sequence[Bounded], borrowed: Borrowed | None
    ) -> tuple[Judged, bool]:
        """The verdict, and whether it rests on the heart having kept its own rhythm in short gaps.

        That is asked only where no verdict holds whatever the heart did while it was not measured.
        """
        step = resolution(self.trials, self.name)
        judged = judge(before, after, borrowed=borrowed, resolution=step)
        if judged.verdict != CANNOT_BE_TOLD or judged.detectable is None or judged.withheld is not None:
            return judged, False
        narrower = [by_day(side, self.name, own_rhythm=True)[0] for side in (self.before, self.after)]
        again = judge(*narrower, borrowed=borrowed, resolution=step)
        return (judged, False) if again.verdict == CANNOT_BE_TOLD else (again, True)

    def of_sides(self, borrowed: Borrowed | None, notes: Sequence[Message]) -> Comparison:
        """The comparison of a hand measure that each side has by itself."""
        judged, changes, gaps, found = judge_sides(self.before, self.after, self.name, borrowed)
        notes = [*notes, *found]
        if not judged:
            return self.without_change(NOT_GIVEN, say.NOT_GIVEN_NO_SIDE, notes)
        told: list[Message] = []
        for change in changes:
            each = judged[change.side]
            notes += error_notes(each, self.unit, self.name)
            subject = say.subject_side(subject_of(self.name), change.side)
            before, after = ([Bounded(value, value, value)] for value in (change.baseline, change.retest))
            told += sentences(self._told(subject, before, after, each, own_rhythm=False))
        verdict = together(judged)
        if verdict == NOT_GIVEN:
            told.insert(0, say.VERDICT_SIDES_DIFFER)
        ways = {for_the_better(each, self.better) for each in judged.values()}
        first, *others = judged.values()
        return self._made(
            verdict,
            (*told, *ask(self.listed)),
            list(dict.fromkeys(notes)),
            for_the_better=ways.pop() if len(ways) == 1 else None,
            sides=changes,
            side_gaps=gaps,
            percent=first.percent,
            repeats=repeats(first, len(self.after)),
            error_source=first.source,
            error_students=first.others or None,
            **({} if others else {"change": first.change, "detectable_change": first.detectable}),
        )

    def _told(
        self,
        subject: Message,
        before: Sequence[Bounded],
        after: Sequence[Bounded],
        judged: Judged,
        *,
        own_rhythm: bool,
    ) -> Told:
        return Told(
            subject=subject,
            figure=self.name,
            unit=self.unit,
            before=written_mean([each.value for each in before]),
            after=written_mean([each.value for each in after]),
            judged=judged,
            repeats=repeats(judged, len(after)),
            better=self.better,
            why_no_direction=self.why_no_direction,
            own_rhythm=own_rhythm,
        )

    def _chance(self, judged: Judged, baselines: int, retests: int) -> float | None:
        """Chance of a change for the better by more than the protocol's smallest, where both are stated."""
        smallest = self.before[0].protocol.smallest_worthwhile_change
        if smallest is None or self.better == "no direction" or not judged.error or judged.df is None:
            return None
        change = judged.change if self.better == "higher" else -judged.change
        return chance_beyond(change, smallest, judged.error, judged.df, baselines=baselines, retests=retests)

    def _made(self, verdict: Verdict, told: Sequence[Message], notes: Sequence[Message], **more: object) -> Comparison:
        return Comparison.model_validate(
            {
                "code": self.before[0].trial.code,
                "protocol": self.before[0].protocol.name,
                "comparable": verdict != NOT_COMPARABLE,
                "differences": self.listed,
                "verdict": verdict,
                "sentences": tuple(told),
                "primary_figure": self.name,
                "unit": self.unit,
                "better": self.better,
                "side_gaps": _turn_gaps(self.before, self.after),
                "baselines": tuple(map(shown, self.before)),
                "retests": tuple(map(shown, self.after)),
                "notes": tuple(dict.fromkeys([*notes, *([self.why_no_direction] if self.why_no_direction else [])])),
                "cautions": cautions(self.trials),
                **more,
            }
        )


def _turn_gaps(before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> tuple[SideGap, ...]:
    """Turns to the left minus turns to the right, where the sheets give both."""
    means: list[float] = []
    for trials in (before, after):
        left, right = (by_day(trials, f"turns_{side}")[0] for side in ("left", "right"))
        if not left or len(left) != len(right):
            return ()
        means.append(sum(a.value - b.value for a, b in zip(left, right, strict=True)) / len(left))
    return (SideGap(figure="turns", baseline=means[0], retest=means[1], change=means[1] - means[0]),)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
