"""The sentences of a rhythm: what is counted, over how much of the movement, and what was left out."""

import numpy as np
from numpy.typing import NDArray

from ...words.numbers import nearest, rounded
from .cycle_count import FASTEST, SLOWEST, Counted, Other

SAMPLES_A_CYCLE = 8.0
"""Four to each cycle of the second harmonic: with fewer, a cadence is not given. Common practice, no source."""
LIKE_HALVES = 0.5
"""From this likeness on the halves of a cycle are told as such. Real walks at the waist reach 0.98 to 1.13, a real
shank 0.02, real arms of walkers and runners and made pushes less than 0."""
NO_RHYTHM = "No rhythm was found: the movement did not repeat itself evenly for 8 s or longer."
_EVERY_SECOND = 1.03  # likeness two cycles later over one later: 1 or less where every cycle is alike

Floats = NDArray[np.float64]


def paired(half: float | None) -> bool:
    """Whether a cycle surely holds two halves that are alike."""
    return half is not None and half >= LIKE_HALVES


def resolution(span_s: float) -> float:
    """Difference of cadence that a stretch can show [/min]: 60 / span. A smaller change is none to report."""
    return 60.0 / span_s


def cycles_note(mean: float, half: float | None) -> str:
    """Say what is counted."""
    return " ".join(("Whole cycles are counted.", *halves_note(mean, half)))


def halves_note(mean: float, half: float | None) -> tuple[str, ...]:
    """Say so where a cycle holds two halves that are alike."""
    if not paired(half):
        return ()
    return (
        "Each holds two halves that are alike, as steps are, or left and right arm in turn: "
        f"{nearest(mean)} cycles a minute are {nearest(2 * mean)} halves.",
    )


def steps_note(mean: float, half: float | None) -> str:
    """Say what is counted on the trunk of somebody who may walk: steps are told only where both are sure."""
    if paired(half):
        return f"strides, each of two steps that are alike: {nearest(2 * mean)} steps a minute"
    return "whole cycles; whether one of them is one step or two cannot be told"


def resolution_note(rhythmic_s: float) -> str:
    """Say which change is too small to show."""
    return (
        f"A change of cadence of less than {rounded(resolution(rhythmic_s), 1)} /min is below what "
        f"{nearest(rhythmic_s)} s can show."
    )


def share_note(counted: Counted) -> str:
    """Say how much of the movement had the rhythm."""
    share = 100.0 * counted.rhythmic_s / counted.moving_s
    return f"A rhythm was found in {nearest(share)} % of the {nearest(counted.moving_s)} s of movement."


def others_note(apart: tuple[Other, ...]) -> str:
    """Say which bouts are left out for their other rhythm."""
    if not apart:
        return ""
    first = max(apart, key=lambda other: other.until_s - other.from_s)
    span = f"from {nearest(first.from_s)} s to {nearest(first.until_s)} s"
    where = f"{span}, near {nearest(first.per_minute)} cycles a minute"
    if len(apart) == 1:
        return f"Movement of quite another rhythm is left out: {where}."
    return f"{len(apart)} bouts of quite another rhythm are left out, the longest {where}."


def turns_note(doubles: Floats, counted: Counted) -> str:
    """Say so where every second cycle is a little different: the double, just not by enough to be taken."""
    doubles = doubles[np.isfinite(doubles)]
    if not len(doubles) or np.median(doubles) < _EVERY_SECOND:
        return ""
    return (
        f"Every second cycle differs a little from the one between: if left and right move in turn, two of them are "
        f"one, and {nearest(counted.cycle_count)} are {nearest(counted.cycle_count / 2)}."
    )


def too_slow(rate_hz: float, fastest: float, up_to: float | None) -> str:
    """Say why a sensor's rate gives no rhythm at all."""
    wanted = up_to or 2 * SLOWEST
    return (
        f"No rhythm is given: at {rate_hz:.3g} samples a second a cadence above {nearest(fastest)} /min cannot be "
        "told. Set "
        f"the sensor to at least {nearest(np.ceil(wanted * SAMPLES_A_CYCLE / 60.0))} samples a second."
    )


def fast_note(rate_hz: float, fastest: float) -> str:
    """Say that some of the movement is too fast for the sensor's rate."""
    return (
        f"Some of the movement seems faster than {nearest(fastest)} /min, the most that {rate_hz:.3g} samples a "
        "second can "
        "show: no cadence is given there. Set the sensor to at least "
        f"{nearest(np.ceil(FASTEST * SAMPLES_A_CYCLE / 60.0))}."
    )
