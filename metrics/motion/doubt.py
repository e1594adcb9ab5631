"""Where movement and stillness cannot be told apart: near the threshold, at edges, in short bursts and in noise.

Nothing here changes what counts as movement. It says which moments could as well have been the other, so that bounds
can hold what a perfect sensor would have given.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .edges import MOVING, STILL, Edges, Indices, States, painted, runs
from .envelope import Means, running_sum
from .states import QUIET_S, Look, states

LOWER, UPPER = 0.5, 1.5
"""Between these shares of the threshold a level is neither surely stillness nor surely movement ..."""
DIP_S = 0.3
"""A dip in a movement that is longer than this may be a pause: within the envelope's window it looks shorter. [s]"""
LOUDER = 1.5
"""Like the quietest stretch is what is less than this many times as loud."""
BURST_S, ASIDE_S = 3.0, 2.5
"""A movement shorter than this, with so much stillness on both sides, may be a spasm. Common practice, no source."""
RARE = 1 / 3
"""... where it lasts less than this share of the usual movement; where all are short, it is one of them."""
EASE_S = 0.15
"""Nothing moves at once: the first and last moments of a movement lie below what any sensor shows. Made movements that
grow within 0.3 s are seen 0.02 to 0.2 s late."""

HIDDEN_S = (2.0, 5.0, 15.0)
"""Over so long the power of the noise is held against its quietest stretch: the longer, the weaker a movement shows."""
CLEAR, CLEAR_ROLLING = 1.25, 2.0
"""Noise hides no movement where the weakest that was found is this many times the threshold: pushes and strides, which
have a rhythm, or rolling, which a smooth floor makes far weaker than a rough one does. Set on made trials: with the
first for rolling too, the bounds missed in 16 of 66 power chairs with 10 to 22 mg of noise on each axis; with the
second most are refused (``tests/bench/motion_accuracy.py``). In 85 push chairs they missed in none with the first."""
UNEVEN = 0.15
"""Resampling by straight lines takes some of a noise's power, by a little more or less as the two clocks shift."""
SURE, LEAST_LUCK = 3.0, 0.5
"""So many deviations above the usual are no chance. The quietest stretch is no quieter by luck than half the usual."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def doubtful(
    look: Look, sides: tuple[float, float], state: States, onset: Edges, end: Edges, restless_s: float = 0.0
) -> Bools:
    """Which short means could as well be the other: stillness for movement, movement for stillness, shape (n,).

    Parameters
    ----------
    sides : levels below and above which there is no doubt  [mg]
    state : still, moving or unknown, shape (n,)
    onset, end : edges of the movements
    restless_s : stillness beside an edge may be taken for movement over this long: a trunk that sways  [s]
    """
    going = filled(onset.best, end.best, len(state))
    low, high = sides
    means, window_s = look.means, look.setting.window_s
    rest = look._replace(level=np.where(going, 0.0, look.level))
    out = _lasting(states(rest, low) == MOVING, means.steps(window_s + 0.1))
    dips = look._replace(setting=replace(look.setting, lull_s=DIP_S))
    out |= _lasting(going & (states(dips, high) != MOVING), means.steps(window_s / 2 + 0.15))
    outer, inner = look.means.steps(EASE_S), look.means.steps(restless_s)
    out |= _margins(onset.early - outer, onset.late + inner, state, onset.best - 1)
    out |= _margins(end.early - inner, end.late + outer, state, end.best)
    return out & np.isfinite(look.level)


def zone(look: Look, threshold: float, floor: float, going: Bools, *, restless: bool = False) -> tuple[float, float]:
    """Levels below and above which there is no doubt [mg].

    Never below what stillness wanders to, nor above halfway (as a ratio) to the weaker quarter of the movement itself.
    In a *restless* recording, whose quietest stretch is too loud for stillness, all that is like it is doubtful.
    """
    setting = look.setting
    low = max(floor * setting.wander, LOWER * threshold)
    moved = look.level[going & np.isfinite(look.level)]
    usual = float(np.percentile(moved, 25)) if len(moved) else np.inf
    high = min(UPPER * threshold, float(np.sqrt(threshold * max(usual, threshold))))
    if restless:
        high = max(high, min(LOUDER * look.quiet_mg, setting.rest_most_mg))
    return min(low, threshold), high


def filled(first: Indices, last: Indices, count: int) -> Bools:
    """Whether an index lies in one of the stretches, shape (count,)."""
    change = np.zeros(count + 1, np.int64)
    np.add.at(change, np.clip(first, 0, count), 1)
    np.add.at(change, np.clip(last, 0, count), -1)
    return np.cumsum(change[:-1]) > 0


def _lasting(found: Bools, least: int) -> Bools:
    """The runs of True that are at least this long."""
    each = runs(found.astype(np.int8))
    return painted(each, each.state * (each.length >= least).astype(np.int8)) > 0


def hidden(look: Look, going: Bools, threshold: float, *, sure: bool) -> Bools:
    """Stretches that are louder than the sensor's own noise, though no moment of them is loud enough, shape (n,).

    Noise is as loud in every stretch, to within what chance makes of it: its mean power over n independent values
    varies by √(2 / n). Weak rolling raises it by little, but for long. Where the weakest movement that was found is
    hardly above the threshold, others may lie below it, and all stillness is doubtful.

    Parameters
    ----------
    going : what was found to move, shape (n,)
    threshold : of the level  [mg]
    sure : whether it has a rhythm, or the noise is too weak to hide rolling
    """
    means, setting = look.means, look.setting
    level = np.nan_to_num(look.level)
    clear = CLEAR if sure else CLEAR_ROLLING
    if _weakest(level, going, means.steps(setting.window_s)) < clear * threshold:
        return np.isfinite(look.level) & ~going
    known = np.isfinite(look.level) & ~_near(going, means.steps(setting.window_s))
    power = np.where(known, np.minimum(level, threshold), 0.0) ** 2  # a knock counts for little
    independent = 3.0 / max(setting.smooth_s, means.step_s)
    out = np.zeros(len(known), bool)
    spread, length_s = np.sqrt(2 / (independent * QUIET_S)), len(known) * means.step_s
    least = _usual(look.quiet_mg**2, spread, length_s / QUIET_S)
    for seconds in HIDDEN_S:
        width = means.odd_steps(seconds)
        count = running_sum(known.astype(float), width)
        enough = known & (count >= width / 2)
        mean = running_sum(power, width) / np.maximum(count, 1.0)
        chance = np.sqrt(2 / np.maximum(independent * means.step_s * count, 1.0))
        if enough.any():
            quiet = int(np.where(enough, mean, np.inf).argmin())
            least = min(least, _usual(float(mean[quiet]), float(chance[quiet]), length_s / seconds))
        found = enough & (mean > least * (1 + SURE * chance) * (1 + UNEVEN))
        out |= _near(found, width // 4) & known
    return out


def _usual(quietest: float, spread: float, count: float) -> float:
    """The usual power of a noise from that of its quietest of so many stretches, each with a spread.

    The smallest of n normal values lies about √(2 ln n) - 0.5 deviations below their mean: 1.9 for 16, 2.6 for 120
    (normal scores: 1.8 and 2.6).
    """
    luck = max(np.sqrt(2 * np.log(max(count, 1.0))) - 0.5, 0.0)
    return float(quietest / max(1 - luck * spread, LEAST_LUCK))


def _weakest(level: Floats, going: Bools, edge: int) -> float:
    """Root mean square of the level in the weakest movement, its edges left out; infinite without movement [mg]."""
    found = runs(going.astype(np.int8))
    inside = (found.state == MOVING) & (found.length > 3 * edge)
    total = np.concatenate(([0.0], np.cumsum(level**2)))
    first, last = found.first[inside] + edge, found.last[inside] - edge
    power = (total[last] - total[first]) / (last - first)
    return float(np.sqrt(power.min())) if len(power) else np.inf


def _near(found: Bools, reach: int) -> Bools:
    """Whether one of them lies within so many places, shape (n,)."""
    if not found.any():
        return found
    return running_sum(found.astype(float), 2 * reach + 1) > 0.5


def bursts(first: Indices, last: Indices, state: States, means: Means) -> Bools:
    """Which movements are short and amid stillness, where movement usually lasts much longer, shape (n,).

    A spasm, a shiver or a knock, perhaps; it could as well be one push.

    Parameters
    ----------
    first, last : edges of the movements, shape (n,)
    state : still, moving or unknown for each short mean
    """
    length, aside, count = last - first, means.steps(ASIDE_S), len(state)
    if not len(length):
        return np.zeros(0, bool)
    order = np.sort(length)
    usual = order[np.searchsorted(np.cumsum(order), order.sum() / 2)]  # half of all movement lies in longer ones
    short = (length < means.steps(BURST_S)) & (length < RARE * usual)
    busy = np.concatenate(([0], np.cumsum(state != STILL)))
    before, behind = (
        busy[first] - busy[np.maximum(first - aside, 0)],
        busy[np.minimum(last + aside, count)] - busy[last],
    )
    return short & (before == 0) & (behind == 0)


def _margins(first: Indices, last: Indices, state: States, outside: Indices) -> Bools:
    """The surroundings of those edges behind which there is stillness that was measured."""
    inside = (outside >= 0) & (outside < len(state))
    still = inside & (state[np.clip(outside, 0, len(state) - 1)] == STILL)
    return filled(first[still], last[still], len(state))
