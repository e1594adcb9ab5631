"""Named rules that judge heart-rate samples. They set flags; no value is altered, bridged or deleted.

| rule | what it finds | limit |
| --- | --- | --- |
| dropout | 0, an empty cell, or the format's "invalid"; 255 and 65535, which are that where no format says so | |
| implausible | a value that no student's heart shows | below 30 or above 230 /min |
| frozen | one value for longer than a living heart holds it | 60 s; 300 s where a recorder is coarse |
| too_fast | an excursion entered and left by steps faster than a heart can change | 20 /min + 5 a s, under 15 s |

The limits are common practice, with no source: wide enough that a child's true peak is never cut. A dropout is no
reading at all; an implausible value is one, and may yet be a heart: supraventricular tachycardia of a child reaches 220
to 280 /min.
"""

import numpy as np
from numpy.typing import NDArray

from ...words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from ..flags import Flag

NO_VALUE_BPM = (255.0, 65535.0)
"""All bits of one byte or of two: common codes for "no data" (tables row 6.2), and no heart's rate."""
FROZEN_S = 60.0
FROZEN_COARSE_S = 300.0
"""Where most of a recording stands in stretches over 60 s, the recorder itself is coarse: only longer counts."""
STEP_BPM, STEP_MORE_BPM_PER_S = 20.0, 5.0
"""A heart can step by the first in a second, and by so much more in each further second."""
EXCURSION_S = 15.0
EDGE_S = 5.0  # at the ends of a recording only one side of an excursion is seen: it must be shorter

_NOTHING, _DROPOUT, _IMPLAUSIBLE = np.uint16(0), np.uint16(Flag.DROPOUT), np.uint16(Flag.IMPLAUSIBLE)
_FROZEN, _TOO_FAST = np.uint16(Flag.FROZEN), np.uint16(Flag.TOO_FAST)

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def heart_rate_flags(time_s: Floats, bpm: Floats) -> NDArray[np.uint16]:
    """Flags of every rule, shape (n,), for samples in order of time.

    Parameters
    ----------
    time_s : ndarray, shape (n,)  [s]
    bpm : ndarray, shape (n,)  [beats/min], NaN where the file says "no value"
    """
    gone = ~(bpm > 0) | np.isin(bpm, NO_VALUE_BPM)
    odd = ~gone & ((bpm < LOWEST_BPM) | (bpm > HIGHEST_BPM))
    flags = np.where(gone, _DROPOUT, _NOTHING)
    flags[odd] = _IMPLAUSIBLE
    kept = np.flatnonzero(flags == _NOTHING)
    if len(kept):
        time_s, bpm = time_s[kept], bpm[kept]
        flags[kept] |= np.where(frozen(time_s, bpm), _FROZEN, _NOTHING)
        flags[kept] |= np.where(too_fast(time_s, bpm), _TOO_FAST, _NOTHING)
    return flags


def frozen(time_s: Floats, bpm: Floats) -> Bools:
    """All but the first sample of each stretch in which the value stands still for too long, shape (n,)."""
    change = np.flatnonzero(np.diff(bpm) != 0) + 1
    first = np.append(0, change)
    last = np.append(change, len(bpm)) - 1
    lasts_s = time_s[last] - time_s[first]
    total_s = time_s[-1] - time_s[0]
    still = lasts_s > FROZEN_S
    if lasts_s[still].sum() > total_s / 2:
        still = lasts_s > FROZEN_COARSE_S
    found = np.repeat(still, last - first + 1)
    found[first] = False
    return found


def too_fast(time_s: Floats, bpm: Floats) -> Bools:
    """Samples of short excursions that no heart could make, shape (n,).

    The series is cut where it steps by more than ``reach_bpm``. A piece that is left in under 15 s for a
    value the heart could have reached from before it, is flagged; a lasting change of level is not, because
    a startle or a spasm can cause one and a person has to look. At the ends, a piece under 5 s is flagged.
    """
    found = np.zeros(len(bpm), bool)
    jump = np.abs(np.diff(bpm)) > reach_bpm(np.diff(time_s))
    if not jump.any():
        return found
    first = np.append(0, np.flatnonzero(jump) + 1)
    lasts_s = time_s[np.append(first[1:], len(bpm)) - 1] - time_s[first]
    if lasts_s[0] < EDGE_S and lasts_s[1] >= EXCURSION_S:
        found[: first[1]] = True
    if lasts_s[-1] < EDGE_S and lasts_s[-2] >= EXCURSION_S:
        found[first[-1] :] = True
    begins, away = first.tolist(), 1
    while away < len(begins):  # the piece before this one is taken as true
        back = _back(time_s, bpm, begins, away)
        if back is not None:
            found[begins[away] : begins[back]] = True
        away = (away if back is None else back) + 1
    return found


def _back(time_s: Floats, bpm: Floats, begins: list[int], away: int) -> int | None:
    """The piece in which a heart is where it could be without the pieces from ``away`` on; None if it stays away."""
    left = begins[away]
    for piece in range(away + 1, len(begins)):
        if time_s[begins[piece]] - time_s[left] >= EXCURSION_S:
            break
        if _reachable(time_s, bpm, left - 1, begins[piece]):
            return piece
    return None


def _reachable(time_s: Floats, bpm: Floats, before: int, after: int) -> bool:
    """Tell whether a heart could get from one sample to the other in the time between."""
    return bool(abs(bpm[after] - bpm[before]) <= reach_bpm(time_s[after] - time_s[before]))


def reach_bpm(seconds: Floats | float) -> Floats:
    """How far a heart rate can change in a time [beats/min]."""
    return STEP_BPM + STEP_MORE_BPM_PER_S * np.maximum(np.asarray(seconds) - 1.0, 0.0)
