"""Keys of a heart's own course, by which two files of one strap and one time are known for it whatever their format.

A FIT, a TCX and a table of one strap, or a copy that another program saved, hold other bytes and the same readings. A
key is a hash of 40 readings in a row, each with the time since the one before; no clock is in it. So that two files
need not begin alike, of every 60 such stretches the one with the least hash is a key (winnowing: Schleimer, Wilkerson
and Aiken, Winnowing: local algorithms for document fingerprinting, SIGMOD 2003; from memory): whatever shares 100
readings shares a key.
"""

import numpy as np
from numpy.typing import NDArray

from .recording import HEART_RATE, RR_INTERVAL, Recording, Stream

READINGS = 40
"""A key is of so many readings in a row."""
AMONG = 60
"""One of so many stretches that follow each other is a key."""
CHANGES = 6
"""A stretch in which the value changes less often makes none: two hearts at rest, or paced, can look so."""
_NO_BEATS = 255
_MOST_STEP_S = 255.0
_NONE = np.uint64(2**64 - 1)


def heart_keys(recording: Recording) -> tuple[str, ...]:
    """Keys of what a recording holds of a heart, each 16 hexadecimal digits, in order."""
    streams = recording.all(HEART_RATE) or recording.all(RR_INTERVAL)
    return tuple(sorted({f"{key:016x}" for stream in streams for key in _of_stream(stream)}))


def _of_stream(stream: Stream) -> list[int]:
    good = np.isfinite(stream.values) & (stream.values > 0) & (stream.values != _NO_BEATS)
    time, values = stream.time[good], np.rint(stream.values[good] * 10).astype(np.uint64)
    if len(values) <= READINGS:
        return []
    steps = np.rint(np.clip(np.diff(time), 0.0, _MOST_STEP_S)).astype(np.uint64)
    hashes = _hashes(values[1:] * np.uint64(256) + steps, values[1:] != values[:-1])
    windows = np.lib.stride_tricks.sliding_window_view(hashes, min(AMONG, len(hashes)))
    least = np.unique(windows.min(axis=1))
    return [int(each) for each in least[least != _NONE]]


def _hashes(readings: NDArray[np.uint64], changed: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """The hash of each stretch of readings; the highest number where it changes too seldom."""
    found = np.zeros(len(readings) - READINGS + 1, np.uint64)
    count = np.zeros(len(found), np.int64)
    with np.errstate(over="ignore"):
        for place in range(READINGS):
            found = found * np.uint64(0x100000001B3) + readings[place : place + len(found)]
            count += changed[place : place + len(found)]
        for shift, factor in ((30, 0xBF58476D1CE4E5B9), (27, 0x94D049BB133111EB)):  # as SplitMix64 ends
            found = (found ^ (found >> np.uint64(shift))) * np.uint64(factor)
        found ^= found >> np.uint64(31)
    return np.where(count >= CHANGES, found, _NONE)
