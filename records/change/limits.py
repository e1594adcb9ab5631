"""Results at the most that a test can show: who moved for all of 480 s of work cannot show more.

A time at work ends with the work phase; a distance with the one that is to be covered, or with a set speed kept to the
end; a result by hand with what its measure states as the most. Nothing is guessed beyond that.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ...metrics.figure import Figure
from ...words.message import Message
from ..protocol import HandMeasure, Protocol
from ..trial import Trial
from .messages import limit_reached
from .quantities import amount_with_unit, subject_of

OF_WORK = ("moving_time", "longest_moving", "time_on_target", "longest_on_target")
"""Times that cannot be longer than the work phase."""
WITHIN_S, WITHIN_M = 0.5, 0.5
"""So close to a limit that it is shown as the same number [s], [m]: figures are told to whole seconds and meters."""
_SECONDS = frozenset({"s", "seconds"})
_METERS = frozenset({"m", "meters", "metres"})


@dataclass(frozen=True, slots=True)
class Limit:
    """A figure or hand measure that is at its limit. ``most``: the limit, in ``unit``."""

    name: str
    value: float
    most: float
    unit: str

    def message(self) -> Message:
        """What is said of it."""
        value, most = (amount_with_unit(each, self.unit, self.name, places=1) for each in (self.value, self.most))
        return limit_reached(subject_of(self.name), value, most)


def limits_of_trial(trial: Trial, protocol: Protocol) -> tuple[Limit, ...]:
    """What of a trial is at its limit, each once."""
    if trial.sheet is None:
        return limits_reached({}, None, trial, protocol)
    begin, end = trial.sheet.provenance.phases.work
    return limits_reached(trial.sheet.figures, end - begin, trial, protocol)


def limits_reached(
    figures: Mapping[str, Figure], work_s: float | None, trial: Trial, protocol: Protocol
) -> tuple[Limit, ...]:
    """What is at its limit.

    work_s : length of the work phase that the figures are of [s]
    """
    found = {each.name: each for each in (*_of_work(figures, work_s), *_by_hand(trial, protocol))}
    return tuple(found.values())


def _of_work(figures: Mapping[str, Figure], work_s: float | None) -> Iterator[Limit]:
    for name in OF_WORK:
        value = figures[name].value if name in figures else None
        if value is not None and work_s is not None and value > work_s - WITHIN_S:
            yield Limit(name, value, work_s, "s")


def _by_hand(trial: Trial, protocol: Protocol) -> Iterator[Limit]:
    for measure in protocol.hand_measures:
        most, within = _most(measure, protocol)
        values = [one.value for one in trial.hand_results if one.name == measure.name]
        if measure.name == "distance_covered" and not values and trial.distance_m is not None:
            values = [trial.distance_m]
        if most is not None and values and max(values) > most - within:
            yield Limit(measure.name, max(values), most, measure.unit)


def _most(measure: HandMeasure, protocol: Protocol) -> tuple[float | None, float]:
    """The most that a hand measure can be, and how close to it is at it."""
    if measure.limit is not None:
        return measure.limit, 1e-9
    if measure.kind == "time" and measure.unit in _SECONDS:
        return protocol.duration_s, WITHIN_S
    if measure.kind == "distance" and measure.unit in _METERS:
        kept = None
        if protocol.pacing == "set speed" and protocol.speed_target_m_per_s and protocol.duration_s:
            kept = protocol.speed_target_m_per_s * protocol.duration_s
        return protocol.distance_m or kept, WITHIN_M
    return None, 0.0
