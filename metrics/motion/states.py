"""A recording under one setting, and its short means told apart by one threshold: still, moving or unknown."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .edges import MOVING, STILL, UNKNOWN, States, painted, runs
from .envelope import WINDOW_S, Means, envelope, quietest, smoothed

LEVEL_STEP_S = 0.1
"""The envelope is looked at this often to find floor and threshold."""
QUIET_S = 2.0
"""The floor is the mean of the quietest unbroken stretch of this length."""
SHORTEST_S = 1.0
"""Shorter than this is a knock on the chair or a twitch, no movement."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Settings:
    """How movement shows at one placement. No value here is an intensity; all are common practice, no source.

    step_s, smooth_s : length of the short means and of their running mean: what is faster is not movement here  [s]
    least_mg : threshold where stillness shows no noise at all  [mg]
    factor : the threshold is at least this many floors
    most_mg : where movement is far above the floor, the threshold may rise up to this  [mg]
    floor_most_mg : a quietest stretch louder than this is not stillness; its floor is taken as this  [mg]
    rest_most_mg : nothing at rest is louder than this, however loud its quietest stretch  [mg]
    wander : stillness may rise to so many floors for a while, and is stillness all the same
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
    rest_most_mg: float
    wander: float
    window_s: float = WINDOW_S
    keep: float = 0.8
    lull_s: float = 0.6
    edge_smooth_s: float | None = None
    growing: float = 0.5
    noise_from_mg: float = np.inf


class Look(NamedTuple):
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


def look_at(raw: Means, setting: Settings) -> Look:
    """The envelope of short means under a setting, and where it is quietest."""
    means = smoothed(raw, setting.smooth_s)
    level = envelope(means, setting.window_s)
    return Look(setting, means, level, *quietest(level, means, QUIET_S, LEVEL_STEP_S))


def states(look: Look, threshold: float) -> States:
    """Still, moving or unknown for each short mean: flicker and dips joined, knocks taken out.

    Parameters
    ----------
    threshold : of the envelope  [mg]
    """
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
