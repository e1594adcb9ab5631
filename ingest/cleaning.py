"""Judge every stream of a recording by its rules, and work out a beat-by-beat heart rate where only RR is held."""

from dataclasses import replace

import numpy as np

from .clean_heart_rate import heart_rate_flags
from .clean_rr import rr_flags
from .flags import Flag
from .recording import HEART_RATE, RR_INTERVAL, UNITS, Recording, Stream

_STAMPS = np.uint16(Flag.DUPLICATE_STAMP | Flag.BACKWARD_STAMP | Flag.NO_CONTACT)


def clean(recording: Recording) -> Recording:
    """The same recording with every heart-rate and RR sample judged."""
    return replace(recording, streams=tuple(_judged(stream) for stream in recording.streams))


def _judged(stream: Stream) -> Stream:
    """Replace ``UNCHECKED`` by what the rules say; flags that the reader set stay."""
    if stream.name not in (HEART_RATE, RR_INTERVAL) or not len(stream):
        return stream
    kept = stream.flags & _STAMPS
    rejected = (kept & np.uint16(Flag.DUPLICATE_STAMP | Flag.NO_CONTACT)) != 0
    flags = kept
    looked_at = np.flatnonzero(~rejected) if rejected.any() else slice(None)
    time, values = stream.time[looked_at], stream.values[looked_at]
    flags[looked_at] |= heart_rate_flags(time, values) if stream.name == HEART_RATE else rr_flags(values)
    return replace(stream, flags=flags)


def beat_by_beat(intervals: Stream) -> Stream:
    """Heart rate from RR intervals: 60 / RR, each standing for its own interval [beats/min].

    The interval's flags pass on. The mean over time of such a series is beats divided by time, as it must be
    (RR 0.5 and 1.0 s: 80 /min, not the mean of 120 and 60).
    """
    with np.errstate(divide="ignore"):
        bpm = np.where(intervals.values > 0, 60.0 / intervals.values, np.nan)
    return replace(intervals, name=HEART_RATE, unit=UNITS[HEART_RATE], values=bpm, derived_from=RR_INTERVAL)


def with_heart_rate(recording: Recording) -> Recording:
    """Add a beat-by-beat heart rate where the recording holds RR intervals and no heart rate."""
    if HEART_RATE in recording or RR_INTERVAL not in recording:
        return recording
    derived = tuple(beat_by_beat(stream) for stream in recording.all(RR_INTERVAL))
    note = "Heart rate is worked out from the RR intervals, beat by beat."
    return replace(recording, streams=recording.streams + derived, notes=(*recording.notes, note))
