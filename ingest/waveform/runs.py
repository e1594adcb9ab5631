"""Evenly sampled runs out of a waveform, as filters need them, and the filters."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..flags import Flag
from ..recording import Stream

SHORTEST_S = 8.0
"""A run must hold so many seconds: in less, a few beats say nothing about each other [our own choice]."""

_HOLE_S = 0.1  # a hole as long as a QRS complex can hide a beat; shorter ones are bridged
_HOLE_STEPS = 3.0
_EVEN_STEPS = 2.0  # stamps that stay so near to even ones are only rounded
_ORDER = 2

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A stretch without holes: values, shape (n,), at ``begin_s + number / rate_hz``."""

    begin_s: float
    rate_hz: float
    values: Floats

    @property
    def span_s(self) -> float:
        """From the first to the last sample [s]."""
        return (len(self.values) - 1) / self.rate_hz


def runs_of(stream: Stream) -> tuple[list[Run], float]:
    """Runs of at least ``SHORTEST_S``, and how many seconds lie in shorter ones."""
    known = np.isfinite(stream.values) & ((stream.flags & np.uint16(Flag.DUPLICATE_STAMP)) == 0)
    time, values = stream.time[known], stream.values[known]
    step = np.diff(time)
    usual_s = float(np.median(step)) if len(step) else 0.0
    if usual_s <= 0:
        return [], 0.0
    cut = np.flatnonzero(step > max(_HOLE_S, _HOLE_STEPS * usual_s)) + 1
    runs, short_s = [], 0.0
    for piece in np.split(np.arange(len(time)), cut):
        span_s = float(time[piece[-1]] - time[piece[0]])
        if span_s >= SHORTEST_S:
            runs.append(_even(time[piece], values[piece]))
        else:
            short_s += span_s
    return runs, short_s


def _even(time: Floats, values: Floats) -> Run:
    """The run on an even grid: as it is where only its stamps are rounded, else between its samples."""
    rate_hz = (len(time) - 1) / (time[-1] - time[0])
    even = time[0] + np.arange(len(time)) / rate_hz
    if np.abs(time - even).max() > _EVEN_STEPS / rate_hz:
        values = np.interp(even, time, values)
    return Run(float(time[0]), float(rate_hz), values)


def band_passed(run: Run, band_hz: tuple[float, float]) -> Floats:
    """The run between two frequencies, forward and backward so that nothing moves in time, shape (n,)."""
    from scipy.signal import butter, sosfiltfilt

    low, high = band_hz
    sections = butter(_ORDER, (low, min(high, 0.45 * run.rate_hz)), "bandpass", fs=run.rate_hz, output="sos")
    return sosfiltfilt(sections, run.values - run.values.mean())


def levelled(values: Floats, rate_hz: float) -> Floats:
    """Values in units of the wave's own size near each, shape (n,): about 1 at each beat.

    The size is the largest value in 2 s, of which the median over 10 s: a knock on the sensor does not change it,
    and a contact that grows worse does not hide the beats behind it.
    """
    size = max(1, round(2.0 * rate_hz))
    count = max(1, len(values) // size)
    largest = np.abs(values[: count * size]).reshape(count, -1).max(axis=1)
    near = np.lib.stride_tricks.sliding_window_view(np.pad(largest, 2, mode="edge"), 5)
    level = np.maximum(np.median(near, axis=1), 0.05 * float(np.median(largest)))
    centre = (np.arange(count) + 0.5) * size
    whole = np.interp(np.arange(len(values)), centre, level)
    return values / np.where(whole > 0, whole, 1.0)
