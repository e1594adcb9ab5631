"""Which way is better, and where nobody may say so: the protocol states it, and some figures have no such way."""

from collections.abc import Callable, Sequence

from ...words.message import Message
from ..protocol import Better, Protocol
from . import messages as say
from .counting import counted_apart
from .observation import TrialSeen
from .quantities import subject_of

LOAD_WITHIN = 0.10
"""Distances or rhythms that differ by more than this share are a different load. Common practice, no source."""

SAME_LOAD = (
    "heart_rate_mean",
    "heart_rate_peak",
    "heart_rate_rise",
    "reserve_mean",
    "reserve_peak",
    "share_above_125_rest",
    "share_above_150_rest",
    "beats_total",
    "beats_above_rest",
    "training_impulse",
)
"""Figures of which less is better only at the same load."""

_CHAIR_MOVES = (
    "moving_time",
    "longest_moving",
    "stop_count",
    "cycle_count",
    "motion_level",
    "turns_left",
    "turns_right",
)
_RHYTHM = "cadence_mean"
_PER_METRE = ("beats_per_metre", "cost_index")


def direction(protocol: Protocol, figure: str, conditions: Sequence[str]) -> tuple[Better, Message | None]:
    """Which way is better for ``figure``, and why there is no such way although the protocol states one."""
    stated = protocol.better
    if stated == "no direction":
        return stated, None
    if figure.startswith("cadence"):
        return "no direction", say.UNDIRECTED_RHYTHM
    if figure == "recovery_60s" and any(each.startswith("spinal-injury") for each in conditions):
        return "no direction", say.UNDIRECTED_RECOVERY
    if protocol.work_mode == "power chair" and _moved_by_motor(protocol, figure):
        return "no direction", say.UNDIRECTED_MOTOR
    return stated, None


def load_changed(baselines: Sequence[TrialSeen], retests: Sequence[TrialSeen], figure: str) -> Message | None:
    """Why less of ``figure`` cannot be called anything: the load differed too. None if that is not so.

    The distance covered and the rhythm tell the load where neither is fixed.
    """
    if figure not in SAME_LOAD:
        return None
    rhythm = [] if counted_apart([*baselines, *retests], _RHYTHM) else [(say.not_given_other_rhythm, _rhythm)]
    for message, read in ((say.not_given_other_distance, _distance), *rhythm):
        before, after = _mean(baselines, read), _mean(retests, read)
        if before and after and abs(after - before) > LOAD_WITHIN * max(before, after):
            return message(subject_of(figure), before, after)
    return None


def _distance(each: TrialSeen) -> float | None:
    return each.trial.distance_m


def _rhythm(each: TrialSeen) -> float | None:
    found = each.figures.get(_RHYTHM)
    return None if found is None else found.value


def _mean(trials: Sequence[TrialSeen], read: Callable[[TrialSeen], float | None]) -> float | None:
    found = [value for value in map(read, trials) if value is not None]
    return sum(found) / len(found) if found else None


def _moved_by_motor(protocol: Protocol, figure: str) -> bool:
    measure = protocol.hand_measure(figure)
    if measure is not None:
        return measure.kind in ("distance", "time")
    if figure in _PER_METRE:
        return True
    return figure in _CHAIR_MOVES and protocol.placement in (None, "frame", "wheel")
