"""Moving or still, from a sensor on the chair's frame, a wrist, a crank or the trunk.

The envelope of the acceleration is held against a threshold between the floor (what the sensor shows when nothing
moves) and the level of the movement itself; stretches that stay above it long enough are movement, and each edge is
then set to the moment at which the signal changes. Whose movement it is, no sensor can tell: see ``bouts.assisted``.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .edges import MOVING, STILL, UNKNOWN, Indices, States, painted, runs, sharpened
from .envelope import Means, envelope, running_sum, short_means, smoothed
from .grid import Grid

Floats = NDArray[np.float64]
Spans = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Settings:
    """How movement shows at one placement. No value here is an intensity; all are common practice, no source.

    step_s, smooth_s : length of the short means and of their running mean: what is faster is not movement here  [s]
    least_mg : threshold where stillness shows no noise at all  [mg]
    factor : the threshold is at least this many floors
    most_mg : where movement is far above the floor, the threshold may rise up to this  [mg]
    floor_most_mg : a quietest stretch louder than this is not stillness; its floor is taken as this  [mg]
    """

    step_s: float
    smooth_s: float
    least_mg: float
    factor: float
    most_mg: float
    floor_most_mg: float


SETTINGS: Mapping[str, Settings] = {
    # The floor under the wheels is the signal: vibration of 4 to 12 Hz (tables 7.20) passes means of 0.04 s, most of a
    # parked motor's hum does not. On a gym floor it may be 10 mg over a hum of 6, so the threshold lies closer to the
    # floor than the 2 to 3 times of tables 7.13: half a second of noise varies by a tenth, 1.5 is five deviations away.
    "frame": Settings(step_s=0.04, smooth_s=0.04, least_mg=3.5, factor=1.5, most_mg=0.0, floor_most_mg=8.0),
    # A hand is never quite still and may tremble at 4 to 12 Hz with 20 mg: means of 0.15 s take most of that out. What
    # is left comes and goes, so the threshold lies higher. A standing person's hand shows 20 to 100 mg: up to 40 mg may
    # be its stillness.
    "wrist": Settings(step_s=0.05, smooth_s=0.15, least_mg=12.0, factor=3.0, most_mg=40.0, floor_most_mg=40.0),
    # Gravity itself turns with the crank: even 20 turns a minute show 300 mg, and nothing small is a turn.
    "crank": Settings(step_s=0.05, smooth_s=0.05, least_mg=25.0, factor=3.0, most_mg=100.0, floor_most_mg=40.0),
    # Arm work moves the trunk little; breathing tilts it by some 10 mg within two seconds, 3 mg within the window.
    "trunk": Settings(step_s=0.05, smooth_s=0.15, least_mg=6.0, factor=1.8, most_mg=10.0, floor_most_mg=20.0),
}
LEVEL_STEP_S = 0.1
"""The envelope is looked at this often to find floor and threshold: it covers half a second anyway."""
QUIET_S = 2.0
"""The floor is the mean of the quietest unbroken stretch of this length."""
NEAR = 1.5
"""... or rather the middle of all that is no louder than this many times: the quietest of many is quiet by luck."""
KEEP = 0.8
"""Movement goes on while the envelope stays above this share of the threshold, so that a weak one does not flicker;
on average it must lie above the threshold itself."""
LULL_S = 0.6
"""A dip below that is part of the movement if it is shorter than this: the turning point of a slow push."""
SHORTEST_S = 1.0
"""Shorter than this is a knock on the chair or a twitch, no movement."""


@dataclass(frozen=True, slots=True)
class Motion:
    """Where there was movement between two moments; all of the rest was measured and still.

    from_s, until_s : the recording, or the phase  [s]
    moving, unmeasured, left_out : (from, until) of stretches in order, which do not overlap  [s]; left out are
        stretches that do not count as the student's, whatever was measured
    threshold_mg, floor_mg : of the envelope; None where it was not worked out  [mg]
    note : what the reader of a figure should know, in sentences; empty if nothing
    """

    from_s: float
    until_s: float
    moving: Spans
    unmeasured: Spans = ()
    threshold_mg: float | None = None
    floor_mg: float | None = None
    note: str = ""
    left_out: Spans = ()


def moving(grid: Grid, placement: str, floor_mg: float | None = None) -> Motion:
    """Tell moving from still. Give the whole recording, so that its stillness can be found, and cut phases after it.

    Parameters
    ----------
    grid : acceleration, shape (n, 3), NaN in gaps  [g]
    placement : frame, wrist, crank or trunk
    floor_mg : level of ``parked_floor``; None: the quietest stretch of this recording  [mg]

    Raises
    ------
    KeyError
        For any other placement.
    """
    setting = SETTINGS[placement]
    means = smoothed(short_means(grid, setting.step_s), setting.smooth_s)
    level = envelope(means)
    measured = np.isfinite(level)
    span = (means.start_s, means.start_s + len(grid.values) / grid.rate_hz)
    if not measured.any():
        return Motion(*span, (), (span,), note="Nothing was measured long enough to tell movement from stillness.")
    floor, threshold, note = _threshold(level, means.step_s, setting, floor_mg)
    state = _states(level, threshold, means)
    first, last = sharpened(means, state, threshold)
    lasting = last - first >= means.steps(SHORTEST_S)
    for begin, end in zip(first[~lasting], last[~lasting], strict=True):
        if UNKNOWN in (*state[max(begin - 1, 0) : begin], *state[end : end + 1]):  # may be the rest of something longer
            state[begin:end] = UNKNOWN
    first, last = first[lasting], last[lasting]
    unknown = runs(state)
    unknown_first, unknown_last = (edge[unknown.state == UNKNOWN] for edge in (unknown.first, unknown.last))
    return Motion(
        *span,
        _spans(means, first, last, span[1]),
        _spans(means, unknown_first, unknown_last, span[1]),
        threshold,
        floor,
        note,
    )


def parked_floor(grid: Grid, placement: str) -> float | None:
    """Level of a stretch in which nothing moves: a chair parked with its power on, a hand at rest [mg].

    The middle of the envelope; None if nothing was measured.
    """
    setting = SETTINGS[placement]
    level = envelope(smoothed(short_means(grid, setting.step_s), setting.smooth_s))
    level = level[np.isfinite(level)]
    return float(np.median(level)) if len(level) else None


def _threshold(level: Floats, step_s: float, setting: Settings, floor_mg: float | None) -> tuple[float, float, str]:
    """``(floor, threshold, note)``: between floor and movement on a scale of ratios, within the settings' limits."""
    stride = max(int(LEVEL_STEP_S / step_s), 1)
    level = level[::stride]
    note = ""
    floor = floor_mg
    if floor is None:
        floor, note = _quietest(level, step_s * stride, setting)
    least = max(floor * setting.factor, setting.least_mg)
    most = max(setting.most_mg, least)
    loud = level[level > most]
    between = float(np.sqrt(max(floor, 0.1 * setting.least_mg) * np.percentile(loud, 75))) if len(loud) else most
    return floor, min(max(between, least), most), note


def _quietest(level: Floats, step_s: float, setting: Settings) -> tuple[float, str]:
    """Level of the quietest stretch of 2 s and of all that is like it [mg], and what to say of it."""
    whole = np.isfinite(level)
    width = min(2 * round(QUIET_S / step_s / 2) + 1, max(len(level) - 1 + len(level) % 2, 1))  # odd: it has a middle
    count = running_sum(whole.astype(float), width)
    mean = running_sum(np.where(whole, level, 0.0), width) / np.maximum(count, 1.0)
    quietest = float(mean[whole & (count >= min(width, count.max(initial=0.0)))].min(initial=np.inf))
    if quietest > setting.floor_most_mg:
        return setting.floor_most_mg, (
            "No two seconds of this recording are quiet enough to be stillness, so all of it may be movement. "
            "Record 60 s at rest, with the chair's power on, in front of the trial."
        )
    near = level[level < NEAR * quietest]
    floor = float(np.median(near)) if len(near) else quietest
    return floor, "The floor is that of the quietest two seconds; 60 s at rest before the trial give a better one."


def _states(level: Floats, threshold: float, means: Means) -> States:
    """Still, moving or unknown for each short mean: flicker and dips joined, knocks taken out."""
    known = np.isfinite(level)
    level = np.where(known, level, 0.0)
    found = runs(np.where(known, level > KEEP * threshold, UNKNOWN).astype(np.int8))
    sure = np.add.reduceat(level, found.first) >= threshold * found.length
    found = runs(painted(found, np.where((found.state == MOVING) & ~sure, np.int8(STILL), found.state)))
    between = (found.before() == MOVING) & (found.after() == MOVING)
    dip = (found.state == STILL) & between & (found.length <= means.steps(LULL_S))
    found = runs(painted(found, np.where(dip, np.int8(MOVING), found.state)))
    short = (found.state == MOVING) & (found.length < means.steps(SHORTEST_S))
    beside = (found.before() == UNKNOWN) | (found.after() == UNKNOWN)  # may be the rest of something longer
    return painted(found, np.where(short, np.where(beside, np.int8(UNKNOWN), np.int8(STILL)), found.state))


def _spans(means: Means, first: Indices, last: Indices, until_s: float) -> Spans:
    """Indices as seconds; what reaches the last mean reaches the end."""
    begin = means.start_s + first * means.step_s
    end = np.where(last == len(means.measured), until_s, means.start_s + last * means.step_s)
    return tuple((float(a), float(b)) for a, b in zip(begin, end, strict=True))
