"""Named rules that judge RR intervals. They set flags; no interval is altered, split, joined or deleted.

| rule | what it finds | limit |
| --- | --- | --- |
| dropout | 0 or no number | |
| missed_beat | an interval that spans two or more beats | from 1.5 times its neighbourhood |
| extra_beat | the intervals that a false beat, or several, has cut out of one | under 0.75 of it |
| premature_beat | a short interval and the long pause behind it | a step up of 0.45, sum within 0.7 of two |
| implausible | an interval that no student's heart shows | above 230 or below 30 /min |
| varying | differs by more than 20 % from the last regular interval (Malik's rule); still used | 20 % |

Extra, missed and premature beats (``beat_patterns``) are looked for among all intervals, whatever their length: cutting
off implausible ones first would leave the other part of a beat that was cut in two, as a rate that never was. One
interval may have several flags. What lies amid such intervals, or for up to a minute at a level that a heart enters and
leaves by no steps of its own (``beat_levels``), may be pieces of beats or several, and is flagged as such too.

``varying`` does not reject: a young heart at rest varies by more than that from breath to breath, and a cleaner
that cuts at 20 % destroys true beats. The limits of plausibility are common practice, with no source.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from ..flags import Flag
from .beat_levels import amid_false, other_levels
from .beat_patterns import patterns

SHORTEST_S, LONGEST_S = 60.0 / HIGHEST_BPM, 60.0 / LOWEST_BPM
"""The limits of heart rate, turned over: 0.2609 and 2 s."""

VARYING = 0.20
"""Share of the last accepted interval. Malik (1989), from memory."""

RESTART_RUN = 5
"""So many irregular intervals in a row that agree with one another are the new rhythm. Our own choice: in 4,684
real intervals of a strongly varying heart the rule without a restart stayed locked for up to 24 beats."""

ROUNDING = 1e-9
"""An interval of exactly 20 % more must not be called irregular for the last bit of a division."""

Floats = NDArray[np.float64]


def rr_flags(rr_s: Floats) -> NDArray[np.uint16]:
    """Flags of every rule, shape (n,), for intervals in order of time [s]."""
    gone = ~(rr_s > 0)
    odd = ~gone & ((rr_s < SHORTEST_S) | (rr_s > LONGEST_S))
    flags = np.where(gone, np.uint16(Flag.DROPOUT), np.uint16(0))
    flags[odd] |= np.uint16(Flag.IMPLAUSIBLE)
    there, kept = np.flatnonzero(~gone), np.flatnonzero(~(gone | odd))
    found = patterns(rr_s[there], ~odd[there])
    for flag, which in (
        (Flag.MISSED_BEAT, found.missed),
        (Flag.EXTRA_BEAT, found.extra),
        (Flag.PREMATURE_BEAT, found.premature),
    ):
        flags[there[which]] |= np.uint16(flag)
    _around(rr_s[there], flags, there)
    flags[kept[varying(rr_s[kept])]] |= np.uint16(Flag.VARYING)
    return flags


def _around(rr_s: Floats, flags: NDArray[np.uint16], there: NDArray[np.intp]) -> None:
    """Flag the intervals that nothing vouches for because of what lies around them."""
    known, own = flags[there] != 0, (flags[there] & np.uint16(Flag.PREMATURE_BEAT)) == 0
    level = np.zeros(len(there), np.int8)
    level[own] = other_levels(rr_s[own])  # premature beats make no level of their own
    doubted = amid_false(known, level) & ~known
    flags[there[doubted]] |= np.where(level[doubted] > 0, np.uint16(Flag.MISSED_BEAT), np.uint16(Flag.EXTRA_BEAT))


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
            run = run + 1 if abs(interval - previous) <= allowed * previous else 1  # 1 too behind an accepted one
            if run >= RESTART_RUN:
                accepted = interval
        else:
            accepted = interval
        previous = interval
    return found
