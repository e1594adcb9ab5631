"""Moving or still, from a sensor on the chair's frame, a wrist, a crank or the trunk.

The envelope of the acceleration is held against a threshold between the floor (what the sensor shows when nothing
moves) and the level of the movement itself; stretches that stay above it long enough are movement, and each edge is
then set to the moment at which the signal changes. Whose movement it is, no sensor can tell: see ``bouts.assisted``.

Out of reach: what the sensor's noise hides. On made recordings with 10 mg of noise on each axis, rolling is found
exactly (moving time within 2 % and 2 s) from 40, 30 and 20 mg of vibration on at 25, 50 and 100 samples a second; half
of that is lost, and said in the note. A pause of 2.8 s is told from a stop of 3.0 s only if both edges hold to 0.1 s:
with 10 to 20 mg of noise each varies by 0.1 to 0.3 s, and one trial in four with many such pauses is off by one stop.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .edges import MOVING, STILL, UNKNOWN, Indices, States, painted, runs, sharpened
from .envelope import WINDOW_S, Means, envelope, is_noise, quietest, short_means, smoothed
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
    window_s : length over which the envelope is taken  [s]
    keep : movement goes on while the envelope stays above this share of the threshold, so that a weak one does not
        flicker; on average it must lie above the threshold itself
    lull_s : a dip below that is part of the movement if it is shorter: the turning point of a slow push  [s]
    edge_smooth_s : running mean under which edges are set; None: ``smooth_s``  [s]
    growing : power of a movement's first moments, as a share of what follows; see ``edges.sharpened``
    noise_from_mg : a floor above this is looked at: is it the sensor's own noise?  [mg]
    """

    step_s: float
    smooth_s: float
    least_mg: float
    factor: float
    most_mg: float
    floor_most_mg: float
    window_s: float = WINDOW_S
    keep: float = 0.8
    lull_s: float = 0.6
    edge_smooth_s: float | None = None
    growing: float = 0.5
    noise_from_mg: float = np.inf


SETTINGS: Mapping[str, Settings] = {
    # The floor under the wheels is the signal: vibration of 4 to 12 Hz (tables 7.20) passes means of 0.04 s, most of a
    # parked motor's hum does not. On a gym floor it may be 10 mg over a hum of 6, so the threshold lies closer to the
    # floor than the 2 to 3 times of tables 7.13: half a second of noise varies by a tenth, 1.5 is five deviations away.
    "frame": Settings(
        step_s=0.04, smooth_s=0.04, least_mg=3.5, factor=1.5, most_mg=0.0, floor_most_mg=8.0, noise_from_mg=5.0
    ),
    # A hand is never quite still and may tremble at 4 to 12 Hz with 20 mg: means of 0.15 s take most of that out. What
    # is left comes and goes, so the threshold lies higher. A standing person's hand shows 20 to 100 mg: up to 40 mg may
    # be its stillness.
    "wrist": Settings(step_s=0.05, smooth_s=0.15, least_mg=12.0, factor=3.0, most_mg=40.0, floor_most_mg=40.0),
    # Gravity itself turns with the crank: even 20 turns a minute show 300 mg, and nothing small is a turn.
    "crank": Settings(step_s=0.05, smooth_s=0.05, least_mg=25.0, factor=3.0, most_mg=100.0, floor_most_mg=40.0),
    # Arm work moves the trunk little; breathing tilts it by some 10 mg within two seconds, 3 mg within the window.
    "trunk": Settings(
        step_s=0.05, smooth_s=0.15, least_mg=6.0, factor=1.8, most_mg=10.0, floor_most_mg=20.0, noise_from_mg=3.3
    ),
}
_IN_NOISE = {"floor_most_mg": 40.0, "window_s": 0.7, "keep": 0.9, "lull_s": 0.4, "edge_smooth_s": 0.0, "growing": 0.2}
NOISE: Mapping[str, Settings] = {
    # Where the stillness is the sensor's own noise, no tremor, breath or motor comes and goes in it, and the threshold
    # may lie nearer to it. Within 0.7 s the level of noise varies by a tenth, by a fifth under the running mean that a
    # trunk needs: both factors are three deviations away, and what is louder by luck seldom lasts a second.
    "frame": replace(SETTINGS["frame"], factor=1.3, **_IN_NOISE),
    "trunk": replace(SETTINGS["trunk"], factor=1.6, smooth_s=0.2, **_IN_NOISE),
}
LEVEL_STEP_S = 0.1
"""The envelope is looked at this often to find floor and threshold."""
QUIET_S = 2.0
"""The floor is the mean of the quietest unbroken stretch of this length."""
NEAR = 1.5
"""... or rather the middle of all that is no louder than this many times: the quietest of many is quiet by luck."""
SHORTEST_S = 1.0
"""Shorter than this is a knock on the chair or a twitch, no movement."""
QUIETEST = (
    "Stillness was judged from the quietest part of the recording; 60 s at rest, named as the floor, give a better"
    " measure."
)
RESTLESS = (
    "No two seconds of this recording are quiet enough to be stillness, so all of it may be movement. "
    "Record 60 s at rest, with the chair's power on, in front of the trial."
)
HIDDEN = " The sensor's own noise ({floor:.0f} mg) hides movement below {threshold:.0f} mg, which counts as still."


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
    raw = short_means(grid, SETTINGS[placement].step_s)
    look = _look(raw, SETTINGS[placement])
    span = (raw.start_s, raw.start_s + len(grid.values) / grid.rate_hz)
    if not np.isfinite(look.level).any():
        return Motion(*span, (), (span,), note="Nothing was measured long enough to tell movement from stillness.")
    noisy = _noise_rules(grid, look, floor_mg)
    if noisy:
        look = _look(raw, NOISE[placement])
    floor, note = _floor(look) if noisy or floor_mg is None else (floor_mg, "")
    note = note if floor_mg is None else ""
    if noisy and floor > SETTINGS[placement].floor_most_mg:
        note += HIDDEN
    threshold = _threshold(look, floor)
    state = _states(look, threshold)
    smooth_s = look.setting.edge_smooth_s
    means = look.means if smooth_s is None else smoothed(raw, smooth_s)
    first, last = sharpened(means, state, threshold, look.setting.growing)
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
        note.strip().format(floor=floor, threshold=threshold),
    )


def parked_floor(grid: Grid, placement: str) -> float | None:
    """Level of a stretch in which nothing moves: a chair parked with its power on, a hand at rest [mg].

    The middle of the envelope; None if nothing was measured.
    """
    setting = SETTINGS[placement]
    level = envelope(smoothed(short_means(grid, setting.step_s), setting.smooth_s), setting.window_s)
    level = level[np.isfinite(level)]
    return float(np.median(level)) if len(level) else None


class _Look(NamedTuple):
    """A recording under one setting: short means, their envelope [mg], level [mg] and begin [s] of its quietest 2 s."""

    setting: Settings
    means: Means
    level: Floats
    quiet_mg: float
    quiet_s: float

    @property
    def sparse(self) -> Floats:
        """The envelope every tenth of a second: it covers half a second anyway."""
        return self.level[:: max(int(LEVEL_STEP_S / self.means.step_s), 1)]


def _look(raw: Means, setting: Settings) -> _Look:
    means = smoothed(raw, setting.smooth_s)
    level = envelope(means, setting.window_s)
    return _Look(setting, means, level, *quietest(level, means, QUIET_S, LEVEL_STEP_S))


def _noise_rules(grid: Grid, look: _Look, floor_mg: float | None) -> bool:
    """Whether the sensor's own noise is the stillness of a recording, and sets its threshold."""
    still = floor_mg is None or look.quiet_mg < NEAR * floor_mg
    loud = look.setting.noise_from_mg < look.quiet_mg < np.inf
    return still and loud and is_noise(grid.between(look.quiet_s, look.quiet_s + QUIET_S).values)


def _floor(look: _Look) -> tuple[float, str]:
    """Level of the quietest stretch of 2 s and of all that is like it [mg], and what to say of it."""
    if look.quiet_mg > look.setting.floor_most_mg:
        return look.setting.floor_most_mg, RESTLESS
    near = look.sparse[look.sparse < NEAR * look.quiet_mg]
    return float(np.median(near)) if len(near) else look.quiet_mg, QUIETEST


def _threshold(look: _Look, floor: float) -> float:
    """Between floor and movement on a scale of ratios, within the settings' limits [mg]."""
    setting, level = look.setting, look.sparse
    least = max(floor * setting.factor, setting.least_mg)
    most = max(setting.most_mg, least)
    loud = level[level > most]
    between = float(np.sqrt(max(floor, 0.1 * setting.least_mg) * np.percentile(loud, 75))) if len(loud) else most
    return min(max(between, least), most)


def _states(look: _Look, threshold: float) -> States:
    """Still, moving or unknown for each short mean: flicker and dips joined, knocks taken out."""
    means, setting = look.means, look.setting
    known = np.isfinite(look.level)
    level = np.where(known, look.level, 0.0)
    found = runs(np.where(known, level > setting.keep * threshold, UNKNOWN).astype(np.int8))
    sure = np.add.reduceat(level, found.first) >= threshold * found.length
    found = runs(painted(found, np.where((found.state == MOVING) & ~sure, np.int8(STILL), found.state)))
    between = (found.before() == MOVING) & (found.after() == MOVING)
    dip = (found.state == STILL) & between & (found.length <= means.steps(setting.lull_s))
    found = runs(painted(found, np.where(dip, np.int8(MOVING), found.state)))
    short = (found.state == MOVING) & (found.length < means.steps(SHORTEST_S))
    beside = (found.before() == UNKNOWN) | (found.after() == UNKNOWN)  # may be the rest of something longer
    return painted(found, np.where(short, np.where(beside, np.int8(UNKNOWN), np.int8(STILL)), found.state))


def _spans(means: Means, first: Indices, last: Indices, until_s: float) -> Spans:
    """Indices as seconds; what reaches the last mean reaches the end."""
    begin = means.start_s + first * means.step_s
    end = np.where(last == len(means.measured), until_s, means.start_s + last * means.step_s)
    return tuple((float(a), float(b)) for a, b in zip(begin, end, strict=True))
