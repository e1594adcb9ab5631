"""Onset and end of effort out of nothing but the heart's answer.

One stretch of work is looked for in means of 15 s everywhere, then in means of 3 s around the best place. Start and end
are the means of the evidence over the grid. What does not stand out from a heart that merely settles down and drifts is
refused, as is a recording in which a second stretch is nearly as good.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...ingest.recording import HEART_RATE, Recording, Stream
from ...words.message import Message
from ..messages import phase_finding as say
from ..motion.heart_rate_series import mean_around
from ..timeline import hold
from .effort_model import MEMORY_S, REST, RISE, SHORTEST_S, Evidence, Indices, Series, evidence, fitted_curve
from .pauses import dips

COARSE_S, FINE_S = 15.0, 3.0
COARSE_RISES_S, COARSE_FALLS_S = (25.0,), (45.0,)
RISES_S, FALLS_S = (10.0, 25.0, 55.0), (18.0, 40.0, 75.0)
"""Time constants that are tried [s]. Those of heart rate in young people lie at 20 to 60 s (common practice)."""
BEFORE_S, AFTER_S = 150.0, 120.0
"""What lies further before the start or behind the end plays no part in the fine look: the student came in warm, or
went out [s]."""
SEARCH_S = 30.0
"""How far around the coarse place the fine grid reaches [s]."""
LONGEST_S = 3600.0
"""A longer recording holds more than one effort: it needs a start [s]."""
LEAST_MEASURED_S = 120.0
"""Less heart rate than this shows nothing [s]."""
USUAL_SWING, LEAST_SWING = 6.0, 0.5
"""Variance of a mean about the curve: what the coarse look takes for granted, and the least believed [/min²]."""
LEAST_RISE_BPM = 6.0
"""A heart that heads up by less shows no work: it wanders by as much at rest [/min]. Common practice."""
LEAST_STRENGTH = 10.0
"""An effort explains the heart rate better by so many nats than a heart that settles and drifts. Of 300 made hearts at
rest none reached it; see ``tests/bench/phase_accuracy.py``."""
SEEN_START_S, SEEN_END_S = 20.0, 15.0
"""So much has to be seen before the start and behind the end [s]."""
RIVAL_SHARE = 0.5
"""A second stretch that raises the heart by this share of the first is a rival."""
SETTLING_S = 90.0
"""For so long behind an effort the heart still comes down from it [s]."""
LOW_SHARE, LONG_PAUSE_S = 0.35, 60.0
"""A heart that stays below this share of its rise for so long [s] has rested: what follows is a second effort."""
_HALVINGS = 3  # so often half the length is tried
_MOST_PAUSES = 2
_SETTLES_S = (20.0, 60.0)  # time constants of a heart that merely settles
_ROUNDS, _EDGE = 4, 0.02  # the fine grid is laid anew while more than this share of the evidence lies on its edge

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Limits:
    """Where the start may lie, and how long the work may be  [s]."""

    earliest_s: float = -np.inf
    latest_s: float = np.inf
    shortest_s: float = SHORTEST_S
    longest_s: float = np.inf


@dataclass(frozen=True, slots=True)
class Effort:
    """One stretch of work that the heart rate shows.

    start_s, end_s : when it began and ended  [s]
    start_sd_s, end_sd_s : how wide the evidence is  [s]
    rest_bpm, rise_bpm : level before, and by how much the heart headed above it  [/min]
    strength : by how much it explains the heart rate better than a heart that settles and drifts  [nats]
    """

    start_s: float
    end_s: float
    start_sd_s: float
    end_sd_s: float
    rest_bpm: float
    rise_bpm: float
    strength: float


def usable_heart_rate(recording: Recording) -> Stream | None:
    """The first heart rate of which something can be used."""
    return next((stream for stream in recording.all(HEART_RATE) if stream.usable.any()), None)


def series_of(pulse: Stream, from_s: float, until_s: float, step_s: float) -> Series:
    """Means of a heart rate over equal stretches."""
    held = hold(pulse, from_s, until_s)
    middle = np.asarray(from_s + (np.arange(int((until_s - from_s) / step_s)) + 0.5) * step_s, dtype=np.float64)
    return Series(from_s, step_s, mean_around(held.start_s, held.held_s, held.bpm, middle, step_s / 2))


def find_effort(pulse: Stream, from_s: float, until_s: float, limits: Limits | None = None) -> Effort | Message:
    """The stretch of work in a part of a recording, or why none is told.

    Parameters
    ----------
    pulse : heart rate, flags set
    from_s, until_s : the part  [s]
    limits : where it is looked for; None: everywhere, and then it may have no rival
    """
    if until_s - from_s > LONGEST_S:
        return say.proposal_too_long(LONGEST_S / 60.0)
    coarse = series_of(pulse, from_s, until_s, COARSE_S)
    if np.count_nonzero(np.isfinite(coarse.bpm)) * COARSE_S < LEAST_MEASURED_S:
        return say.PROPOSAL_NOTHING_MEASURED
    found = _strongest(coarse, series_of(pulse, from_s, until_s, FINE_S), limits or Limits())
    if found is None:
        return say.PROPOSAL_NO_ONSET
    measured = coarse.at(np.flatnonzero(np.isfinite(coarse.bpm)))
    if found.start_s < measured[0] + SEEN_START_S:
        return say.proposal_begun_before(found.end_s)
    if found.end_s > measured[-1] + COARSE_S - SEEN_END_S:
        return say.proposal_end_not_seen(found.start_s)
    again = _begins_again(coarse, found)
    again = _rival(coarse, found) if again is None and limits is None else again
    return found if again is None else say.proposal_second(found.start_s, again)


def _strongest(coarse: Series, fine: Series, limits: Limits) -> Effort | None:
    """The effort with the most evidence that stands out; None where none does.

    Two stretches with a long rest between them agree best, though badly, with one that spans both: then a shorter one
    is looked for.
    """
    for _ in range(_HALVINGS):
        place = _coarse(coarse, limits)
        found = None if place is None else _fine(fine, *place)
        if place is None or found is None:
            return None
        if found.strength >= LEAST_STRENGTH and found.rise_bpm >= LEAST_RISE_BPM:
            return found
        limits = replace(limits, longest_s=(place[1] - place[0]) / 2.0)
    return None


def _coarse(series: Series, limits: Limits) -> tuple[float, float] | None:
    """Start and end with the most evidence [s]; None where nothing lies within the limits."""
    found = _everywhere(series)
    begin, length = series.at(found.starts), (found.ends[None, :] - found.starts[:, None]) * series.step_s
    slack = series.step_s  # the limits may fall between two places of the grid
    begins = (begin >= limits.earliest_s - slack) & (begin <= limits.latest_s + slack)
    lasts = (length >= limits.shortest_s - slack) & (length <= limits.longest_s + slack)
    log = np.where((begins[:, None] & lasts)[:, :, None, None], found.log, -np.inf)
    if not np.isfinite(log).any():
        return None
    first, last = np.unravel_index(int(np.argmax(log)), log.shape)[:2]
    return float(begin[first]), float(series.at(found.ends[last]))


def _everywhere(series: Series) -> Evidence:
    """The evidence for every start and end."""
    count = len(series.bpm)
    starts, ends = np.arange(count), np.arange(1, count + 1)
    return evidence(series, starts, ends, COARSE_RISES_S, COARSE_FALLS_S, USUAL_SWING, _around(series))


def _fine(series: Series, start_s: float, end_s: float) -> Effort | None:
    """The effort near a place, pauses left out; None where the evidence runs away from every place."""
    effort = None
    for _ in range(1 + _MOST_PAUSES):
        near, found = _settled(series, start_s, end_s)
        if found is None:
            return None
        effort = _summed(near, found)[0]
        if effort.strength < LEAST_STRENGTH:
            return effort
        pauses = dips(near, fitted_curve(near, found), effort.start_s, effort.end_s)
        if not pauses.any():
            return effort
        bpm, first = series.bpm.copy(), round((near.start_s - series.start_s) / series.step_s)
        bpm[first : first + len(pauses)][pauses] = np.nan
        series, start_s, end_s = replace(series, bpm=bpm), effort.start_s, effort.end_s
    return effort


def _settled(series: Series, start_s: float, end_s: float) -> tuple[Series, Evidence | None]:
    """The evidence on a fine grid around a place, laid anew while it lies on the grid's edge."""
    near, found, swing = series, None, None
    for _ in range(_ROUNDS):
        near = _part(series, start_s - BEFORE_S, end_s + AFTER_S)
        first, last = (round((each - near.start_s) / near.step_s) for each in (start_s, end_s))
        if swing is None:
            alone = _on_grid(near, np.array([first]), np.array([last]), USUAL_SWING)
            swing = max(float(alone.left[alone.best]), LEAST_SWING)
        reach, least = round(SEARCH_S / near.step_s), round(SHORTEST_S / near.step_s)
        starts = np.arange(max(first - reach, 0), min(first + reach + 1, len(near.bpm) - least + 1))
        ends = np.arange(max(last - reach, least), min(last + reach + 1, len(near.bpm) + 1))
        found = _on_grid(near, starts, ends, swing) if len(starts) and len(ends) else None
        if found is None or not np.isfinite(found.log).any():
            return near, None
        swing = max(float(found.left[found.best]), LEAST_SWING)
        effort, whole = _summed(near, found)
        if whole:
            break
        start_s, end_s = effort.start_s, effort.end_s
    return near, found


def _on_grid(series: Series, starts: Indices, ends: Indices, swing: float) -> Evidence:
    return evidence(series, starts, ends, RISES_S, FALLS_S, swing, _around(series))


def _part(series: Series, from_s: float, until_s: float) -> Series:
    """The means between two moments."""
    first = max(round((from_s - series.start_s) / series.step_s), 0)
    last = max(round((until_s - series.start_s) / series.step_s), 0)
    return Series(float(series.at(first)), series.step_s, series.bpm[first:last])


def _around(series: Series) -> float:
    """Where rest is likely to be: a quarter of the time lies below [/min]."""
    return float(np.nanpercentile(series.bpm, 25.0))


def _summed(series: Series, found: Evidence) -> tuple[Effort, bool]:
    """Mean and spread of start and end, and whether the grid holds (nearly) all of the evidence."""
    share = np.exp(found.log - found.log.max())
    share /= share.sum()
    of_start, of_end = share.sum(axis=(1, 2, 3)), share.sum(axis=(0, 2, 3))
    begin, end = series.at(found.starts), series.at(found.ends)
    start_s, end_s = float(of_start @ begin), float(of_end @ end)
    cut = (of_start[0] > _EDGE and found.starts[0] > 0, of_start[-1] > _EDGE)
    cut += (of_end[0] > _EDGE, of_end[-1] > _EDGE and found.ends[-1] < len(series.bpm))
    effort = Effort(
        start_s,
        end_s,
        float(np.sqrt(of_start @ (begin - start_s) ** 2)),
        float(np.sqrt(of_end @ (end - end_s) ** 2)),
        float(found.fitted[found.best][REST]),
        float(found.fitted[found.best][RISE]),
        _strength(series, found),
    )
    return effort, not any(cut)


def _strength(series: Series, found: Evidence) -> float:
    """Half the logarithm of how much less the curve leaves than a heart that settles, for each independent mean."""
    known = np.isfinite(series.bpm)
    time = np.arange(len(known))[known] * series.step_s
    bases = np.stack([np.ones_like(time), time / 600.0, *(np.exp(-time / each) for each in _SETTLES_S)], axis=1)
    bpm = series.bpm[known]
    settles = bpm - bases @ np.linalg.lstsq(bases, bpm, rcond=None)[0]
    left = max(float(found.left[found.best]), LEAST_SWING)
    independent = len(time) * min(series.step_s / MEMORY_S, 1.0)
    return 0.5 * independent * float(np.log(max(float(settles @ settles) / len(time), LEAST_SWING) / left))


def _begins_again(series: Series, found: Effort) -> float | None:
    """When the heart rises again after a rest inside the effort [s]; None: it holds no more than pauses."""
    middle = series.at(np.arange(len(series.bpm))) + series.step_s / 2
    low = series.bpm < found.rest_bpm + LOW_SHARE * found.rise_bpm
    low &= (middle > found.start_s + SETTLING_S) & (middle < found.end_s)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], low, [False])).astype(np.int8)))
    ends = [end for begin, end in edges.reshape(-1, 2).tolist() if (end - begin) * series.step_s >= LONG_PAUSE_S]
    return float(series.at(ends[-1])) if ends else None


def _rival(series: Series, found: Effort) -> float | None:
    """Start of a second stretch that is nearly as good, before or behind the first [s]; None: there is none."""
    sides = (
        _part(series, series.start_s, found.start_s - series.step_s),
        _part(series, found.end_s + SETTLING_S, series.until_s),
    )
    for side in sides:
        known = np.flatnonzero(np.isfinite(side.bpm))
        if len(known) * side.step_s < LEAST_MEASURED_S:
            continue
        other = _everywhere(side)
        begin, end = float(side.at(other.starts[other.best[0]])), float(side.at(other.ends[other.best[1]]))
        seen = begin >= side.at(known[0]) + SEEN_START_S and end <= side.at(known[-1] + 1) - SEEN_END_S
        high = other.fitted[other.best][RISE] >= RIVAL_SHARE * found.rise_bpm
        if seen and high and _strength(side, other) >= LEAST_STRENGTH:
            return begin
    return None
