"""An excerpt as bytes: the open form in which the part of a shared or long file is kept.

    ownmark excerpt 1                                        magic, one line
    {"start": …, "streams": […], "marks": […], …}            one line of JSON
    …                                                        the arrays, one behind the other

Each array is named in the JSON by ``{"type", "count", "crc32"}``, the type as numpy writes it (``"<f8"``, ``"<i2"``).
Of numbers of several bytes all the first bytes come first, then all the second ones and so on, which packs well. With
``"per"`` each is divided by it. A time axis of equal steps is ``{"from", "step", "count"}``. Every number comes back
to the last bit. ``docs/excerpt.md`` has the whole description.
"""

import json
import zlib
from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...words.message import Json
from ..clock_shift import unshifted
from ..recording import Mark, Placing, Recording, Stream
from .mark import MAGIC

TYPES: Final = ("<u1", "<i2", "<i4", "<f4", "<f8")
"""The types of an array, smallest first; flags are ``<u2``."""
PARTS: Final = (1000.0, 1024.0, 10.0, 100.0, 1e4, 1e5, 1e6)
"""A decimal number of a table, or a count of a sensor, is a whole number of such parts."""
FLAGS: Final = "<u2"


def excerpt(recording: Recording) -> bytes:
    """The bytes that ``reader.read`` turns into an equal recording.

    Raises
    ------
    ValueError
        If the recording is not of one file.
    """
    if len(recording.sources) != 1:
        raise ValueError("an excerpt is of one file")
    source, parts = recording.sources[0], _Parts()
    recording = unshifted(recording)  # what the file states: a person's word is kept beside it, and can be another
    head: dict[str, Json] = {
        "of": {
            "sha256": source.sha256,
            "format": source.format,
            "reader": source.reader,
            "part_s": _span(source.part_s),
            **({} if source.content_sha256 is None else {"content_sha256": source.content_sha256}),
        },
        "start": None if recording.start is None else recording.start.isoformat(),
        "clock_s": recording.clock_s,
        "ran_s": _span(recording.ran_s),
        "whole_s": _span(recording.whole_s),
        "streams": [_stream(stream, parts) for stream in recording.streams],
        "marks": [_mark(mark) for mark in recording.marks],
        "notes": [note.to_json() for note in recording.notes],
        "placings": [_placing(placing) for placing in recording.placings],
    }
    line = json.dumps(head, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
    return b"".join((MAGIC, line, b"\n", *parts.bytes))


class _Parts:
    """The arrays behind the JSON, in the order in which it names them."""

    def __init__(self) -> None:
        self.bytes: list[bytes] = []

    def add(self, values: NDArray[np.float64]) -> Json:
        """Numbers, in the smallest type that gives each of them back to the last bit."""
        kind = next(each for each in TYPES if _same(values, each))
        if kind == TYPES[-1]:
            for per in PARTS:
                with np.errstate(all="ignore"):
                    whole = np.rint(values * per)
                if _bits(whole / per) == _bits(values) and _same(whole, "<i4"):
                    return {**self._add(whole, "<i2" if _same(whole, "<i2") else "<i4"), "per": per}
        return self._add(values, kind)

    def flags(self, values: NDArray[np.uint16]) -> Json:
        """Bits."""
        return self._add(values, FLAGS)

    def axis(self, time: NDArray[np.float64]) -> Json:
        """Times: as begin and step where that gives each of them back to the last bit."""
        if len(time) > 2:
            begin, step = float(time[0]), float(time[-1] - time[0]) / (len(time) - 1)
            for each in (step, float(time[1] - time[0]), 1.0 / (np.round(1.0 / step) or 1.0) if step else 0.0):
                if _bits(equal_steps(begin, each, len(time))) == _bits(time):
                    return {"from": begin, "step": each, "count": len(time)}
        return self.add(time)

    def _add(self, values: NDArray[np.float64] | NDArray[np.uint16], kind: str) -> dict[str, Json]:
        stored = np.ascontiguousarray(values).astype(kind)
        data = stored.view(np.uint8).reshape(-1, stored.itemsize).T.tobytes()
        self.bytes.append(data)
        return {"type": kind, "count": list(values.shape), "crc32": zlib.crc32(data)}


def equal_steps(begin: float, step: float, count: int) -> NDArray[np.float64]:
    """A time axis of equal steps, shape (count,)  [s]."""
    return begin + np.arange(count, dtype=np.float64) * step


def _same(values: NDArray[np.float64], kind: str) -> bool:
    """Whether a type holds the very same numbers, the sign of zero and each NaN included."""
    with np.errstate(all="ignore"):
        return _bits(values.astype(kind).astype(np.float64)) == _bits(values)


def _bits(values: NDArray[np.float64]) -> bytes:
    return np.ascontiguousarray(values).tobytes()


def _stream(stream: Stream, parts: _Parts) -> Json:
    found: dict[str, Json] = {
        "name": stream.name,
        "unit": stream.unit,
        "kind": stream.kind,
        "derived_from": stream.derived_from,
        "ran_s": _span(stream.ran_s),
        "time": parts.axis(stream.time),
        "values": parts.add(stream.values),
        "flags": parts.flags(stream.flags),
    }
    return found if stream.cover_s is None else {**found, "cover_s": parts.add(stream.cover_s)}


def _mark(mark: Mark) -> Json:
    return {"time_s": mark.time_s, "kind": mark.kind, "label": mark.label, "until_s": mark.until_s}


def _placing(placing: Placing) -> Json:
    found: Mapping[str, Json] = {
        "offset_s": placing.offset_s,
        "how": placing.how,
        "within_s": placing.within_s,
        "confidence": placing.confidence,
        "drift_ppm": placing.drift_ppm,
        "anchor_s": placing.anchor_s,
        "notes": [note.to_json() for note in placing.notes],
    }
    return dict(found)


def _span(span: tuple[float, float] | None) -> Json:
    return None if span is None else [span[0], span[1]]
