"""How a recorder wrote its values, as far as what is left of a recording tells: in which step, and when.

A recorder that writes in equal steps and loses some leaves steps that are whole multiples of the usual one. One that
writes when the value changes leaves the same on a clock of whole seconds, but never writes one value twice in a row.
How much the stamps prove is counted in bits against the nearest other explanation: a recorder twice as fast that lost
values at random. It would put a step on the doubled grid by chance once in two times at the most (once in four where no
value is missing), so that twenty bits stand for one chance in a million. The limits are common practice, no source.
"""

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

ASSUMED_S = 1.0
"""The most that a value vouches for where the recording cannot show its step: the usual one of straps and watches."""
COARSE_S = 0.1
"""Stamps that count in this or more show the shortest step that can be; finer ones leave room for uneven steps."""
ENOUGH_BITS = 20.0
NEAR = 0.25
"""A step agrees with a whole multiple of the usual one to within this share of the usual one."""
LEAST_STEP = 0.5
"""A step shorter than this share of the usual one is a fault of the clock, not how long a value stood."""
_SHORTER_SHARE = 0.1  # a regular recorder that loses samples makes steps longer, hardly ever shorter
_MOST_MULTIPLE = 8  # longer steps tell nothing: the usual one is not known well enough to count them
_UNEVEN_SHARE = 0.2  # more of the steps must lie off every grid before stamps are called uneven
_FEW_STEPS = 100  # fewer cannot be called uneven
_KNOWN_SHARE = 0.1  # a grid for which more of the steps are too long says nothing: they came in bursts
MOSTLY_WHOLE = 0.8
"""Where so many steps are the usual one, hardly anything is missing, whatever the values do."""
_LEAST_CHANGES, _CHANGES_PER_EQUAL = 30, 40  # of 30 least changes chance would make 15 equal pairs: none is 1 in 10⁶
_CANDIDATES = 11  # steps from the shortest to the middle one: with seven in ten lost three in ten are the usual one

Floats = NDArray[np.float64]
Kind: TypeAlias = Literal["regular", "on_change", "uneven", "unclear"]


@dataclass(frozen=True, slots=True)
class Sampling:
    """How a recorder wrote its values.

    step_s : the usual step; ``uneven``: the shortest; ``unclear``: what is assumed [s]; None: there is only one moment
    kind : ``regular``: in equal steps, of which some may be missing; ``on_change``: when the value changed;
        ``uneven``: the steps agree with nothing; ``unclear``: too little is left to tell
    vouches_s : what a value vouches for when the next is missing: never more than the shortest true step [s]
    whole_share : share of the steps that are the usual one, 0 to 1
    usual_s : the step that the others agree with best, proven or not [s]
    """

    step_s: float | None
    kind: Kind
    vouches_s: float = 0.0
    whole_share: float = 0.0
    usual_s: float | None = None

    @property
    def regular(self) -> bool:
        """Whether it wrote in equal steps (samples may be missing)."""
        return self.kind == "regular"

    @property
    def held_on(self) -> bool:
        """Whether a value is taken to stand until the next: only now and then was something written."""
        return self.kind in ("on_change", "uneven")


def sampling(time_s: Floats, values: Floats | None = None) -> Sampling:
    """Find how a recorder wrote from its time stamps in order, shape (n,), and the values beside them [any unit].

    Without values nothing is taken to be written on change. NaN and 0 are "no value".
    """
    steps = np.sort(np.diff(time_s))
    steps = steps[np.searchsorted(steps, 0.0, side="right") :]
    if not len(steps):
        return Sampling(None, "unclear")
    grids = _grids(steps)
    grid = max(grids, key=lambda each: each.bits)
    proven, shortest = grid.bits >= ENOUGH_BITS, float(steps[0])
    if grid.whole_share < MOSTLY_WHOLE and values is not None and _written_on_change(values):
        step_s = min(shortest, grid.step_s if proven else ASSUMED_S)
        return Sampling(step_s, "on_change", step_s, grid.whole_share, grid.step_s)
    clock_s = _clock_s(steps)
    sure = 1.0 if clock_s >= COARSE_S else 1.0 - NEAR
    if proven:
        long_enough = float(steps[np.searchsorted(steps, LEAST_STEP * grid.step_s)])
        return Sampling(grid.step_s, "regular", min(long_enough, sure * grid.step_s), grid.whole_share, grid.step_s)
    uneven = len(steps) >= _FEW_STEPS and min(each.off_share for each in grids) > _UNEVEN_SHARE
    if uneven and clock_s < COARSE_S:  # on a coarse clock any steps lie on a grid
        return Sampling(min(ASSUMED_S, shortest), "uneven", min(ASSUMED_S, shortest), grid.whole_share, grid.step_s)
    step_s = min(ASSUMED_S, shortest, grid.step_s, clock_s if sure == 1.0 else math.inf)
    return Sampling(step_s, "unclear", sure * step_s, grid.whole_share, grid.step_s)


@dataclass(frozen=True, slots=True)
class _Grid:
    """A step, how surely others are whole multiples of it, the share that it is itself, and the share that misfits.

    Misfits are counted among the steps that are not too long; 1 where most are.
    """

    step_s: float
    bits: float
    whole_share: float
    off_share: float


def _grids(steps: Floats) -> list[_Grid]:
    """Every grid worth a look; the first that is proven and nearly whole ends the search."""
    picked = steps[np.linspace(0.0, 0.5 * (len(steps) - 1), _CANDIDATES).astype(int)]
    found: list[_Grid] = []
    for candidate in dict.fromkeys(picked[::-1].tolist()):  # the middle one first: mostly it is the usual one
        found.append(_fitted(steps, candidate))
        if found[-1].bits >= ENOUGH_BITS and found[-1].whole_share >= MOSTLY_WHOLE:
            break
    return found


def _fitted(steps: Floats, candidate: float) -> _Grid:
    """How well sorted steps lie on whole multiples of a candidate, which is first moved to the middle of those near."""
    first = int(np.searchsorted(steps, (1 - NEAR) * candidate))
    last = int(np.searchsorted(steps, (1 + NEAR) * candidate, side="right"))
    step_s = float(steps[(first + last) // 2])
    multiple = np.maximum(np.rint(steps / step_s), 1.0)
    on = np.abs(steps - multiple * step_s) <= NEAR * step_s
    known = multiple <= _MOST_MULTIPLE
    shorter = int(np.searchsorted(steps, (1 - NEAR) * step_s))
    whole_share = float((on & (multiple == 1)).mean())
    if known.mean() < _KNOWN_SHARE:
        return _Grid(step_s, 0.0, whole_share, 1.0)
    off = int((known & ~on).sum())
    bits = _bits(multiple[on & known], off) if shorter <= _SHORTER_SHARE * len(steps) else 0.0
    return _Grid(step_s, bits, whole_share, off / int(known.sum()))


def _bits(multiples: Floats, off: int) -> float:
    """How much likelier steps are on this grid than on one twice as fine, with the best rate of loss for each [bit].

    Each way in which ``off`` of them could be the odd ones out takes its share away.
    """
    count, mean = len(multiples), float(multiples.mean())
    chances = math.lgamma(count + off + 1) - math.lgamma(count + 1) - math.lgamma(off + 1)
    return count * (_log_chance(mean) - _log_chance(2.0 * mean)) - chances / math.log(2.0)


def _log_chance(mean: float) -> float:
    """Mean logarithm of a step's chance where each value is written with chance 1/mean [bit]."""
    return -math.log2(mean) + ((mean - 1.0) * math.log2(1.0 - 1.0 / mean) if mean > 1.0 else 0.0)


def _clock_s(steps: Floats) -> float:
    """The unit in which the stamps count, a whole part of a second, as far as steps in milliseconds show it [s]."""
    return int(np.gcd.reduce(np.rint(1000.0 * steps).astype(np.int64), initial=1000)) / 1000.0


def _written_on_change(values: Floats) -> bool:
    """Tell whether values next to each other are never the same, though many differ by the least there is.

    Where a recorder loses values by chance, the same value stands twice in a row at least half as often as two values
    differ by the least step, because small changes of a heart rate are commoner than large ones.
    """
    known = values > 0
    change = np.abs(np.diff(values))[known[1:] & known[:-1]]
    changed = change[change > 0]
    if not len(changed):
        return False
    least = int((changed <= 1.5 * changed.min()).sum())
    equal = len(change) - len(changed)
    return least >= _LEAST_CHANGES and equal * _CHANGES_PER_EQUAL <= least
