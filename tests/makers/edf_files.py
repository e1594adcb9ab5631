"""EDF and EDF+ files for tests, written byte by byte from the format's own table; no library is used.

Offsets and fields: trade tables 11.12 to 11.14.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

LOW, HIGH = -32768, 32767
PATIENT = "SN-884213 F 02-MAY-2012 Quillfeather"
RECORDING = "Startdate 12-MAY-2026 SN-884213 Quillfeather 51.4778"


@dataclass(frozen=True)
class Channel:
    """One channel: ``values`` in the dimension; ``limits`` are its physical minimum and maximum."""

    label: str
    dimension: str
    rate: int
    values: Sequence[float]
    limits: tuple[float, float] = (-8.0, 8.0)
    device: str = ""

    def digital(self) -> np.ndarray:
        """Whole numbers as a recorder rounds them."""
        low, high = self.limits
        return np.round((np.asarray(self.values, float) - low) / (high - low) * (HIGH - LOW) + LOW).astype("<i2")

    def step(self) -> float:
        """The smallest difference that the file can hold."""
        return (self.limits[1] - self.limits[0]) / (HIGH - LOW)


def edf_bytes(
    channels: Sequence[Channel],
    *,
    record_s: int = 1,
    onsets: Sequence[float] | None = None,
    marks: Sequence[tuple[float, float | None, str]] = (),
    plus: bool = True,
    date: str = "12.05.26",
    time: str = "09.14.05",
    recording: str = RECORDING,
    stated: int | None = None,
    room: int = 96,
) -> bytes:
    """A file of whole records. ``onsets`` of records that do not follow each other make it EDF+D.

    marks : (onset, duration or None, text), written into the record in which they begin
    """
    records = len(channels[0].values) // (channels[0].rate * record_s)
    begins = [float(record * record_s) for record in range(records)] if onsets is None else list(onsets)
    count = len(channels) + plus
    kind = "" if not plus else "EDF+C" if onsets is None else "EDF+D"
    head = _field("0", 8) + _field(PATIENT, 80) + _field(recording, 80) + _field(date, 8) + _field(time, 8)
    head += _field(256 * (count + 1), 8) + _field(kind, 44) + _field(records if stated is None else stated, 8)
    head += _field(record_s, 8) + _field(count, 4)
    rows = [
        (channel.label, channel.device, channel.dimension, *channel.limits, LOW, HIGH, "", channel.rate * record_s, "")
        for channel in channels
    ]
    rows += [("EDF Annotations", "", "", -1, 1, LOW, HIGH, "", room // 2, "")] * plus
    for place, width in enumerate((16, 80, 8, 8, 8, 8, 8, 80, 8, 32)):
        head += b"".join(_field(row[place], width) for row in rows)
    body = b""
    digital = [channel.digital() for channel in channels]
    for record, begin in enumerate(begins):
        for channel, numbers in zip(channels, digital, strict=True):
            size = channel.rate * record_s
            body += numbers[record * size : (record + 1) * size].tobytes()
        if plus:
            until = begins[record + 1] if record + 1 < records else np.inf
            own = [mark for mark in marks if begin <= mark[0] < until]
            body += _lists(begin, own).ljust(room, b"\0")
    return head + body


def _field(value: object, width: int) -> bytes:
    text = f"{value:g}" if isinstance(value, float) else str(value)
    assert len(text) <= width, text
    return text.encode("latin-1").ljust(width)


def _lists(begin: float, marks: Sequence[tuple[float, float | None, str]]) -> bytes:
    """The record's time, then its marks."""
    found = f"+{begin:g}\x14\x14\0".encode()
    for onset, lasts, text in marks:
        found += f"+{onset:g}".encode() + (b"" if lasts is None else f"\x15{lasts:g}".encode())
        found += b"\x14" + text.encode() + b"\x14\0"
    return found


def beats(seconds: float, bpm: float, rate: int) -> np.ndarray:
    """An ECG of nothing but spikes and small waves behind them [mV], with a slow drift and a little noise."""
    time = np.arange(round(seconds * rate)) / rate
    chance = np.random.default_rng(7)
    tops, now = [], 0.4
    while now < seconds:
        tops.append(now)
        now += 60 / bpm * (1 + 0.03 * np.sin(now)) + chance.normal(0, 0.01)
    at = np.array(tops)[:, None]
    spikes = np.exp(-(((time - at) / 0.012) ** 2)) + 0.25 * np.exp(-(((time - at - 0.22) / 0.04) ** 2))
    return spikes.sum(axis=0) + 0.2 * np.sin(0.9 * time) + chance.normal(0, 0.02, len(time))


def small_edf_plus(seconds: int = 60, bpm: float = 96.0) -> bytes:
    """A small EDF+: ECG at 250 Hz, acceleration in g at 50 Hz, and two annotations."""
    time = np.arange(seconds * 50) / 50
    moving = 0.3 * np.sin(2 * np.pi * 0.8 * time) * ((time > seconds / 4) & (time < 3 * seconds / 4))
    chance = np.random.default_rng(8)
    axes = [moving, 0.1 * moving, 1 + 0.5 * moving]
    channels = [Channel("ECG", "mV", 250, beats(seconds, bpm, 250))]
    channels += [
        Channel(f"Acc {axis}", "g", 50, values + chance.normal(0, 0.004, len(time)))
        for axis, values in zip("XYZ", axes, strict=True)
    ]
    marks = [(seconds / 4, None, "work begins"), (3 * seconds / 4, None, "work ends")]
    return edf_bytes(channels, marks=marks)
