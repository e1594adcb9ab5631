"""Steps against the sway of a standing trunk: the threshold between the two, learnt from the recording itself.

Quiet standing moves a trunk by 3 to 20 thousandths of gravity at 0.1 to 1.5 Hz, which is as loud as weak steps or arm
work, and no rest in a seat shows it. But steps have a rhythm, and impacts; sway has neither. So the rhythm says which
stretches are steps for sure, and all that lies well away from them and is weaker is taken for stillness. Between the
two lies the threshold, in the envelope or, where sway is as loud as steps there, in what is too quick for sway.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .doubt import filled
from .edges import MOVING, UNKNOWN, Indices, States, runs
from .envelope import Means, quick_envelope, running_sum
from .grid import Grid
from .rhythm import rhythm
from .states import Look

SWAY_MOST_MG = 40.0
"""Sway alone stays below this. Sway of 20 mg forward and sideways shows 38 mg in one half second of a hundred."""
QUICK_S = 0.6
"""Length of the parabola that takes sway out [s]: of a swing of 0.5 Hz 1.5 % is left, of 1 Hz 11 %, of 1.5 Hz 30 %."""
IMPACT_MG, IMPACT_FLOORS = 10.0, 2.5
"""Impacts stand out of what is quick by this much, and by so many times its floor. Common practice, no source."""
SWELLS = 1.5
"""Sway rises to more than this many floors; what does not is the sensor's noise. Common practice."""
MARGIN, ROOMY = 1.4, 2.2
"""The threshold lies so far above the strongest stillness, unless steps are nearer: one swell in twenty is stronger.
Where sway is loud and steps are far louder it lies further up, and as far below them."""
APART = 1.5
"""Where steps are not so many times as loud as stillness in the envelope, what is quick may tell them better."""
SWAY_EDGE_S = 0.25
"""Sway beside an edge may be taken for a step over this long  [s]. On made trials: 19 edges in 20 hold to 0.3 s."""
ABRUPT, BESIDE_S = 3.0, (0.5, 2.0)
"""A movement this many times as loud as what lies from half a second to two seconds before and behind it is no sway."""
_REACH_S = 1.2  # a window of the rhythm speaks for its middle: they are 2 s apart
_ENOUGH_S = 3.0  # of stillness between steps; with less, that before and behind them counts too
_MUCH_S = 6.0  # less above the threshold may be the rest of a movement without a rhythm
_AWAY_S = 2.0  # further from steps than this, what is weaker than they are is stillness
_LEVEL_S = 0.7  # the levels of both are means over this long
_STEPS, _USUAL, _STILLNESS = 5.0, 20.0, 95.0  # percentiles: weakest steps, usual ones, and the strongest stillness

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Contrast:
    """What tells steps from standing: level of n short means, threshold, and the levels beyond which there is no doubt.

    level : the envelope, or what is too quick for sway on the envelope's scale, whichever is more; shape (n,)  [mg]
    threshold : of the level  [mg]
    sides : levels below and above which there is no doubt  [mg]
    quick_edges : whether edges show better in the changes from one short mean to the next, where sway is weak
    """

    level: Floats
    threshold: float
    sides: tuple[float, float]
    quick_edges: bool


class _Levels(NamedTuple):
    """How loud the weakest steps and the strongest stillness are in one feature [mg]."""

    steps: float
    still: float

    def threshold(self, least: float) -> float:
        """Above stillness, and below steps where there is room for both; further up where sway is loud.

        least : what served before  [mg]
        """
        near = min(MARGIN * self.still, float(np.sqrt(self.steps * self.still)))
        far = min(ROOMY * self.still, self.steps / ROOMY) if near > least else 0.0
        return max(near, far, least)


def contrast(grid: Grid, raw: Means, look: Look, state: States, threshold: float, floor: float) -> Contrast | None:
    """Tell steps from standing; None where the threshold serves as it is.

    Parameters
    ----------
    grid : acceleration, shape (n, 3)  [g]
    raw : short means of it, not smoothed
    look, state, threshold, floor : how movement was told from stillness before, by the envelope alone  [mg]
    """
    candidates = state == MOVING
    if threshold >= SWAY_MOST_MG:
        return None
    quick = quick_envelope(raw, QUICK_S)
    known = quick[np.isfinite(quick)]
    if not len(known):
        return None  # too short a recording to hold anything quick
    impact = max(IMPACT_MG, IMPACT_FLOORS * float(np.percentile(known, 10)))
    stepping, near = _stepping(grid, look.means, state) if candidates.any() else (candidates, candidates)
    stepping &= candidates
    if not stepping.any():
        level = np.maximum(look.level, quick)
        return Contrast(level, SWAY_MOST_MG, (0.7 * SWAY_MOST_MG, 1.5 * SWAY_MOST_MG), quick_edges=True)
    slow, fast = (_steady(level, look.means) for level in (look.level, quick))
    sway = ~near & ~_abrupt(slow, state, near, look.means) & (state != UNKNOWN)
    sway &= (slow < SWAY_MOST_MG) & (fast < impact)
    enough = look.means.steps(_ENOUGH_S)
    usual, rapid = (_levels(mean, stepping, sway, enough) for mean in (slow, fast))
    if np.count_nonzero(sway & (slow > threshold)) < look.means.steps(_MUCH_S):
        usual = usual._replace(still=min(usual.still, threshold))
    return None if usual.still < SWELLS * floor else _told(look.level, quick, (usual, rapid), threshold, impact)


def _told(level: Floats, quick: Floats, found: tuple[_Levels, _Levels], threshold: float, impact: float) -> Contrast:
    """The threshold in the envelope, with what is quick as a second sign of steps where it had to be raised."""
    slow, fast = found
    upper, quicker = slow.threshold(threshold), fast.threshold(MARGIN * fast.still) or impact
    if slow.steps < APART * slow.still:  # sway is as loud as steps: only what is quick tells
        upper = max(upper, MARGIN * slow.still)
    else:
        quicker = max(quicker, impact)
    room = min(max(slow.steps / (2 * slow.still), 1.0), MARGIN)  # where steps are far louder, stillness may be so too
    low = min(max(room * slow.still, 0.5 * upper), upper)
    high = min(1.5 * upper, max(float(np.sqrt(upper * slow.steps)), 1.25 * upper))
    both = np.maximum(level, quick * (upper / quicker)) if upper > threshold else level
    return Contrast(both, upper, (low, high), quick_edges=fast.steps > APART * fast.still > 0)


def _stepping(grid: Grid, means: Means, state: States) -> tuple[Bools, Bools]:
    """Which short means lie well inside a stretch of rhythm, and which lie near one, shape (n,) each."""
    found = runs(state)
    moving = found.state == MOVING
    begin, end = (means.start_s + edge[moving] * means.step_s for edge in (found.first, found.last))
    beat = rhythm(grid, list(zip(begin.tolist(), end.tolist(), strict=True)))
    rhythmic = np.isfinite(beat.per_minute)
    inside = rhythmic.copy()
    inside[1:] &= rhythmic[:-1]
    inside[:-1] &= rhythmic[1:]
    middle = (beat.time_s - means.start_s) / means.step_s
    out: list[Bools] = []
    for chosen, reach_s in ((inside, _REACH_S), (rhythmic, _AWAY_S)):
        reach = reach_s / means.step_s
        first, last = ((middle[chosen] + side * reach).astype(np.intp) for side in (-1, 1))
        out.append(filled(first, last, len(state)))
    return out[0], out[1]


def _abrupt(mean: Floats, state: States, near: Bools, means: Means) -> Bools:
    """Movements without a rhythm that stand out of what is before and behind them: sway swells and never does.

    shape (n,); a rhythm that is too short or too slow to be found is no reason to call a movement sway.
    """
    found = runs(state)
    moving = np.flatnonzero(found.state == MOVING)
    first, last = found.first[moving], found.last[moving]
    total = np.concatenate(([0.0], np.cumsum(mean)))
    rhythm_in = np.concatenate(([0], np.cumsum(near)))
    gap, length, count = means.steps(BESIDE_S[0]), means.steps(BESIDE_S[1]), len(mean)

    def level(begin: Indices, end: Indices) -> Floats:
        begin, end = np.clip(begin, 0, count), np.clip(end, 0, count)
        return (total[end] - total[begin]) / np.maximum(end - begin, 1)

    beside = np.maximum(level(first - length, first - gap), level(last + gap, last + length))
    out = (level(first, last) > ABRUPT * beside) & (rhythm_in[last] == rhythm_in[first])
    return filled(first[out], last[out], count)


def _steady(level: Floats, means: Means) -> Floats:
    """Running mean of a level, 0 where it is not known, shape (n,) [mg]."""
    known = np.isfinite(level)
    width = means.odd_steps(_LEVEL_S)
    return running_sum(np.where(known, level, 0.0), width) / np.maximum(running_sum(known.astype(float), width), 1.0)


def _levels(mean: Floats, stepping: Bools, sway: Bools, least: int) -> _Levels:
    """Weakest steps, and the strongest of what is weaker than usual steps."""
    steps = mean[stepping]
    weak = sway & (mean < np.percentile(steps, _USUAL))
    trial = np.flatnonzero(stepping)[[0, -1]]
    between = weak.copy()
    between[: trial[0]] = between[trial[1] :] = False
    weaker = mean[between if np.count_nonzero(between) >= least else weak]
    return _Levels(float(np.percentile(steps, _STEPS)), _strongest(np.sort(weaker)))


def _strongest(levels: Floats) -> float:
    """The strongest stillness in sorted levels: sway is seldom strong, so what lies above a hollow is a movement."""
    while len(levels):
        top = float(levels[int(_STILLNESS / 100 * (len(levels) - 1))])
        middle, high = np.searchsorted(levels, (0.5 * top, 0.8 * top))
        if high - middle >= min(len(levels) - high, middle):
            return top
        levels = levels[:high]
    return 0.0
