"""Resting heart rate from a rest phase: the time-weighted mean of its last minute.

Why the last minute: the steadiest stretch near the end counts, not the lowest beat; five quiet minutes and the
mean of the last one are common practice. Other definitions (lowest value and all within 3 beats of it, mean of
the five lowest) give other numbers from the same recording, and in a study of children the share of time above
1.5 times rest moved by 16–65 % with the definition alone (Logan 2000). So there is one definition here, it has a
name, and it is the same for a baseline and its re-test.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import BasisError
from ..words.message import Message
from ..words.numbers import below, nearest
from ..words.render import english
from .level_rate import Level, how_long
from .messages import heart_rate as say

DEFINITION = "time-weighted mean of the last 60 s of the rest phase"

LAST_S = 60.0
"""Length of the stretch that is averaged [s]. Common practice."""

MINIMUM_MEASURED_S = 30.0
"""Less measured time than this gives no rest [s]. Common practice."""

MINIMUM_COVERAGE = 80.0
"""Less than this share of the stretch measured gives no rest [%]. Common practice."""

GOOD_COVERAGE = 90.0
"""Less than this share of the stretch measured gives a note [%]. Common practice."""

TREND_S = 120.0
"""Length of the stretch whose slope tells whether the rate was still falling [s]. Common practice."""

ROUNDING = 1e-6
"""A minute cut into samples may add up to a hair less than a minute."""

FALLING = -1.0
"""A slope below this is "still falling" [/min per min]. Common practice; the pulse of breathing alone can reach
it within two minutes, so it gives a note and no refusal."""

HIGH_REST_BPM = 110.0
"""A rest above this gives a note [/min]: excitement is likelier than such a rest. A plausibility check for
school age, never a norm."""


@dataclass(frozen=True, slots=True)
class RestRate:
    """A resting heart rate [/min], the stretch it was taken from [s], how much of it was measured [%]."""

    bpm: float
    from_s: float
    until_s: float
    coverage_percent: float
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What was measured between two moments: middles and lengths of the pieces [s], their heart rates [/min]."""

    middle_s: NDArray[np.float64]
    length_s: NDArray[np.float64]
    bpm: NDArray[np.float64]

    @property
    def measured_s(self) -> float:
        return float(np.sum(self.length_s))

    @property
    def mean_bpm(self) -> float:
        return float(np.average(self.bpm, weights=self.length_s))


def rest_rate(
    start_s: ArrayLike,
    held_s: ArrayLike,
    bpm: ArrayLike,
    *,
    from_s: float,
    until_s: float,
    level: Level | None = None,
) -> RestRate:
    """Resting heart rate of a rest phase: see ``DEFINITION``.

    Parameters
    ----------
    start_s : array_like, shape (n,)
        [s]; where each heart rate begins to stand
    held_s : array_like, shape (n,)
        [s]; how long it stands; pieces do not overlap
    bpm : array_like, shape (n,)
        [/min]; NaN is time not measured, as is time that no piece covers
    from_s, until_s : float
        [s]; the rest phase
    level : Level or None
        a stretch of one rate that was set aside, to be told where too little is left

    Returns
    -------
    RestRate, with notes on a phase under a minute, gaps, a rate that still falls, and a very high rate

    Raises
    ------
    BasisError
        If the phase has no length, or too little of its last minute was measured.
    """
    if not until_s > from_s:
        raise BasisError(
            f"the rest phase ends at {until_s:g} s, which is not after its start at {from_s:g} s.",
            mend="Check the times of the rest phase.",
        )
    first_s = max(from_s, until_s - LAST_S)
    last = _between(start_s, held_s, bpm, first_s, until_s)
    coverage = 100.0 * last.measured_s / (until_s - first_s)
    _check_enough(last.measured_s, coverage, level)
    trend = _slope(_between(start_s, held_s, bpm, max(from_s, until_s - TREND_S), until_s))
    notes = _notes(last.mean_bpm, until_s - from_s, coverage, trend)
    return RestRate(last.mean_bpm, first_s, until_s, coverage, notes)


def _slope(stretch: _Stretch) -> float:
    """Slope of the least-squares line through a stretch, weighted by time [/min per min]; NaN without two pieces."""
    if len(stretch.bpm) < 2:
        return float("nan")
    offset_s = stretch.middle_s - np.average(stretch.middle_s, weights=stretch.length_s)
    # The second term is the spread of time inside each piece, so that the cut into pieces does not matter.
    spread = np.sum(stretch.length_s * (offset_s**2 + stretch.length_s**2 / 12.0))
    return 60.0 * float(np.sum(stretch.length_s * offset_s * (stretch.bpm - stretch.mean_bpm)) / spread)


def _between(start_s: ArrayLike, held_s: ArrayLike, bpm: ArrayLike, from_s: float, until_s: float) -> _Stretch:
    start = np.asarray(start_s, dtype=np.float64)
    rate = np.asarray(bpm, dtype=np.float64)
    end = np.minimum(start + np.asarray(held_s, dtype=np.float64), until_s)
    start = np.maximum(start, from_s)
    inside = (end > start) & np.isfinite(rate)
    return _Stretch((start + end)[inside] / 2.0, (end - start)[inside], rate[inside])


def _check_enough(measured_s: float, coverage: float, level: Level | None) -> None:
    too_little = measured_s < MINIMUM_MEASURED_S - ROUNDING or coverage < MINIMUM_COVERAGE - ROUNDING
    if too_little and level is not None:
        raise BasisError(
            f"heart rate stayed level at {level.bpm:g} /min for {english(how_long(level.length_s))} at rest, as if the"
            " sensor had stopped, so it gives no resting heart rate.",
            mend="If a pacemaker sets the rate, write that condition down. Otherwise give a resting heart rate measured"
            " another way, or repeat the rest with the sensor checked.",
        )
    mend = (
        "If a resting heart rate is on record, leave the rest phase out and it counts. Otherwise give one measured"
        " another way, or repeat the rest with the sensor checked."
    )
    if measured_s < MINIMUM_MEASURED_S - ROUNDING:
        raise BasisError(
            f"only {below(measured_s, MINIMUM_MEASURED_S)} s of heart rate were measured at the end of the rest phase;"
            f" {nearest(MINIMUM_MEASURED_S)} s are needed for a resting heart rate.",
            mend=mend,
        )
    if coverage < MINIMUM_COVERAGE - ROUNDING:
        raise BasisError(
            f"heart rate was measured for only {below(coverage, MINIMUM_COVERAGE)} % of the stretch at the end of the"
            f" rest phase; {MINIMUM_COVERAGE:g} % are needed for a resting heart rate.",
            mend=mend,
        )


def _notes(bpm: float, phase_s: float, coverage: float, trend: float) -> tuple[Message, ...]:
    found = (
        (phase_s < LAST_S, say.found_short_rest(phase_s)),
        (coverage < GOOD_COVERAGE - ROUNDING, say.found_rest_gaps(coverage, GOOD_COVERAGE)),
        (trend < FALLING, say.found_rest_falling(trend)),
        (bpm > HIGH_REST_BPM, say.found_rest_high(bpm)),
    )
    return tuple(note for applies, note in found if applies)
