"""Whether a waveform is an ECG or a pulse wave: from the words it is named by, or else from its shape."""

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from .recording import ECG, PULSE
from .wave_runs import Run, band_passed

ECG_WORDS = frozenset(
    "ecg ekg electrocardiogram elektrokardiogramm electrocardiograma electrocardiogramme elektrokardiogram".split()
)
PULSE_WORDS = frozenset(
    "ppg bvp pleth plethysmogram plethysmograph photoplethysmogram pulse pulswelle puls pulso pouls spo2".split()
)
PEAKED = 6.0
"""Kurtosis (excess) of 10 s between 5 and 30 Hz. Measured: ECGs 8 to 23, pulse waves -0.3 to 4.2, normal noise 0."""

_PIECE_S = 10.0
_SHARP_HZ = (5.0, 30.0)


def kind_of_words(words: Collection[str]) -> str:
    """``ECG``, ``PULSE``, or '' where the words of a channel or column say neither, or both."""
    heart, pulse = not ECG_WORDS.isdisjoint(words), not PULSE_WORDS.isdisjoint(words)
    return "" if heart == pulse else ECG if heart else PULSE


def kind_of_shape(runs: list[Run]) -> str:
    """``ECG`` where the sharp part of the signal stands in rare, high peaks, else ``PULSE``.

    An ECG is flat between its spikes, a pulse wave never rests. The median over pieces of 10 s is asked, so that a
    few knocks on the sensor do not make a pulse wave an ECG.
    """
    found: list[float] = []
    for run in runs:
        if run.rate_hz < 2 * _SHARP_HZ[1]:
            continue
        sharp = band_passed(run, _SHARP_HZ)
        size = round(_PIECE_S * run.rate_hz)
        found += [_kurtosis(sharp[begin : begin + size]) for begin in range(0, max(len(sharp) - size, 1), size)]
    return ECG if found and float(np.median(found)) > PEAKED else PULSE


def _kurtosis(values: NDArray[np.float64]) -> float:
    """Fourth moment over the square of the second, less the 3 of normal noise."""
    square = (values - values.mean()) ** 2
    spread = float(square.mean())
    return float((square**2).mean()) / spread**2 - 3 if spread > 0 else 0.0
