"""Excerpts read back: the recording that ``form.excerpt`` wrote, equal to the last bit."""

import json
import math
import zlib
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile
from ...words.message import Message
from ..limits import MOST_SAMPLES, refuse_many
from ..recording import UNITS, Mark, Placing, Provenance, Recording, Source, Span, Stream
from .form import FLAGS, TYPES, equal_steps
from .mark import MAGIC

_LONGEST_HEAD = 1 << 24
T = TypeVar("T")


class _Wrong(Exception):
    """The bytes are not as the form says."""


def read(data: bytes, source: Source) -> Recording:
    """The recording that was written, its file under the name that it has here.

    Raises
    ------
    DamagedFile
        If a byte of it is missing, or is another than was written.
    """
    try:
        return _recording(data, source.name)
    except (_Wrong, ValueError, TypeError, KeyError, OverflowError, RecursionError, MemoryError):
        raise DamagedFile(
            "this excerpt of a recording is cut or has changed since it was written.",
            where=source.name,
            mend="Take it from the logbook again, or restore the latest backup.",
        ) from None


def _recording(data: bytes, name: str) -> Recording:
    end = data.find(b"\n", len(MAGIC), _LONGEST_HEAD)
    if end < 0:
        raise _Wrong
    head = _map(json.loads(data[len(MAGIC) : end]))
    parts = _Parts(memoryview(data)[end + 1 :], name)
    streams = tuple(_stream(_map(each), parts, name) for each in _list(head["streams"]))
    parts.used()
    of, start = _map(head["of"]), head["start"]
    return Recording(
        streams=streams,
        start=None if start is None else datetime.fromisoformat(_text(start)),
        clock_s=_maybe(head["clock_s"], _number),
        marks=tuple(_mark(_map(each)) for each in _list(head["marks"])),
        notes=_messages(head["notes"]),
        sources=(
            Provenance(
                name,
                _text(of["sha256"]),
                _text(of["format"]),
                _text(of["reader"]),
                _maybe(of["part_s"], _span),
                _maybe(of.get("content_sha256"), _text),
            ),
        ),
        placings=tuple(_placing(_map(each), name) for each in _list(head["placings"])),
        ran_s=_maybe(head["ran_s"], _span),
        whole_s=_maybe(head["whole_s"], _span),
    )


class _Parts:
    """The arrays behind the JSON, taken in the order in which it names them."""

    def __init__(self, data: memoryview, name: str) -> None:
        self.data, self.place, self.name = data, 0, name

    def numbers(self, given: object) -> NDArray[np.float64]:
        """Numbers of any type as float64."""
        found = _map(given)
        values = self._taken(found, TYPES).astype(np.float64)
        return values / _number(found["per"]) if "per" in found else values

    def flags(self, given: object) -> NDArray[np.uint16]:
        """Bits."""
        return self._taken(_map(given), (FLAGS,)).astype(np.uint16)

    def axis(self, given: object) -> NDArray[np.float64]:
        """Times."""
        found = _map(given)
        if "step" not in found:
            return self.numbers(found)
        count = self._count([found["count"]])[0]
        return equal_steps(_number(found["from"]), _number(found["step"]), count)

    def used(self) -> None:
        """All bytes were named."""
        if self.place != len(self.data):
            raise _Wrong

    def _count(self, given: object) -> tuple[int, ...]:
        shape = tuple(_whole(each) for each in _list(given))
        if not 1 <= len(shape) <= 2 or min(shape) < 0 or (len(shape) == 2 and shape[1] != 3):
            raise _Wrong
        refuse_many(shape[0], MOST_SAMPLES, "samples", self.name)
        return shape

    def _taken(self, given: Mapping[str, object], allowed: tuple[str, ...]) -> NDArray[np.generic]:
        kind, shape = _text(given["type"]), self._count(given["count"])
        if kind not in allowed:
            raise _Wrong
        width, count = np.dtype(kind).itemsize, math.prod(shape)
        data = self.data[self.place : self.place + width * count]
        self.place += width * count
        if len(data) != width * count or zlib.crc32(data) != given["crc32"]:
            raise _Wrong
        whole = np.ascontiguousarray(np.frombuffer(data, np.uint8).reshape(width, count).T)
        return whole.view(kind).reshape(shape)


def _stream(found: Mapping[str, object], parts: _Parts, name: str) -> Stream:
    quantity, unit = _text(found["name"]), _text(found["unit"])
    if UNITS.get(quantity) != unit:
        raise _Wrong
    time, values, flags = parts.axis(found["time"]), parts.numbers(found["values"]), parts.flags(found["flags"])
    if not np.isfinite(time).all() or (np.diff(time) < 0).any() or (quantity in _THREE) != (values.ndim == 2):
        raise _Wrong
    return Stream(
        name=quantity,
        unit=unit,
        time=time,
        values=values,
        flags=flags,
        cover_s=parts.numbers(found["cover_s"]) if "cover_s" in found else None,
        source=name,
        derived_from=_maybe(found["derived_from"], _text),
        kind=_text(found["kind"]),
        ran_s=_maybe(found["ran_s"], _span),
    )


_THREE = frozenset({"acceleration", "angular_rate"})


def _mark(found: Mapping[str, object]) -> Mark:
    return Mark(
        _number(found["time_s"]), _text(found["kind"]), _text(found["label"]), _maybe(found["until_s"], _number)
    )


def _placing(found: Mapping[str, object], name: str) -> Placing:
    return Placing(
        name,
        _number(found["offset_s"]),
        _text(found["how"]),
        _maybe(found["within_s"], _number),
        _maybe(found["confidence"], _number),
        _maybe(found["drift_ppm"], _number),
        _number(found["anchor_s"]),
        _messages(found["notes"]),
    )


def _messages(given: object) -> tuple[Message, ...]:
    return tuple(Message.from_json(_map(each)) for each in _list(given))


def _map(given: object) -> Mapping[str, object]:
    if not isinstance(given, dict):
        raise _Wrong
    return given


def _list(given: object) -> list[object]:
    if not isinstance(given, list):
        raise _Wrong
    return given


def _text(given: object) -> str:
    if not isinstance(given, str):
        raise _Wrong
    return given


def _number(given: object) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not math.isfinite(given):
        raise _Wrong
    return float(given)


def _whole(given: object) -> int:
    if isinstance(given, bool) or not isinstance(given, int):
        raise _Wrong
    return given


def _span(given: object) -> Span:
    begin, end = (_number(each) for each in _list(given))
    return begin, end


def _maybe(given: object, read_it: Callable[[object], T]) -> T | None:
    return None if given is None else read_it(given)
