"""Whether a waveform is an ECG or a pulse wave, from its shape, where no word says so."""

import numpy as np
from numpy.typing import NDArray

from .recording import ECG, PULSE
from .wave_runs import Run, band_passed

PEAKED, SHARP_SHARE = 1.5, 0.15
"""An ECG has more kurtosis (excess) between 5 and 30 Hz than noise, and a larger share of its power above 8 Hz than a
pulse wave. Measured, at 50 to 210 beats a minute: ECGs 2.7 to 20 and 0.20 to 0.92, pulse waves 0.1 to 3.7 and 0.00 to
0.09, normal noise 0 and 0.73."""

_PIECE_S = 10.0
_SHARP_HZ, _SHARPER_HZ, _WHOLE_HZ = (5.0, 30.0), (8.0, 30.0), (0.6, 30.0)


def kind_of_shape(runs: list[Run]) -> str:
    """``ECG`` where the sharp part of the signal is large and stands in rare, high peaks, else ``PULSE``.

    Medians over pieces of 10 s are asked, so that a few knocks on the sensor do not make a pulse wave an ECG.
    """
    found: list[tuple[float, float]] = []
    for run in runs:
        if run.rate_hz < 2 * _SHARP_HZ[1]:
            continue
        sharp, sharper, whole = (band_passed(run, band) for band in (_SHARP_HZ, _SHARPER_HZ, _WHOLE_HZ))
        size = round(_PIECE_S * run.rate_hz)
        for begin in range(0, max(len(whole) - size, 1), size):
            piece = slice(begin, begin + size)
            power = float(whole[piece].var())
            if power > 0:
                found.append((_kurtosis(sharp[piece]), float(sharper[piece].var()) / power))
    if not found:
        return PULSE
    peaked, share = np.median(found, axis=0)
    return ECG if peaked > PEAKED and share > SHARP_SHARE else PULSE


def _kurtosis(values: NDArray[np.float64]) -> float:
    """Fourth moment over the square of the second, less the 3 of normal noise."""
    square = (values - values.mean()) ** 2
    spread = float(square.mean())
    return float((square**2).mean()) / spread**2 - 3 if spread > 0 else 0.0
