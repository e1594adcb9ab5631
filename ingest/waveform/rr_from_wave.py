"""From an ECG or a pulse wave to RR intervals, where a recording holds neither heart rate nor intervals.

Beats are found by ``wave_beats`` and judged by ``wave_trust``. Between two trusted beats lies an interval; a stretch
that cannot be trusted is a gap and is counted in a note. The rules for RR intervals then judge each interval as
those of any other file: an ectopic beat is flagged, never smoothed away.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from .. import messages as say
from ..cleaning.rr_interval import rr_flags
from ..flags import Flag
from ..recording import ECG, HEART_RATE, PULSE, RR_INTERVAL, UNITS, WAVEFORM, Recording, Stream
from ..span import extent
from .beats import find_beats
from .kind import kind_of_shape
from .reliability import judged
from .runs import SHORTEST_S, Run, runs_of

LONGEST_S = 2.5
"""Two trusted beats further apart than 24 /min have lost others in between [common practice]."""

ENOUGH = 0.8
"""Share of a lead that must be trusted for the next one not to be asked."""

LOWEST_HZ = {ECG: 60.0, PULSE: 10.0}
"""Sampling below which the wave cannot be told: twice the highest frequency that it needs [common practice]."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """What one waveform gives: starts of intervals [s], intervals [s], their flags, shape (n,) each, and the gaps [s].

    ``told`` : the file says of which kind the wave is; ``too_slow_hz`` : its rate, where that is too low for beats.
    """

    kind: str
    told: bool
    start_s: Floats
    rr_s: Floats
    flags: NDArray[np.uint16]
    span_s: float
    gaps: tuple[tuple[float, float], ...]
    too_slow_hz: float | None = None

    @property
    def share(self) -> float:
        """Share of the waveform that lies in trusted intervals."""
        return float(self.rr_s.sum()) / self.span_s if self.span_s > 0 else 0.0


def with_intervals(recording: Recording) -> Recording:
    """Add judged RR intervals where the recording holds a waveform and neither usable heart rate nor intervals.

    Of several waveforms, ECGs go before pulse waves; the first of which 80 % can be trusted is used, else the one
    with most.
    """
    held = recording.all(HEART_RATE) + recording.all(RR_INTERVAL)
    if WAVEFORM not in recording or any(stream.usable.any() for stream in held):
        return recording
    best: tuple[Stream, Beats] | None = None
    for stream in sorted(recording.all(WAVEFORM), key=lambda stream: stream.kind != ECG):
        beats = beats_of(stream)
        if best is None or beats.share > best[1].share:
            best = stream, beats
        if best[1].share >= ENOUGH:
            break
    if best is None:
        return recording
    stream, beats = best
    notes = _notes(beats)
    if not len(beats.rr_s):
        return recording.with_notes(notes)
    derived = Stream(
        name=RR_INTERVAL,
        unit=UNITS[RR_INTERVAL],
        time=beats.start_s,
        values=beats.rr_s,
        flags=beats.flags,
        cover_s=beats.rr_s,
        source=stream.source,
        derived_from=WAVEFORM,
        ran_s=stream.ran_s or extent(stream),
    )
    return replace(recording, streams=(*recording.streams, derived), notes=(*recording.notes, *notes))


def beats_of(stream: Stream) -> Beats:
    """Trusted beats of one waveform.

    Returns
    -------
    Beats
        ``gaps`` are the stretches without trusted intervals that are longer than ``LONGEST_S``, from the first
        sample to the last.
    """
    runs, _ = runs_of(stream)
    kind = stream.kind or kind_of_shape(runs)
    span_s = float(stream.time[-1] - stream.time[0]) if len(stream) > 1 else 0.0
    slow = [run.rate_hz for run in runs if run.rate_hz < LOWEST_HZ[kind]]
    none = np.empty(0), np.empty(0), np.empty(0, bool)
    pieces = [_intervals(run, kind) for run in runs if run.rate_hz >= LOWEST_HZ[kind]] or [none]
    start_s, rr_s, skips = (np.concatenate(column) for column in zip(*pieces, strict=True))
    flags = rr_flags(rr_s) | np.where(skips, np.uint16(Flag.MISSED_BEAT), np.uint16(0))
    if kind != ECG:
        flags |= np.uint16(Flag.UNPROVEN)
    gaps = _gaps(stream, start_s, rr_s)
    return Beats(kind, bool(stream.kind), start_s, rr_s, flags, span_s, gaps, min(slow) if slow else None)


def _intervals(run: Run, kind: str) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Starts of a run's trusted intervals on the recording's clock [s], the intervals [s], and which skip a beat."""
    if np.ptp(run.values) == 0:
        return np.empty(0), np.empty(0), np.empty(0, bool)
    found = find_beats(run, kind)
    good, skips = judged(run, kind, found.beats_s, found.refused)
    rr_s = np.diff(found.beats_s)
    kept = good[:-1] & good[1:] & (rr_s <= LONGEST_S)
    return run.begin_s + found.beats_s[:-1][kept], rr_s[kept], skips[kept]


def _gaps(stream: Stream, start_s: Floats, rr_s: Floats) -> tuple[tuple[float, float], ...]:
    """Stretches without an interval [s from the recording's start]."""
    if not len(stream):
        return ()
    ends = np.concatenate(([stream.time[0]], start_s + rr_s))
    begins = np.append(start_s, stream.time[-1])
    lost = np.flatnonzero(begins - ends > LONGEST_S)
    return tuple((float(ends[at]), float(begins[at])) for at in lost)


def _notes(beats: Beats) -> list[Message]:
    """What was done, and what could not be trusted."""
    kind = "ecg" if beats.kind == ECG else "pulse_wave"
    notes = [] if beats.told else [say.wave_kind(kind)]
    if beats.too_slow_hz is not None:
        notes.append(say.wave_too_slow(kind, beats.too_slow_hz, LOWEST_HZ[beats.kind]))
    if not len(beats.rr_s):
        return [*notes, say.wave_no_beats(kind, SHORTEST_S)]
    notes.append(say.wave_intervals(kind, len(beats.rr_s), float(beats.rr_s.sum()), beats.span_s))
    if beats.gaps:
        lost_s = sum(end - begin for begin, end in beats.gaps)
        notes.append(say.wave_gaps(len(beats.gaps), lost_s, *beats.gaps[0]))
    return notes
