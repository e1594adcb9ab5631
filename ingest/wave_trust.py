"""Which beats of a waveform are to be trusted. Whatever is not becomes a gap, never a guess.

| look | ECG | pulse wave |
| --- | --- | --- |
| sensor | neither flat nor at its limit for long | the same |
| shape | each beat resembles those around it: correlation of at least 0.7 | 0.9 |
| second look | a detector of its own agrees, 8 of 10 | it does, or the wave repeats itself at that interval |

The limits of shape are near those of Orphanidou and others (2015: 0.66 and 0.86, from memory), a little stricter:
pure noise reached 0.6 and 0.87. The others are our own choice, measured on the recordings in the tests.
"""

import numpy as np
from numpy.typing import NDArray

from .recording import ECG
from .wave_beats import way_of
from .wave_runs import Run, band_passed, levelled

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Zones = list[tuple[float, float]]

LEAST_LIKENESS = {ECG: 0.7, "": 0.9}
LEAST_AGREEMENT = 0.8
LEAST_REPEAT = 0.4
FEWEST_BEATS = 5
"""Trusted beats in a row; fewer between distrusted ones are chance."""

_BESIDE = 3  # beats on each side that a look asks
_TEMPLATE = 10  # beats on each side that make the shape to compare with
_POINTS = 41
_STUCK_SHARE = 0.3


def trusted(run: Run, kind: str, beats_s: Floats, refused: Zones) -> Bools:
    """Which beats are to be trusted, shape (n,).

    beats_s : ndarray, shape (n,)  [s] from the run's begin
    refused : zones [s] that the detector itself refuses
    """
    if len(beats_s) < FEWEST_BEATS:
        return np.zeros(len(beats_s), bool)
    good = _rolling(likeness(run, kind, beats_s)) >= LEAST_LIKENESS.get(kind, LEAST_LIKENESS[""])
    agree = agreement(run, kind, beats_s) >= LEAST_AGREEMENT
    good &= agree if kind == ECG else agree | (repeats(run, kind, beats_s) >= LEAST_REPEAT)
    for begin, end in refused + stuck_zones(run):
        good &= (beats_s < begin) | (beats_s > end)
    return _long_enough(good)


def likeness(run: Run, kind: str, beats_s: Floats) -> Floats:
    """Correlation of each beat's shape with the median shape of those around it, shape (n,)."""
    interval_s = float(np.median(np.diff(beats_s)))
    half_s = min(0.2, 0.35 * interval_s) if kind == ECG else 0.4 * interval_s
    wave = band_passed(run, (0.7, 30.0) if kind == ECG else (0.6, 8.0))
    at = beats_s[:, None] + np.linspace(-half_s, half_s, _POINTS)
    shape = np.interp(at.ravel(), np.arange(len(wave)) / run.rate_hz, wave).reshape(at.shape)
    shape -= shape.mean(axis=1, keepdims=True)
    shape /= np.maximum(np.linalg.norm(shape, axis=1, keepdims=True), 1e-12)
    found = np.empty(len(shape))
    for begin in range(0, len(shape), _TEMPLATE):
        block = slice(begin, begin + _TEMPLATE)
        template = np.median(shape[max(0, begin - _TEMPLATE) : begin + 2 * _TEMPLATE], axis=0)
        template -= template.mean()
        found[block] = shape[block] @ (template / max(float(np.linalg.norm(template)), 1e-12))
    return found


def agreement(run: Run, kind: str, beats_s: Floats) -> Floats:
    """Share of beats near each that both this detector and a second one see, shape (n,).

    Twice the beats seen by both, over all that either sees, in the seven beats around each one.
    """
    second_s = second_look(run, kind)
    if len(second_s) < FEWEST_BEATS:
        return np.zeros(len(beats_s))
    apart = _nearest(second_s, beats_s)
    lag_s = float(np.median(apart))
    both = np.abs(apart - lag_s) <= way_of(kind).reach_s
    begin = beats_s[np.maximum(np.arange(len(beats_s)) - _BESIDE, 0)]
    end = beats_s[np.minimum(np.arange(len(beats_s)) + _BESIDE, len(beats_s) - 1)]
    reach = way_of(kind).reach_s
    others = np.searchsorted(second_s, end + lag_s + reach, "right") - np.searchsorted(second_s, begin + lag_s - reach)
    summed = np.append(0, np.cumsum(both))
    first = np.searchsorted(beats_s, begin)
    last = np.searchsorted(beats_s, end, "right")
    return 2 * (summed[last] - summed[first]) / np.maximum(last - first + others, 1)


def second_look(run: Run, kind: str) -> Floats:
    """Beats by another feature than height [s]: the energy of the slope (ECG), its rise (pulse wave)."""
    from scipy.signal import find_peaks

    wave = band_passed(run, (8.0, 20.0) if kind == ECG else (0.6, 4.0))
    slope = np.gradient(wave)
    slope = slope**2 if kind == ECG else np.maximum(slope, 0)
    width = max(1, round((0.10 if kind == ECG else 0.17) * run.rate_hz))
    feature = np.convolve(slope, np.ones(width) / width, "same")
    feature = levelled(np.sqrt(feature) if kind == ECG else feature, run.rate_hz)
    tops, _ = find_peaks(feature, distance=max(1, round(0.24 * run.rate_hz)), height=0.35, prominence=0.25)
    return tops / run.rate_hz


def repeats(run: Run, kind: str, beats_s: Floats) -> Floats:
    """How well the wave repeats itself at the interval of the beats around each, shape (n,); 0 where sooner as well.

    The autocorrelation of the 8 s around a beat at its median interval (within 10 %). Where it is as high at half
    the interval or less, every other beat was missed.
    """
    wave = band_passed(run, way_of(kind).band_hz)
    half = round(4.0 * run.rate_hz)
    interval = np.diff(beats_s)
    found = np.zeros(len(beats_s))
    for number, beat in enumerate(beats_s.tolist()):
        middle = min(max(round(beat * run.rate_hz), half), max(len(wave) - half, half))
        piece = wave[middle - half : middle + half]
        lag = float(np.median(interval[max(0, number - _BESIDE) : number + _BESIDE])) * run.rate_hz
        found[number] = _repeat_at(piece - piece.mean(), lag, 0.26 * run.rate_hz)
    return found


def _repeat_at(piece: Floats, lag: float, shortest: float) -> float:
    """Autocorrelation at a lag, 0 where a lag of up to 0.6 of it does as well."""
    size = len(piece)
    spectrum = np.fft.rfft(piece, 2 * size)
    like = np.fft.irfft(spectrum * spectrum.conj())[:size]
    if like[0] <= 0 or lag >= 0.7 * size:
        return 0.0
    like = like / like[0] * size / np.arange(size, 0, -1)
    here = float(like[int(0.9 * lag) : int(1.1 * lag) + 2].max())
    sooner = like[int(shortest) : int(0.6 * lag)]
    return 0.0 if len(sooner) and float(sooner.max()) > 0.9 * here else here


def stuck_zones(run: Run) -> Zones:
    """Seconds in which the sensor stands still, or stands at its limit for 0.3 of them [s]."""
    size = max(2, round(run.rate_hz))
    low, high = float(run.values.min()), float(run.values.max())
    zones: Zones = []
    for begin in range(0, len(run.values), size):
        piece = run.values[begin : begin + size]
        limit = np.count_nonzero((piece == low) | (piece == high))
        if np.ptp(piece) == 0 or limit > _STUCK_SHARE * len(piece):
            zones.append((begin / run.rate_hz, (begin + len(piece)) / run.rate_hz))
    return zones


def _rolling(values: Floats) -> Floats:
    """Median of the seven values around each, shape (n,)."""
    near = np.pad(values, _BESIDE, mode="edge")
    return np.median(np.lib.stride_tricks.sliding_window_view(near, 2 * _BESIDE + 1), axis=1)


def _nearest(second_s: Floats, beats_s: Floats) -> Floats:
    """From each beat to the nearest of the others [s], shape (n,)."""
    after = np.clip(np.searchsorted(second_s, beats_s), 1, len(second_s) - 1)
    ahead, behind = second_s[after] - beats_s, second_s[after - 1] - beats_s
    return np.where(np.abs(behind) < np.abs(ahead), behind, ahead)


def _long_enough(good: Bools) -> Bools:
    """Without the stretches of fewer than ``FEWEST_BEATS``."""
    edge = np.flatnonzero(np.diff(np.concatenate(([False], good, [False])).astype(np.int8)))
    kept = np.zeros(len(good), bool)
    for begin, end in edge.reshape(-1, 2).tolist():
        kept[begin:end] = end - begin >= FEWEST_BEATS
    return kept
