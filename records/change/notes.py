"""What must be said beside a verdict, and what forbids one although the set-up matches."""

from collections.abc import Sequence

from ...errors import NothingToCompare
from ...words.numbers import nearest
from ...words.render import english
from .counting import Apart, counted_apart
from .direction import load_changed
from .observation import TrialSeen, different_bases
from .sentence import in_words, say
from .shared_shift import Shift
from .verdict import BEYOND, Judged

OWN_RHYTHM = (
    "The unmeasured stretches are short, and this verdict takes it that the heart kept its own rhythm in them and moved"
    " no faster than hearts do. A run of another rhythm, or a pause, inside one of them is not covered."
)


def counted(trials: Sequence[TrialSeen], notes: list[str]) -> list[TrialSeen]:
    """The trials that count, by date; practice trials are left out."""
    counted = [each for each in trials if not each.trial.practice]
    if len(counted) < len(trials):
        notes.append("Practice trials are left out.")
    return sorted(counted, key=lambda each: (each.trial.on, each.trial.time_of_day or ""))


def check_order(before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> None:
    """Refuse what is no baseline and re-test of one student."""
    if not before or not after:
        side = "baseline" if not before else "re-test"
        raise NothingToCompare(f"there is no {side} that counts.", mend="Add a trial that is not practice.")
    codes = dict.fromkeys(each.trial.code for each in (*before, *after))
    if len(codes) > 1:
        raise NothingToCompare(
            f"these are trials of different students: {', '.join(codes)}.",
            mend="A student is compared only with the same student.",
        )
    both = {each.trial.id for each in before} & {each.trial.id for each in after} - {None}
    if both:
        raise NothingToCompare(f"trial {both.pop()} cannot be baseline and re-test at once.", mend="Choose another.")
    last, first = before[-1].trial, after[0].trial
    late = last.on == first.on and (last.time_of_day or "") > (first.time_of_day or "~")
    if last.on > first.on or late:
        raise NothingToCompare(
            f"the re-test of {first.on.isoformat()} lies before its baseline of {last.on.isoformat()}.",
            where=f"student {first.code}",
            mend="Look at the dates, or swap the two.",
        )


def why_not_given(before: Sequence[TrialSeen], after: Sequence[TrialSeen], name: str) -> str:
    """Why the primary figure cannot be compared although the set-up matches; empty if it can."""
    bases = different_bases([*before, *after], name)
    if bases:
        return (
            f"Not given: {in_words(name)} rests on a different basis in these trials ({bases}). Compute the re-test"
            " again with the rest and maximum of the baseline."
        )
    apart = counted_apart([*before, *after], name)
    if apart is not None:
        return _counting_reason(apart, name)
    load = load_changed(before, after, name)
    if load:
        return f"Not given: {load}, so {in_words(name)} is of another load. Both are shown."
    return ""


def _counting_reason(apart: Apart, name: str) -> str:
    if apart.older:
        return (
            f"Not given: {in_words(name)} was counted by another rule in an older sheet. `ownmark recompute` measures"
            " both by the same one."
        )
    return (
        f"Not given: {in_words(name)} may count left and right together in one trial and each by itself in another"
        f" ({nearest(apart.low)} and {nearest(apart.high)} /min)."
    )


def standing_notes(before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> list[str]:
    """Notes that hang on no number."""
    notes = []
    if not any(each.trial.practice_trials for each in before):
        notes.append(
            "No practice trial is written down before the baseline: by learning alone, later trials take less heart"
            " rate, last longer or go further."
        )
    if before[-1].trial.on == after[0].trial.on:
        notes.append("Baseline and re-test are of the same day.")
    figures = {each.protocol.primary_figure for each in (*before, *after)}
    if len(figures) > 1:
        notes.append("The protocol's primary figure was changed; the one of the baseline is compared.")
    apart = figures_apart([*before, *after], before[0].protocol.primary_figure)
    if apart:
        notes.append(
            "These rest on another rest or maximum in one of the trials, so they must not be read side by side:"
            f" {', '.join(map(in_words, apart))}."
        )
    return notes


def figures_apart(trials: Sequence[TrialSeen], primary: str) -> list[str]:
    """Names of the other figures that rest on different bases."""
    if all(each.basis == trials[0].basis for each in trials):
        return []
    names = dict.fromkeys(name for each in trials for name, figure in each.figures.items() if figure.value is not None)
    return [name for name in names if name != primary and different_bases(trials, name)]


def error_notes(judged: Judged, unit_: str) -> list[str]:
    """What must be said about the error."""
    notes = []
    if judged.floored and judged.error is not None:
        notes.append(
            "The repeats are closer together than the figure is read, so its error is taken to be what reading it"
            f" makes, {say(judged.error, unit_)}."
        )
    if judged.others:
        notes.append(
            "The day-to-day variation is borrowed from other students until this student has four baselines. If this"
            " student varies more than they do, a change may be shown where there is none."
        )
    if judged.wilder:
        notes.append("This student varies more from day to day than the others do, so the student's own error is used.")
    if judged.source == "own" and judged.df == 1:
        notes.append(
            "The error comes from two trials and is hardly known, so only a very large change can be shown. A third"
            " baseline cuts that to about a third."
        )
    toward = judged.drift is not None and judged.drift * judged.change > 0
    if judged.drift is not None and toward and judged.verdict in BEYOND:
        way = "rising" if judged.drift > 0 else "falling"
        notes.append(
            f"The baselines were {way} by about {say(abs(judged.drift), unit_)} from one to the next; counted from"
            " where they ended, the change is still more than variation explains."
        )
    return notes


def shift_notes(shift: Shift, others: int) -> list[str]:
    """What must be said of those who were tested on the same days."""
    if shift == "same way":
        return [
            f"The {others} others who were tested on the same days moved the same way: what those days brought to all,"
            " such as heat or a new floor, or what all have trained, may be a part of this change."
        ]
    if shift == "unknown":
        return [
            "Fewer than three others were tested on the same days, so it could not be seen whether those days moved"
            " everybody."
        ]
    return []


def cautions(trials: Sequence[TrialSeen]) -> tuple[str, ...]:
    """Every caution of the sheets and the protocols, each once; the general ones always."""
    from ...metrics.conditions import GENERAL_CAUTIONS

    found = [*map(english, GENERAL_CAUTIONS)]
    for each in trials:
        found += [*map(english, each.cautions), *each.protocol.cautions]
    return tuple(dict.fromkeys(found))
