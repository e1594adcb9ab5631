"""Whether a waveform is an ECG or a pulse wave, from its shape, where no word says so."""

import numpy as np
from numpy.typing import NDArray

from ..recording import ECG, PULSE
from .runs import Run, band_passed

SPIKY = 0.6
"""An ECG has more kurtosis (excess) between 5 and 30 Hz than noise, and a larger share of its power above 8 Hz than a
pulse wave. At slow rates its kurtosis is high and the share low, at fast ones the other way round: only their product
hardly hangs on the rate. Measured: 1.4 to 10 for ECGs (35 to 210 beats a minute, 62 to 1000 samples a second, with as
much noise as signal, with ventricular beats), under 0.04 for pulse waves, 0.3 for those of a sensor that is knocked,
0.15 for noise. The limit is far from all of these."""

_PIECE_S = 10.0
_SHARP_HZ, _SHARPER_HZ, _WHOLE_HZ = (5.0, 30.0), (8.0, 30.0), (0.6, 30.0)


def kind_of_shape(runs: list[Run]) -> str:
    """``ECG`` where the sharp part of the signal is large for how rare its peaks are, else ``PULSE``.

    Medians over pieces of 10 s are asked, so that a few knocks on the sensor do not make a pulse wave an ECG.
    """
    found: list[float] = []
    for run in runs:
        if run.rate_hz < 2 * _SHARP_HZ[1]:
            continue
        sharp, sharper, whole = (band_passed(run, band) for band in (_SHARP_HZ, _SHARPER_HZ, _WHOLE_HZ))
        size = round(_PIECE_S * run.rate_hz)
        for begin in range(0, max(len(whole) - size, 1), size):
            piece = slice(begin, begin + size)
            power = float(whole[piece].var())
            if power > 0:
                found.append(_kurtosis(sharp[piece]) * float(sharper[piece].var()) / power)
    if not found:
        return PULSE
    return ECG if float(np.median(found)) > SPIKY else PULSE


def _kurtosis(values: NDArray[np.float64]) -> float:
    """Fourth moment over the square of the second, less the 3 of normal noise."""
    square = (values - values.mean()) ** 2
    spread = float(square.mean())
    return float((square**2).mean()) / spread**2 - 3 if spread > 0 else 0.0
