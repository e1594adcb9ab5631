"""Named rules that judge RR intervals. They set flags; no interval is altered, split, joined or deleted.

| rule | what it finds | limit |
| --- | --- | --- |
| dropout | 0 or no number | |
| implausible | an interval that no student's heart shows | under 0.26 s or over 2 s |
| missed_beat | an interval that spans two or three beats | within a tenth of 2 or 3 times the local median |
| extra_beat | two intervals that together make one | sum within 15 % of the local median |
| premature_beat | a short interval and the long pause behind it | under 0.75 and over 1.2, sum within 15 % of two |
| varying | differs by more than 20 % from the last regular interval (Malik's rule); still used | 20 % |

``varying`` does not reject: a young heart at rest varies by more than that from breath to breath, and a cleaner
that cuts at 20 % destroys true beats. The limits of the other rules are common practice, with no source.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .flags import Flag

SHORTEST_S, LONGEST_S = 0.26, 2.0
VARYING = 0.20
"""Share of the last accepted interval. Malik (1989), from memory."""

RESTART_RUN = 5
"""So many irregular intervals in a row that agree with one another are the new rhythm. Our own choice: in 4,684
real intervals of a strongly varying heart the rule without a restart stayed locked for up to 24 beats."""

ROUNDING = 1e-9
"""An interval of exactly 20 % more must not be called irregular for the last bit of a division."""
_NEIGHBOURS = 11  # intervals in the local median
_SUM = 0.15
_SHORT, _LONG = 0.75, 1.20
_SPANNED = (2, 3)
_NEAR = 0.1

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def rr_flags(rr_s: Floats) -> NDArray[np.uint16]:
    """Flags of every rule, shape (n,), for intervals in order of time [s]."""
    gone = ~(rr_s > 0)
    odd = ~gone & ((rr_s < SHORTEST_S) | (rr_s > LONGEST_S))
    flags = np.where(gone, np.uint16(Flag.DROPOUT), np.uint16(0))
    flags[odd] |= np.uint16(Flag.IMPLAUSIBLE)
    kept = np.flatnonzero(~(gone | odd))
    rr_s = rr_s[kept]
    if len(rr_s) >= 3:
        typical = local_median(rr_s)
        for flag, found in (
            (Flag.MISSED_BEAT, missed_beats(rr_s, typical)),
            (Flag.EXTRA_BEAT, extra_beats(rr_s, typical)),
            (Flag.PREMATURE_BEAT, premature_beats(rr_s, typical)),
        ):
            flags[kept[found]] |= np.uint16(flag)
    flags[kept[varying(rr_s)]] |= np.uint16(Flag.VARYING)
    return flags


def local_median(rr_s: Floats) -> Floats:
    """Median of the eleven intervals around each, shape (n,); fewer at the ends [s]."""
    half = _NEIGHBOURS // 2
    padded = np.pad(rr_s, half, constant_values=np.nan)
    return np.nanmedian(np.lib.stride_tricks.sliding_window_view(padded, _NEIGHBOURS), axis=1)


def missed_beats(rr_s: Floats, typical_s: Floats) -> Bools:
    """Intervals about two or three times their neighbourhood, where most of it is regular, shape (n,).

    A stretch in which most intervals are doubled cannot be told from a slow heart by the intervals alone.
    """
    ratio = rr_s / typical_s
    regular = np.abs(ratio - 1) <= VARYING
    half = _NEIGHBOURS // 2
    around = np.convolve(regular, np.ones(_NEIGHBOURS), "full")[half : half + len(rr_s)]
    beside = around >= 0.5 * np.convolve(np.ones(len(rr_s)), np.ones(_NEIGHBOURS), "full")[half : half + len(rr_s)]
    return beside & np.any([np.abs(ratio / beats - 1) <= _NEAR for beats in _SPANNED], axis=0)


def extra_beats(rr_s: Floats, typical_s: Floats) -> Bools:
    """Both intervals of each pair that a false beat has cut out of one, shape (n,)."""
    short = rr_s < _SHORT * typical_s
    pair = short[:-1] & short[1:] & (np.abs((rr_s[:-1] + rr_s[1:]) / typical_s[:-1] - 1) <= _SUM)
    return np.append(pair, False) | np.append(False, pair)


def premature_beats(rr_s: Floats, typical_s: Floats) -> Bools:
    """Both intervals of each pair short, then long, that together make two regular ones, shape (n,)."""
    short, long = rr_s < _SHORT * typical_s, rr_s > _LONG * typical_s
    pair = short[:-1] & long[1:] & (np.abs((rr_s[:-1] + rr_s[1:]) / (2 * typical_s[:-1]) - 1) <= _SUM)
    return np.append(pair, False) | np.append(False, pair)


def varying(rr_s: ArrayLike, limit: float = VARYING) -> NDArray[np.bool_]:
    """Which intervals differ by more than ``limit`` from the last accepted one.

    Compared with the last *accepted* interval, not the last one: behind a false interval of 1000 ms a true one
    of 805 ms would pass the other way only by luck.

    Parameters
    ----------
    rr_s : array_like, shape (n,)
        [s]; a NaN is passed over and never irregular by this rule
    limit : float
        [1]

    Returns
    -------
    ndarray of bool, shape (n,)

    Departures: the first interval is accepted as it is; and ``RESTART_RUN`` irregular intervals in a row, each
    within ``limit`` of the one before it, become the new rhythm. Without that, one lasting change (work begins,
    or a strap loses contact for a while) would leave every later interval irregular.
    """
    found = np.zeros(np.shape(rr_s), dtype=np.bool_)
    allowed = limit + ROUNDING
    accepted = previous = float("nan")
    run = 0
    for place, interval in enumerate(np.asarray(rr_s, dtype=np.float64).tolist()):
        if math.isnan(interval):
            continue
        if abs(interval - accepted) > allowed * accepted:
            found[place] = True
            agrees = run > 0 and abs(interval - previous) <= allowed * previous
            run = run + 1 if agrees else 1
            if run >= RESTART_RUN:
                accepted, run = interval, 0
        else:
            accepted, run = interval, 0
        previous = interval
    return found
