"""Heart-rate reserve: how much of the room between rest and maximum is in use.

Source: Karvonen, Kentala & Mustala (1957), from memory; worked examples from a university course page.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import BasisError
from ..words.message import Message
from ..words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from .messages import heart_rate as say

NARROW_RESERVE_BPM = 40.0
"""Below this a beat more or less moves %HRR by over 2.5 points. Common practice, no source."""


LEAST_RESERVE_BPM = 20.0
"""Below this nothing is given that divides by the reserve: the class "light", a tenth of it, would be less than two
beats wide, which is what a whole-beat reading of rest and rate together leave open. Common practice, no source."""


def check_basis(rest_bpm: float, maximum_bpm: float) -> None:
    """Refuse a rest and maximum [/min] that span no reserve.

    Raises
    ------
    BasisError
        If either is not a positive number, or the maximum is not above the rest.
    """
    check_rate(rest_bpm, "the resting heart rate")
    check_rate(maximum_bpm, "the maximum heart rate")
    if maximum_bpm <= rest_bpm:
        raise BasisError(
            f"the maximum of {maximum_bpm:g} /min is not above the resting heart rate of {rest_bpm:g} /min.",
            mend="Check both numbers; they may have been swapped.",
        )


def check_rate(bpm: float, name: str) -> None:
    """Refuse a heart rate [/min] that no student shows, outside 30 to 230; ``name`` goes into the sentence.

    Raises
    ------
    BasisError
    """
    if not LOWEST_BPM <= bpm <= HIGHEST_BPM:
        mend = f"Give it in beats per minute, {LOWEST_BPM:g} to {HIGHEST_BPM:g}."
        raise BasisError(f"{name} of {bpm:g} /min is not a heart rate.", mend=mend)


def narrow_reserve_note(rest_bpm: float, maximum_bpm: float) -> Message | None:
    """Say that a reserve is so narrow that percent of reserve jumps with every beat; None if it is not."""
    check_basis(rest_bpm, maximum_bpm)
    reserve_bpm = maximum_bpm - rest_bpm
    if reserve_bpm >= NARROW_RESERVE_BPM:
        return None
    return say.caution_narrow(reserve_bpm, 100.0 / reserve_bpm)


def too_narrow(rest_bpm: float, maximum_bpm: float) -> bool:
    """Whether rest and maximum [/min] lie too close together to divide what is between them."""
    return maximum_bpm - rest_bpm < LEAST_RESERVE_BPM


def too_narrow_reason(rest_bpm: float, maximum_bpm: float) -> Message:
    """Why no figure of the reserve is given where ``too_narrow`` holds."""
    return say.why_no_division(maximum_bpm, maximum_bpm - rest_bpm, rest_bpm, LEAST_RESERVE_BPM)


def percent_reserve(heart_rate: ArrayLike, rest_bpm: float, maximum_bpm: float) -> NDArray[np.float64]:
    """Share of the heart-rate reserve in use, %HRR = 100 (HR − rest) / (maximum − rest).

    Parameters
    ----------
    heart_rate : array_like, any shape
        [/min]; NaN stays NaN
    rest_bpm, maximum_bpm : float
        [/min], rest < maximum

    Returns
    -------
    ndarray, same shape  [%]; below 0 under rest, above 100 over the maximum: not clipped, because a value
    outside 0–100 says that rest or maximum is wrong. Of whole beats, a whole percent comes out exact.

    Raises
    ------
    BasisError
        If the reserve is not positive.
    """
    check_basis(rest_bpm, maximum_bpm)
    # Multiplied before divided: of whole numbers the product is exact, and a division whose result is a
    # whole number is too, so that 40.0 is 40.0 at the edge of a class.
    return 100.0 * (np.asarray(heart_rate, dtype=np.float64) - rest_bpm) / (maximum_bpm - rest_bpm)


def target_heart_rate(percent: ArrayLike, rest_bpm: float, maximum_bpm: float) -> NDArray[np.float64]:
    """Heart rate at a share of the reserve, rest + percent/100 · (maximum − rest); never rounded.

    Parameters
    ----------
    percent : array_like, any shape
        [%]
    rest_bpm, maximum_bpm : float
        [/min], rest < maximum

    Returns
    -------
    ndarray, same shape  [/min]

    Raises
    ------
    BasisError
        If the reserve is not positive.
    """
    check_basis(rest_bpm, maximum_bpm)
    return rest_bpm + np.asarray(percent, dtype=np.float64) * (maximum_bpm - rest_bpm) / 100.0
