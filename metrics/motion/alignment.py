"""Two recordings of one trial, each on its own clock: how far the second has to be moved, or why nobody can say.

| how | what it rests on | error found on made recordings |
| --- | --- | --- |
| taps | three sharp taps on both sensors, at the start and, for the drift of the clocks, at the end | a sample or two |
| movement | when the student moved and stood still, seen by two movement sensors | 0.1 s |
| events | presses of a button, or one press beside three taps | a person's: 1 s |
| heart rate | the rise of the heart rate behind the onset of work (``onset``) | 15 s |

Each answer is a ``Placing`` of the second recording on the first one's clock, its path still empty, or a ``Refusal``:
an offset is given only if nothing else fits nearly as well. ``tests/bench/rhythm_accuracy.py`` measures the errors.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ...ingest.recording import EVENTS, MOVEMENT, TAPS, Placing
from ...words.message import Message
from ...words.render import english, joined
from ..messages import trial as say
from .cross_correlation import Match, match
from .envelope import envelope, short_means
from .grid import Grid
from .taps import Taps, find_taps

MOST_S = 600.0
"""Offsets are looked for up to this far either way [s]."""
LEAST_STRENGTH = 5.0
"""Standard errors on Fisher's scale. Recordings that had nothing to do with each other reached 4.6."""
OVER_RIVAL = 1.5
"""The best offset is at least this many times as strong as any other one."""
LEAST_OVERLAP_S = 60.0
DRIFT_SPAN_S = 600.0
"""Two events have to lie this far apart for the drift of the clocks to be told [s]."""
PRESS_S = 1.0
"""A person presses a button within this long of the event [s]. Common practice, no source."""
_STEP_S, _WINDOW_S, _FLOOR_MG = 0.2, 2.0, 5.0  # movement as its spread over 2 s: a cycle's inside plays no part
_APART_S = 5.0  # what lies nearer to the best offset belongs to its peak
_FASTEST_DRIFT = 500e-6  # of quartz clocks, with room

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why no offset is given: a reason for each way that was tried."""

    reasons: tuple[Message, ...]

    @property
    def reason(self) -> str:
        """The reasons in English."""
        return joined(map(english, self.reasons))


def by_taps(first: Grid, second: Grid) -> Placing | Refusal:
    """Three sharp taps in two accelerations, shape (n, 3) [g], at the sensors' own rates."""
    one, other = find_taps(first), find_taps(second)
    for found, why in ((one, say.CLOCK_NO_TAPS_FIRST), (other, say.CLOCK_NO_TAPS_SECOND)):
        if not found:
            return Refusal((why,))
    step = 1.0 / first.rate_hz + 1.0 / second.rate_hz
    pairs = [(a, b) for a in one for b in other if _alike(a, b, 0.03 + 1.5 * step)]
    if not pairs:
        return Refusal((say.CLOCK_OTHER_TAPS,))
    moments = [(float(np.mean(a.time_s)), float(np.mean(b.time_s))) for a, b in pairs]
    return _paired(moments, max(step, 0.02), TAPS)


def _alike(one: Taps, other: Taps, tolerance_s: float) -> bool:
    """Tell whether two groups have the same pauses."""
    pauses = zip(pairwise(one.time_s), pairwise(other.time_s), strict=True)
    return all(abs((b - a) - (d - c)) <= tolerance_s for (a, b), (c, d) in pauses)


def _paired(moments: Sequence[tuple[float, float]], within_s: float, how: str) -> Placing | Refusal:
    """Lay together events of which some may belong to each other: the offset under which most of them do."""
    groups = [_agreeing(moments, pair, within_s) for pair in moments]
    most = max(len(group) for group in groups)
    best = [group for group in groups if len(group) == most]
    offsets = [group[0][0] - group[0][1] for group in best]
    if max(offsets) - min(offsets) > 2 * within_s + _FASTEST_DRIFT * _span([pair for group in best for pair in group]):
        return Refusal((say.clock_several_ways(how, len(set(offsets))),))
    chosen = best[0]
    offset, anchor = chosen[0][0] - chosen[0][1], chosen[0][1]
    drift, notes = None, ()
    if _span(chosen) >= DRIFT_SPAN_S:
        (first_on, first_off), (last_on, last_off) = chosen[0], chosen[-1]
        drift = 1e6 * ((last_on - first_on) / (last_off - first_off) - 1.0)
        error = 1e6 * 2.0 * within_s / (last_off - first_off)
        notes = (say.clock_drift(drift, error),)
    if most == 1 and how == EVENTS:
        notes = (say.CLOCK_SINGLE_PRESS,)
    sure = 0.97 if most > 1 else 0.6 if how == EVENTS else 0.9
    return Placing("", offset, how, within_s, sure, drift, anchor, notes)


def _agreeing(
    moments: Sequence[tuple[float, float]], pair: tuple[float, float], within_s: float
) -> list[tuple[float, float]]:
    """The pairs that fit a pair's offset, as far as clocks may drift, in order; each event once."""
    kept: list[tuple[float, float]] = []
    for one, other in sorted(moments):
        room = 2 * within_s + _FASTEST_DRIFT * abs(other - pair[1])
        fits = abs((one - other) - (pair[0] - pair[1])) <= room
        if fits and not any(one == a or other == b for a, b in kept):
            kept.append((one, other))
    return kept


def _span(moments: Sequence[tuple[float, float]]) -> float:
    return max(other for _, other in moments) - min(other for _, other in moments)


def by_events(first_s: Sequence[float], second_s: Sequence[float], within_s: float = PRESS_S) -> Placing | Refusal:
    """Moments that were marked in both recordings at once: presses of a button, or the first of three taps.

    Parameters
    ----------
    first_s, second_s : moments of the events, each on its own clock, in order  [s]
    within_s : how well a person marks them  [s]
    """
    if not first_s or not second_s:
        return Refusal((say.CLOCK_NO_EVENTS,))
    if len(first_s) != len(second_s):
        return Refusal((say.clock_event_counts(len(first_s), len(second_s)),))
    moments = list(zip(first_s, second_s, strict=True))
    if len(_agreeing(moments, moments[0], within_s)) < len(moments):
        return Refusal((say.CLOCK_OTHER_EVENTS,))
    return _paired(moments, within_s, EVENTS)


def by_movement(first: Grid, second: Grid, most_s: float = MOST_S) -> Placing | Refusal:
    """Two accelerations of one trial, shape (n, 3) [g]: when they move and when they are still."""
    (start_one, one), (start_other, other) = activity(first), activity(second)
    if min(np.count_nonzero(np.isfinite(one)), np.count_nonzero(np.isfinite(other))) < LEAST_OVERLAP_S / _STEP_S:
        return Refusal((say.clock_too_little_movement(LEAST_OVERLAP_S),))
    found = match(one, start_one, other, start_other, _STEP_S, most_s, round(LEAST_OVERLAP_S / _STEP_S))
    return judged(found, _APART_S, MOVEMENT, 0.5, "movements")


def activity(grid: Grid, step_s: float = _STEP_S, window_s: float = _WINDOW_S) -> tuple[float, Floats]:
    """``(start_s, level)``: logarithm of a movement's spread [mg] in even steps, NaN where nothing was measured."""
    means = short_means(grid, 0.05)
    level = envelope(means, window_s)
    time = means.start_s + (np.arange(len(level)) + 0.5) * means.step_s
    if len(level) < 2:
        return grid.start_s, np.empty(0)
    at = np.arange(time[0], time[-1], step_s)
    known = np.isfinite(level)
    out = np.interp(at, time, np.log(np.maximum(np.where(known, level, 0.0), _FLOOR_MG)))
    return float(time[0]), np.where(np.interp(at, time, known.astype(float)) > 1 - 1e-9, out, np.nan)


def judged(found: Match, apart_s: float, how: str, within_s: float, subject: str) -> Placing | Refusal:
    """The best offset of a match, if it is strong and leads any other clearly. ``subject``: a key of ``compared``."""
    if not len(found.r) or found.r.max() <= -1.0:
        return Refusal((say.clock_no_overlap(subject, LEAST_OVERLAP_S),))
    strength, rival = float(found.strength()[found.best()]), found.rival(apart_s)
    if strength < LEAST_STRENGTH:
        return Refusal((say.clock_no_better_than_chance(subject),))
    if strength < OVER_RIVAL * rival:
        return Refusal((say.clock_fits_elsewhere(subject),))
    return Placing("", found.top_s(), how, within_s, 1.0 - rival / strength)


def choose(found: Sequence[Placing | Refusal]) -> Placing | Refusal:
    """The best of several answers: the one with the smallest error; the others are held against it.

    Raises
    ------
    ValueError
        If there is none to choose from.
    """
    answers = [each for each in found if isinstance(each, Placing)]
    if not answers:
        reasons = [why for each in found if isinstance(each, Refusal) for why in each.reasons]
        if not reasons:
            raise ValueError("nothing to choose from")
        return Refusal(tuple(dict.fromkeys(reasons)))
    best = min(
        answers, key=lambda each: (np.inf if each.within_s is None else each.within_s, -(each.confidence or 0.0))
    )
    notes = list(best.notes)
    for other in answers:
        apart = other.offset_s - best.offset_s
        if other is not best and abs(apart) > (other.within_s or PRESS_S) + (best.within_s or PRESS_S):
            notes.append(say.clock_otherwise(seen_by(other), apart, seen_by(best)))
    return replace(best, notes=tuple(notes))


def seen_by(placing: Placing) -> str:
    """What both files saw, as a key of the words for it."""
    return placing.how.replace(" ", "_")
