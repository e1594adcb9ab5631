"""What must be said beside a verdict, and what forbids one although the set-up matches."""

from collections.abc import Sequence

from ...errors import NothingToCompare
from ...words.message import Message, Quoted
from . import messages as say
from .counting import Apart, counted_apart
from .detectable import detectable_change
from .direction import load_changed
from .limits import limits_reached
from .observation import TrialSeen, different_bases
from .quantities import amount_with_unit, subject_of
from .shared_shift import Shift
from .verdict import BEYOND, Judged


def counted(trials: Sequence[TrialSeen], notes: list[Message]) -> list[TrialSeen]:
    """The trials that count, by date; practice trials are left out."""
    counted = [each for each in trials if not each.trial.practice]
    if len(counted) < len(trials):
        notes.append(say.REMARK_PRACTICE)
    return sorted(counted, key=lambda each: (each.trial.on, each.trial.time_of_day or ""))


def check_order(before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> None:
    """Refuse what is no baseline and re-test of one student."""
    if not before or not after:
        what = say.NO_PAIR_NO_RETEST if before else say.NO_PAIR_NO_BASELINE
        raise NothingToCompare(what, mend=say.NO_PAIR_ADD)
    codes = dict.fromkeys(each.trial.code for each in (*before, *after))
    if len(codes) > 1:
        raise NothingToCompare(say.no_pair_students(tuple(map(Quoted, codes))), mend=say.NO_PAIR_SAME_STUDENT)
    numbers = ({each.trial.id for each in side if each.trial.id is not None} for side in (before, after))
    both = set[int].intersection(*numbers)
    if both:
        raise NothingToCompare(say.no_pair_both(min(both)), mend=say.NO_PAIR_CHOOSE)
    last, first = before[-1].trial, after[0].trial
    late = last.on == first.on and (last.time_of_day or "") > (first.time_of_day or "~")
    if last.on > first.on or late:
        raise NothingToCompare(
            say.no_pair_reversed(first.on, last.on), where=f"student {first.code}", mend=say.NO_PAIR_DATES
        )


def why_not_given(before: Sequence[TrialSeen], after: Sequence[TrialSeen], name: str) -> Message | None:
    """Why the primary figure cannot be compared although the set-up matches; None if it can."""
    basis = different_bases([*before, *after], name)
    if basis is not None:
        return say.not_given_other_basis(subject_of(name), basis)
    apart = counted_apart([*before, *after], name)
    return load_changed(before, after, name) if apart is None else _counting_reason(apart, name)


def _counting_reason(apart: Apart, name: str) -> Message:
    subject = subject_of(name)
    return (
        say.not_given_other_rule(subject)
        if apart.older
        else say.not_given_counted_apart(subject, apart.low, apart.high)
    )


def standing_notes(before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> list[Message]:
    """Notes that hang on no number."""
    notes: list[Message] = []
    if not any(each.trial.practice_trials for each in before):
        notes.append(say.REMARK_NO_PRACTICE)
    if before[-1].trial.on == after[0].trial.on:
        notes.append(say.REMARK_SAME_DAY)
    figures = {each.protocol.primary_figure for each in (*before, *after)}
    if len(figures) > 1:
        notes.append(say.REMARK_PRIMARY)
    apart = figures_apart([*before, *after], before[0].protocol.primary_figure)
    return [*notes, say.remark_apart(tuple(map(subject_of, apart)))] if apart else notes


def limit_notes(before: Sequence[TrialSeen], after: Sequence[TrialSeen], name: str) -> list[Message]:
    """That a side is at the most that the test can show."""
    notes: list[Message] = []
    for trials, message in ((before, say.remark_limit_baseline), (after, say.remark_limit_retest)):
        reached = [
            each
            for trial in trials
            for each in limits_reached(trial.figures, trial.work_s, trial.trial, trial.protocol)
            if each.name == name
        ]
        if reached:
            notes.append(message(subject_of(name), amount_with_unit(reached[0].most, reached[0].unit, name, places=1)))
    return notes


def figures_apart(trials: Sequence[TrialSeen], primary: str) -> list[str]:
    """Names of the other figures that rest on different bases."""
    if all(each.basis == trials[0].basis for each in trials):
        return []
    names = dict.fromkeys(name for each in trials for name, figure in each.figures.items() if figure.value is not None)
    return [name for name in names if name != primary and different_bases(trials, name)]


def third_baseline(percent: float) -> float:
    """Share of the detectable change that is left with a third baseline whose repeats vary as the two do [%].

    From the error of two baselines to that of three, for one re-test; ``percent`` is the level of the verdict.
    """
    two, three = (detectable_change(1.0, each - 1, baselines=each, percent=percent) for each in (2, 3))
    return 100 * three / two


def error_notes(judged: Judged, unit: str, figure: str) -> list[Message]:
    """What must be said about the error."""
    notes: list[Message] = []
    if judged.floored and judged.error is not None:
        notes.append(say.remark_floored(amount_with_unit(judged.error, unit, figure)))
    if judged.others:
        notes.append(say.REMARK_BORROWED)
    if judged.wilder:
        notes.append(say.REMARK_WILDER)
    if judged.source == "own" and judged.df == 1:
        notes.append(say.remark_two_trials(third_baseline(judged.percent)))
    toward = judged.drift is not None and judged.drift * judged.change > 0
    if judged.drift is not None and toward and judged.verdict in BEYOND:
        drift = amount_with_unit(abs(judged.drift), unit, figure)
        notes.append(say.remark_rising(drift) if judged.drift > 0 else say.remark_falling(drift))
    return notes


def shift_notes(shift: Shift, others: int) -> list[Message]:
    """What must be said of those who were tested on the same days."""
    if shift == "same way":
        return [say.remark_shared(others)]
    return [say.REMARK_SHARED_UNKNOWN] if shift == "unknown" else []


def cautions(trials: Sequence[TrialSeen]) -> tuple[Message, ...]:
    """Every caution of the sheets and the protocols, each once; the general ones always."""
    from ...metrics.conditions import GENERAL_CAUTIONS

    found = [*GENERAL_CAUTIONS]
    for each in trials:
        found += [*each.cautions, *(say.remark_caution(Quoted(text)) for text in each.protocol.cautions)]
    return tuple(dict.fromkeys(found))
