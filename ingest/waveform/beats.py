"""Where the beats of an ECG or a pulse wave are: heartpy, in windows, on a filtered and levelled wave.

heartpy takes 2 to 4 s to import, and brings matplotlib: it is imported for this module and no other, on use.

What is done around it, and why:
- An ECG is passed between 5 and 30 Hz first: on a real annotated one heartpy then found every beat. A pulse wave
  between 0.6 and 4 Hz (36 to 240 /min).
- The wave is levelled and cut at 1.5 times its size: heartpy's threshold counts from the lowest value of a window.
- It is put on a grid that no heart rate fits: heartpy refuses a rhythm whose intervals are equal to the sample.
- Each beat is then put on the top of the filtered wave at the full rate, between samples by a parabola.
"""

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from ..heartpy_import import import_heartpy
from ..recording import ECG
from .runs import Run, band_passed, levelled

Floats = NDArray[np.float64]
Zones = list[tuple[float, float]]

WINDOW_S, OVERLAP_S = 20.0, 4.0

_CUT = 1.5


@dataclass(frozen=True, slots=True)
class Way:
    """How one kind of wave is looked at: band [Hz], grid for heartpy [Hz], reach of a beat's top [s]."""

    band_hz: tuple[float, float]
    grid_hz: float
    reach_s: float


WAYS = {ECG: Way((5.0, 30.0), 187.3, 0.06), "": Way((0.6, 4.0), 61.7, 0.10)}


def way_of(kind: str) -> Way:
    """The way for a kind of wave."""
    return WAYS.get(kind, WAYS[""])


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Beats of a run [s from its begin], shape (n,), and the zones that heartpy refuses [s]."""

    beats_s: Floats
    refused: Zones


def find_beats(run: Run, kind: str) -> Found:
    """Every beat that heartpy finds in a run, whether it is to be trusted or not."""
    way = way_of(kind)
    wave = band_passed(run, way.band_hz)
    level = np.clip(levelled(wave, run.rate_hz), -_CUT, _CUT)
    if kind == ECG and (level**3).mean() < 0:  # its spikes point down: the electrodes are the other way round
        wave, level = -wave, -level
    grid = np.arange(0, run.span_s, 1 / way.grid_hz)
    found = _in_windows(np.interp(grid, np.arange(len(level)) / run.rate_hz, level), way.grid_hz)
    return Found(_tops(found.beats_s, wave, run.rate_hz, way.reach_s), found.refused)


def _in_windows(wave: Floats, rate_hz: float, window_s: float = WINDOW_S) -> Found:
    """Beats window by window; each window answers for its inner part.

    A window of which heartpy refuses all or a part is asked again in halves: it compares each interval with the mean
    of the window, so that noise in one half would cost the other.
    """
    span_s = len(wave) / rate_hz
    beats: list[Floats] = []
    refused: Zones = []
    for begin in np.arange(0, max(span_s - OVERLAP_S, 1e-9), window_s - OVERLAP_S).tolist():
        end = min(begin + window_s, span_s)
        low = 0.0 if begin == 0 else begin + OVERLAP_S / 2
        high = span_s + 1 if end >= span_s else end - OVERLAP_S / 2
        first = int(max(0.0, min(begin, end - window_s / 2)) * rate_hz)  # the last window may be short: it looks back
        piece = wave[first : int(end * rate_hz)]
        answer = _ask(piece, rate_hz)
        if answer.refused and window_s == WINDOW_S and len(piece) > WINDOW_S / 2 * rate_hz:
            answer = _in_windows(piece, rate_hz, WINDOW_S / 2)
        offset = first / rate_hz
        inside = answer.beats_s + offset
        beats.append(inside[(inside >= low) & (inside < high)])
        zones = [(max(a + offset, low), min(b + offset, high)) for a, b in answer.refused]
        refused += [(a, b) for a, b in zones if a < b]
    return Found(np.unique(np.concatenate(beats)) if beats else np.empty(0), refused)


def _ask(wave: Floats, rate_hz: float) -> Found:
    """The beats that heartpy finds in one window; all of it is refused where it finds no heart rate in it."""
    heartpy = import_heartpy()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of empty slices: none of it concerns the person
        try:
            told, _ = heartpy.process(wave, rate_hz, bpmmin=LOWEST_BPM, bpmmax=HIGHEST_BPM, reject_segmentwise=True)
        except (heartpy.exceptions.BadSignalWarning, ValueError, ArithmeticError, LookupError, TypeError):
            return Found(np.empty(0), [(0.0, len(wave) / rate_hz)])
    refused = [(float(begin) / rate_hz, float(end) / rate_hz) for begin, end in told.get("rejected_segments", [])]
    return Found(np.asarray(told["peaklist"], np.float64) / rate_hz, refused)


def _tops(beats_s: Floats, wave: Floats, rate_hz: float, reach_s: float) -> Floats:
    """Beats moved to the nearest top of the wave, between samples by the parabola through three [s]."""
    reach = max(1, round(reach_s * rate_hz))
    if not len(beats_s) or len(wave) < 2 * reach + 3:
        return np.empty(0)
    place = np.clip(np.round(beats_s * rate_hz).astype(np.int64), reach + 1, len(wave) - reach - 2)
    near = wave[place[:, None] + np.arange(-reach, reach + 1)]
    top = place - reach + near.argmax(axis=1)
    before, at, after = wave[top - 1], wave[top], wave[top + 1]
    bend = before - 2 * at + after
    beside = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, 1.0), 0.0)
    return np.unique((top + np.clip(beside, -0.5, 0.5)) / rate_hz)
