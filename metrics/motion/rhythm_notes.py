"""What is said of a rhythm: what is counted, over how much of the movement, and what was left out."""

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from ..messages import movement as say
from .cycle_count import FASTEST, SLOWEST, Counted, Other

SAMPLES_A_CYCLE = 8.0
"""Four to each cycle of the second harmonic: with fewer, a cadence is not given. Common practice, no source."""
LIKE_HALVES = 0.5
"""From this likeness on the halves of a cycle are told as such. Real walks at the waist reach 0.98 to 1.13, a real
shank 0.02, real arms of walkers and runners and made pushes less than 0."""
_EVERY_SECOND = 1.03  # likeness two cycles later over one later: 1 or less where every cycle is alike

Floats = NDArray[np.float64]


def paired(half: float | None) -> bool:
    """Whether a cycle surely holds two halves that are alike."""
    return half is not None and half >= LIKE_HALVES


def resolution(span_s: float) -> float:
    """Difference of cadence that a stretch can show [/min]: 60 / span. A smaller change is none to report."""
    return 60.0 / span_s


def halves_notes(mean: float, half: float | None) -> tuple[Message, ...]:
    """Say so where a cycle holds two halves that are alike."""
    return (say.rhythm_halves(mean, 2 * mean),) if paired(half) else ()


def over_note(mean: float, half: float | None, seconds: float, *, trunk: bool) -> Message:
    """What a cadence counts. On the trunk of somebody who may walk steps are told only where both are sure."""
    if not trunk:
        return say.note_cycles_over(seconds)
    return say.note_strides_over(2 * mean, seconds) if paired(half) else say.note_cycle_or_step_over(seconds)


def count_note(mean: float, half: float | None, seconds: float, *, trunk: bool) -> Message:
    """What a number of cycles counts, likewise."""
    if not trunk:
        return say.note_cycles_in(seconds)
    return say.note_strides_in(2 * mean, seconds) if paired(half) else say.note_cycle_or_step_in(seconds)


def resolution_note(rhythmic_s: float) -> Message:
    """Say which change is too small to show."""
    return say.rhythm_resolution(resolution(rhythmic_s), rhythmic_s)


def share_note(counted: Counted) -> Message:
    """Say how much of the movement had the rhythm."""
    return say.rhythm_share(100.0 * counted.rhythmic_s / counted.moving_s, counted.moving_s)


def others_note(apart: tuple[Other, ...]) -> Message | None:
    """Say which bouts are left out for their other rhythm; None if none is."""
    if not apart:
        return None
    longest = max(apart, key=lambda other: other.until_s - other.from_s)
    return say.rhythm_apart(len(apart), longest.from_s, longest.until_s, longest.per_minute)


def turns_note(doubles: Floats, counted: Counted) -> Message | None:
    """Say so where every second cycle is a little different: the double, just not by enough to be taken."""
    doubles = doubles[np.isfinite(doubles)]
    if not len(doubles) or np.median(doubles) < _EVERY_SECOND:
        return None
    return say.rhythm_in_turn(counted.cycle_count, counted.cycle_count / 2)


def too_slow(rate_hz: float, fastest: float, up_to: float | None) -> Message:
    """Say why a sensor's rate gives no rhythm at all."""
    return say.rhythm_too_slow_a_sensor(rate_hz, fastest, _rate_for(up_to or 2 * SLOWEST))


def fast_note(rate_hz: float, fastest: float) -> Message:
    """Say that some of the movement is too fast for the sensor's rate."""
    return say.rhythm_too_fast(fastest, rate_hz, _rate_for(FASTEST))


def _rate_for(per_minute: float) -> float:
    """The sampling rate that shows a cadence [Hz], whole."""
    return float(np.ceil(per_minute * SAMPLES_A_CYCLE / 60.0))
