"""Which beats of a waveform are to be trusted. Whatever is not becomes a gap, never a guess.

| look | ECG | pulse wave |
| --- | --- | --- |
| sensor | neither flat nor at its limit for long | the same |
| shape | each beat resembles those around it: correlation of at least 0.7 | 0.9 |
| second look | a detector of its own agrees, 8 of 10 | it does, or the wave repeats itself at that interval |
| rhythm | intervals change by at most half in the middle: ectopic beats must be seen | 15 %: movement is less even |

The limits of shape are near those of Orphanidou and others (2015: 0.66 and 0.86, from memory), a little stricter:
pure noise reached 0.6 and 0.87. The others are our own choice, measured on the recordings in the tests.
"""

import numpy as np
from numpy.typing import NDArray

from ..cleaning.beat_patterns import local_median
from ..recording import ECG
from .beats import way_of
from .runs import Run, band_passed, levelled

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Zones = list[tuple[float, float]]

LEAST_LIKENESS = {ECG: 0.7, "": 0.9}
LEAST_OWN = 0.85
"""A single pulse wave less like its neighbours is none: a second wave, a knock. An ectopic beat of an ECG must stay."""

LEAST_AGREEMENT = 0.8
LEAST_REPEAT = 0.4
MOST_UNEVEN = {ECG: 0.5, "": 0.15}
"""Median change from one interval to the next, of seven, as a share. Measured: real pulse waves 0.02 to 0.10, two
strongly varying hearts at most 0.15 in 97 % and 99.9 % of the time, an ECG full of ectopic beats at most 0.5 in 82 %,
narrow noise 0.23 and knocks at random 0.7 in the middle."""

FEWEST_BEATS = 8
"""Trusted beats in a row; fewer between distrusted ones are chance."""

_BESIDE = 3  # beats on each side that a look asks
_TEMPLATE = 10  # beats on each side that make the shape to compare with
_POINTS = 41
_STUCK_SHARE = 0.3
_LONGER = 1.4


def judged(run: Run, kind: str, beats_s: Floats, refused: Zones) -> tuple[Bools, Bools]:
    """Which beats are to be trusted, shape (n,), and which intervals skip a beat, shape (n - 1,).

    beats_s : ndarray, shape (n,)  [s] from the run's begin
    refused : zones [s] that the detector itself refuses
    """
    if len(beats_s) < FEWEST_BEATS:
        return np.zeros(len(beats_s), bool), np.zeros(max(len(beats_s) - 1, 0), bool)
    second_s = second_look(run, kind)
    like = likeness(run, kind, beats_s)
    good = _rolling(like) >= LEAST_LIKENESS.get(kind, LEAST_LIKENESS[""])
    reach_s = way_of(kind).reach_s
    agree = agreement(beats_s, second_s, reach_s) >= LEAST_AGREEMENT
    if kind == ECG:
        good &= agree
    else:
        good &= agree | (repeats(run, kind, beats_s) >= LEAST_REPEAT)
    good &= unevenness(beats_s) <= MOST_UNEVEN.get(kind, MOST_UNEVEN[""])
    for begin, end in refused + stuck_zones(run):
        good &= (beats_s < begin) | (beats_s > end)
    good = _long_enough(good)
    if kind != ECG:
        good &= like >= LEAST_OWN
    return good, skipping(beats_s, second_s, reach_s)


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


def unevenness(beats_s: Floats) -> Floats:
    """Median of the changes between neighbouring intervals around each beat, as a share, shape (n,)."""
    rr_s = np.diff(beats_s)
    change = np.abs(np.diff(rr_s)) / rr_s[:-1]
    return _rolling(np.pad(change, 1, mode="edge"))


def agreement(beats_s: Floats, second_s: Floats, reach_s: float) -> Floats:
    """Share of beats near each that both this detector and a second one see, shape (n,).

    Twice the beats seen by both, over all that either sees, in the seven beats around each one.
    """
    if len(second_s) < FEWEST_BEATS:
        return np.zeros(len(beats_s))
    apart = _nearest(second_s, beats_s)
    lag_s = float(np.median(apart))
    summed = np.append(0, np.cumsum(np.abs(apart - lag_s) <= reach_s))
    first = np.maximum(np.arange(len(beats_s)) - _BESIDE, 0)
    last = np.minimum(np.arange(len(beats_s)) + _BESIDE, len(beats_s) - 1)
    begin = np.searchsorted(second_s, beats_s[first] + lag_s - reach_s)
    end = np.searchsorted(second_s, beats_s[last] + lag_s + reach_s, "right")
    seen = last + 1 - first
    return 2 * (summed[last + 1] - summed[first]) / (seen + end - begin)


def skipping(beats_s: Floats, second_s: Floats, reach_s: float) -> Bools:
    """Intervals in which the second look sees a beat and that are longer than those around by 0.4, shape (n - 1,)."""
    rr_s = np.diff(beats_s)
    if len(second_s) < FEWEST_BEATS:
        return np.zeros(len(rr_s), bool)
    lag_s = float(np.median(_nearest(second_s, beats_s)))
    begin = np.searchsorted(second_s, beats_s[:-1] + lag_s + 2 * reach_s)
    end = np.searchsorted(second_s, beats_s[1:] + lag_s - 2 * reach_s)
    return (end > begin) & (rr_s > _LONGER * local_median(rr_s))


def second_look(run: Run, kind: str) -> Floats:
    """Beats by another feature than height [s]: the energy of the slope (ECG), its rise (pulse wave)."""
    from scipy.signal import find_peaks

    wave = band_passed(run, (3.0, 20.0) if kind == ECG else (0.6, 4.0))
    slope = np.gradient(wave)
    slope = slope**2 if kind == ECG else np.maximum(slope, 0)
    width = max(1, round((0.10 if kind == ECG else 0.17) * run.rate_hz))
    feature = np.convolve(slope, np.ones(width) / width, "same")
    feature = levelled(np.sqrt(feature) if kind == ECG else feature, run.rate_hz)
    least = 0.35 if kind == ECG else 0.5  # the second rise of a pulse wave is nearly half as steep as the first
    tops, _ = find_peaks(feature, distance=max(1, round(0.24 * run.rate_hz)), height=least, prominence=least - 0.1)
    return tops / run.rate_hz


def repeats(run: Run, kind: str, beats_s: Floats) -> Floats:
    """How well the wave repeats itself at the interval of the beats around each, shape (n,); 0 where sooner as well.

    The autocorrelation of four intervals around a beat at their median (within 10 %). Where it is as high at half
    the interval or less, every other beat was missed.
    """
    wave = band_passed(run, way_of(kind).band_hz)
    interval = np.diff(beats_s)
    found = np.zeros(len(beats_s))
    for number, beat in enumerate(beats_s.tolist()):
        lag = float(np.median(interval[max(0, number - _BESIDE) : number + _BESIDE])) * run.rate_hz
        half = min(round(2 * lag), len(wave) // 2)
        middle = min(max(round(beat * run.rate_hz), half), len(wave) - half)
        piece = wave[middle - half : middle + half]
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
