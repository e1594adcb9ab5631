"""Judge every stream of a recording by its rules, and work out a beat-by-beat heart rate where only RR is held.

Where not even RR intervals are held, but an ECG or a pulse wave, they are worked out first.
"""

from dataclasses import replace
from functools import partial

import numpy as np

from .. import messages as say
from ..flags import CONTACT, Flag
from ..level_rate import vouched
from ..recording import HEART_RATE, RR_INTERVAL, UNITS, WAVEFORM, Recording, Stream
from .heart_rate import heart_rate_flags
from .motion import motion_flags
from .rr_interval import rr_flags

_OUT = np.uint16(Flag.DUPLICATE_STAMP | Flag.NO_CONTACT)
_RULES = {HEART_RATE: heart_rate_flags, RR_INTERVAL: lambda _, intervals: rr_flags(intervals)}
_STAMPS = np.uint16(Flag.DUPLICATE_STAMP | Flag.BACKWARD_STAMP | Flag.NO_CONTACT)
_FROZEN, _CONTACT = np.uint16(Flag.FROZEN), np.uint16(CONTACT)


def clean(recording: Recording) -> Recording:
    """The same recording with every sample judged."""
    judged = [_judged(stream) for stream in recording.streams]
    for place, (raw, stream) in enumerate(zip(recording.streams, judged, strict=True)):
        if stream.name == HEART_RATE and (stream.flags & _FROZEN).any():
            beats = (each for each in judged if each.name == RR_INTERVAL and each.source == stream.source)
            judged[place] = vouched(stream, (raw.flags & _CONTACT) != 0, next(beats, None))
    return replace(recording, streams=tuple(judged))


def _judged(stream: Stream) -> Stream:
    """Replace ``UNCHECKED`` by what the rules say; flags that the reader set stay."""
    if not len(stream):
        return stream
    judge = _RULES.get(stream.name) or partial(motion_flags, stream.name)
    flags = stream.flags & _STAMPS
    if not (flags & _OUT).any():
        return replace(stream, flags=flags | judge(stream.time, stream.values))
    looked_at = np.flatnonzero((flags & _OUT) == 0)
    flags[looked_at] |= judge(stream.time[looked_at], stream.values[looked_at])
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
    """Put a beat-by-beat heart rate first where the recording holds RR intervals, or a waveform, and no usable one."""
    if WAVEFORM in recording:
        from ..waveform.rr_from_wave import with_intervals  # scipy and heartpy are loaded only for a waveform

        recording = with_intervals(recording)
    if RR_INTERVAL not in recording or any(stream.usable.any() for stream in recording.all(HEART_RATE)):
        return recording
    derived = tuple(beat_by_beat(stream) for stream in recording.all(RR_INTERVAL))
    return replace(recording, streams=derived + recording.streams, notes=(*recording.notes, say.READ_BEAT_BY_BEAT))
