"""The results that a comparison rests on: one value a day, from a sheet or entered by hand."""

import math
from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Literal, TypeAlias

from ...metrics.figure import Figure
from ...words.message import Message
from ..protocol import HandMeasure
from . import messages as say
from .borrowed import Spread, Spreads
from .observation import TrialSeen
from .quantities import subject_of
from .written_mean import written_mean
from .yardstick import Bounded, squares

RESOLUTION = MappingProxyType({"/min": 1.0, "s": 1.0, "%": 1.0, "1": 1.0, "mg": 1.0, "/m": 0.01})
"""Step in which a sheet's figures are taken to be read, by unit: sensors write whole beats and seconds. Common
practice."""
COVERED = "distance_covered"
"""A hand measure of this name is the trial's own distance where it was not entered a second time."""
Side: TypeAlias = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


def result(seen: TrialSeen, name: str, side: str | None = None, *, own_rhythm: bool = False) -> Bounded | Message:
    """The value of ``name`` in one trial, with its bounds; why there is none.

    Attempts at a hand measure are averaged: a mean repeats better than a best.
    """
    if seen.protocol.hand_measure(name) is not None:
        values = [each.value for each in seen.trial.hand_results if each.name == name and each.side == side]
        if not values and name == COVERED and side is None and seen.trial.distance_m is not None:
            values = [seen.trial.distance_m]
        if not values:
            subject = subject_of(name)
            return say.remark_not_entered_side(subject, side) if side else say.remark_not_entered(subject)
        mean = written_mean(values)
        return Bounded(mean, mean, mean)
    figure = seen.figures.get(name)
    found = None if figure is None else bounded(figure, own_rhythm=own_rhythm)
    if found is None:
        return say.REMARK_NOT_ON_SHEET if figure is None or figure.reason is None else figure.reason
    return found


def bounded(figure: Figure, *, own_rhythm: bool = False) -> Bounded | None:
    """The value of a sheet's figure with the bounds that a verdict must hold for; None where it is not given.

    The one place that decides which bounds these are. A value whose bounds are stated on one side only is open on the
    other. ``own_rhythm``: those of a heart that kept its own rhythm in short gaps, where the sheet has them.
    """
    if figure.value is None:
        return None
    if own_rhythm and figure.own_rhythm_low is not None and figure.own_rhythm_high is not None:
        return Bounded(figure.value, figure.own_rhythm_low, figure.own_rhythm_high)
    if figure.low is None and figure.high is None:
        return Bounded(figure.value, figure.value, figure.value)
    low = -math.inf if figure.low is None else min(figure.low, figure.value)
    high = math.inf if figure.high is None else max(figure.high, figure.value)
    return Bounded(figure.value, low, high)


def by_day(
    trials: Sequence[TrialSeen], name: str, side: str | None = None, *, own_rhythm: bool = False
) -> tuple[list[Bounded], list[Message]]:
    """One value a day, and notes.

    Trials of one day are averaged: repeats within a day do not show how much a student varies from day to day.
    """
    days: dict[date, list[Bounded]] = {}
    notes: list[Message] = []
    for each in trials:
        found = result(each, name, side, own_rhythm=own_rhythm)
        if isinstance(found, Message):
            notes.append(say.remark_left_out(each.trial.on, found))
        else:
            days.setdefault(each.trial.on, []).append(found)
    for day, found in days.items():
        if len(found) > 1:
            notes.append(say.remark_count_as_one(len(found), day))
    return [_mean(found) for _, found in sorted(days.items())], notes


def resolution(trials: Sequence[TrialSeen], name: str) -> float:
    """The step in which ``name`` is read.

    Of a hand measure it is the one stated in the protocol, 1 for a count, else the last decimal place that anybody
    wrote in these trials.
    """
    measure = trials[0].protocol.hand_measure(name)
    if measure is None:
        figures = [each.figures[name] for each in trials if name in each.figures]
        return RESOLUTION.get(figures[0].unit, 0.0) if figures else 0.0
    return measure.resolution or (1.0 if measure.kind == "count" else _written(trials, name))


def unit(trials: Sequence[TrialSeen], name: str) -> str:
    """The unit of ``name``; empty for a plain number."""
    measure = trials[0].protocol.hand_measure(name)
    if measure is not None:
        return measure.unit
    found = next((each.figures[name].unit for each in trials if name in each.figures), "")
    return "" if found == "1" else found


def sided(trials: Sequence[TrialSeen], name: str) -> bool:
    """Tell whether ``name`` is measured on each side by itself."""
    measure: HandMeasure | None = trials[0].protocol.hand_measure(name)
    return measure is not None and measure.sides


def spread_of(trials: Sequence[TrialSeen], name: str) -> Spread | None:
    """How much a student varies in ``name`` from day to day over baseline trials; None without two days.

    Left and right of a student are one spread: it is the student who varies. A spread is never taken to be less than
    what the reading of the figure makes. Practice trials do not count.
    """
    counted = [each for each in trials if not each.trial.practice]
    sides = SIDES if counted and sided(counted, name) else (None,)
    own = [[each.value for each in by_day(counted, name, side)[0]] for side in sides]
    df = sum(len(each) - 1 for each in own if each)
    if not df:
        return None
    least = df * resolution(counted, name) ** 2 / 12
    return Spread(max(math.fsum(map(squares, filter(None, own))), least), df)


def spreads(students: Mapping[str, Sequence[TrialSeen]], name: str) -> Spreads | None:
    """How much students on one protocol vary in ``name`` from day to day; None if too few have two days.

    students : by code, the baseline trials of each
    """
    found = {code: spread_of(trials, name) for code, trials in students.items()}
    return Spreads.of({code: each for code, each in found.items() if each is not None})


def _mean(found: Sequence[Bounded]) -> Bounded:
    if len(found) == 1:
        return found[0]
    return Bounded(*(written_mean(part) for part in zip(*found, strict=True)))


def _written(trials: Sequence[TrialSeen], name: str) -> float:
    """The last decimal place used, as a step: 0.1 for 12.5, 1 for 12."""
    values = [each.value for seen in trials for each in seen.trial.hand_results if each.name == name]
    places = max((len(f"{value:.6f}".rstrip("0").partition(".")[2]) for value in values), default=0)
    return 10.0**-places
