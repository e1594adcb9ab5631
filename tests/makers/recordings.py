"""Recordings made in memory, for tests of metrics: no file, no reader."""

import numpy as np
from ownmark.ingest.recording import HEART_RATE, Provenance, Recording, Stream


def pulse(time_s, bpm, *, flags=None, cover_s=None):
    """A judged heart-rate stream: flags 0 unless given."""
    flags = np.zeros(len(time_s), np.uint16) if flags is None else flags
    return Stream.from_samples(HEART_RATE, time_s, bpm, flags=flags, cover_s=cover_s, source="made.csv")


def recording(*streams, marks=(), start=None):
    """A recording of these streams."""
    source = Provenance("made.csv", "0" * 64, "table", "test")
    return Recording(streams=tuple(streams), marks=tuple(marks), start=start, sources=(source,))


def every_second(bpm):
    """A recording with one value a second from 0 on."""
    return recording(pulse(np.arange(len(bpm), dtype=float), np.asarray(bpm, dtype=float)))
