"""Training impulse: minutes weighted by how hard they were.

Source: Banister (1991), Morton (1990), for the method and examples; the constants are from memory. They come
from the blood lactate of trained adults and differ by sex. They were never checked in children, with a spinal
cord injury or in arm work, so this is a research figure. One public page uses 0.64 for both sexes; 0.86 is
followed here.
Departure from the source, which covers 0 ≤ x ≤ 1: time below rest counts nothing instead of a negative load, and
a share above 1 is weighted as it is, because clipping would hide a maximum that is too low.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import BasisError

WEIGHTS: Mapping[str, tuple[float, float]] = {"male": (0.64, 1.92), "female": (0.86, 1.67)}
"""Factor and exponent by sex. Banister (1991), Morton (1990), from memory."""


def impulse_weight(fraction_of_reserve: ArrayLike, sex: str | None) -> NDArray[np.float64]:
    """Impulse that one minute adds, x · factor · e^(exponent · x); summed over the minutes, the training impulse.

    Summed sample by sample: the weight bends upward, so that the impulse of a mean is too small.

    Parameters
    ----------
    fraction_of_reserve : array_like, any shape
        [1]; x, 0.5 for half the reserve; NaN stays NaN
    sex : str or None
        "male" or "female"; None where it was not recorded

    Returns
    -------
    ndarray, same shape  [1/min]; 0 below rest, never clipped above 1

    Raises
    ------
    BasisError
        If the sex is not recorded or is none of the two that constants were published for.
    """
    factor, exponent = _constants(sex)
    x = np.maximum(np.asarray(fraction_of_reserve, dtype=np.float64), 0.0)
    return x * factor * np.exp(exponent * x)


def _constants(sex: str | None) -> tuple[float, float]:
    if sex is None:
        raise BasisError(
            "the training impulse needs the student's sex, because its constants were published by sex.",
            mend="Record it, or leave this figure out.",
        )
    if sex not in WEIGHTS:
        raise BasisError(
            f"the training impulse has no published constants for {sex!r}.",
            mend=f"They exist for {' and '.join(WEIGHTS)}; otherwise leave this figure out.",
        )
    return WEIGHTS[sex]
