"""Columns of values out of the messages that ``fit_scan`` found, and a time stamp for every message.

Message, field and base-type definitions come from the tables that fitparse carries; there is no second
dictionary here.
"""

from collections.abc import Iterator
from functools import cache, cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .scan import Field, Group, Part

TIMESTAMP = 253  # the field number that means "time stamp" in every message
_ROLLOVER_S = 32  # compressed headers count five bits of seconds
_UINT32 = 0x86  # the base type of a stamp
_FEW = 16  # up to so many messages (laps, starts and stops) slices are quicker than an index
_LAST_S = 2**32 - 1  # its largest value, which means "none"


@cache
def message_number(name: str) -> int:
    """Number of a message by its name in the profile."""
    from fitparse.profile import MESSAGE_TYPES

    return next(number for number, message in MESSAGE_TYPES.items() if message.name == name)


@cache
def field_number(message: str, name: str) -> tuple[int, float]:
    """``(number, scale)`` of a field by its name in the profile; a scale of 1 where it states none."""
    from fitparse.profile import MESSAGE_TYPES

    fields = MESSAGE_TYPES[message_number(message)].fields
    number, entry = next((number, entry) for number, entry in fields.items() if entry.name == name)
    return number, float(getattr(entry, "scale", None) or 1)


class BaseType(NamedTuple):
    """How a base type reads in numpy, and its "no value" (None for floats, whose NaN says so itself).

    ``together``: an array of this type has no value only if all its entries say so.
    """

    kind: np.dtype[np.generic]
    invalid: int | None
    together: bool


@cache
def base_type(number: int, big_endian: bool) -> BaseType | None:
    """The base type of that number; None for text. One that the profile does not know is read as bytes.

    "No value" is all ones for unsigned types, the largest for signed ones, 0 for the "z" types.
    """
    from fitparse.records import BASE_TYPE_BYTE, BASE_TYPES

    entry = BASE_TYPES.get(number, BASE_TYPE_BYTE)
    if entry.fmt == "s":
        return None
    kind = np.dtype(entry.fmt).newbyteorder(">" if big_endian else "<")
    if kind.kind == "f":
        return BaseType(kind, None, False)
    invalid = 0 if entry.name.endswith("z") else int(np.iinfo(kind).max)
    return BaseType(kind, invalid, entry.name == BASE_TYPE_BYTE.name)


class Rows:
    """The data messages of one kind that share a layout, in the order of the file."""

    def __init__(self, data: bytes, group: Group) -> None:
        self._data, self.group = data, group

    def __len__(self) -> int:
        return len(self.group)

    @cached_property
    def position(self) -> NDArray[np.int64]:
        """Where each begins, shape (n,), which is also their order among all messages."""
        return self.group.positions()

    def find(self, number: int) -> Field | None:
        """The field of that number, if the layout has it."""
        return self.group.layout.fields.get(number)

    def column(self, number: int) -> NDArray[np.float64] | None:
        """Values of a field, shape (n,), or (n, k) for an array of k; NaN where invalid.

        None if the layout lacks the field, or its size is no multiple of its type, or it is text.
        """
        entry = self.find(number)
        base = None if entry is None else base_type(entry.base, self.group.layout.big_endian)
        if entry is None or base is None or not entry.size or entry.size % base.kind.itemsize:
            return None
        raw = self._raw(entry, base.kind)
        raw = raw[:, 0] if raw.shape[1] == 1 else raw
        values = raw.astype(np.float64)
        empty = np.isinf(values) if base.invalid is None else raw == base.invalid
        values[empty.all(axis=1) if base.together and raw.ndim > 1 else empty] = np.nan
        return values

    def table(self, number: int) -> NDArray[np.float64] | None:
        """Like ``column``, always of shape (n, k)."""
        values = self.column(number)
        return values[:, None] if values is not None and values.ndim == 1 else values

    def octets(self, number: int) -> NDArray[np.uint8] | None:
        """A field's bytes as they stand, shape (n, size); None if the layout lacks it."""
        entry = self.find(number)
        return None if entry is None or not entry.size else self._raw(entry, np.dtype(np.uint8)).astype(np.uint8)

    def seconds(self) -> NDArray[np.float64] | None:
        """Time stamps as the file writes them, shape (n,); NaN where invalid. None without the field."""
        stamp = self.column(TIMESTAMP)
        if stamp is None or stamp.ndim != 1:
            return None
        if self.group.layout.fields[TIMESTAMP].base != _UINT32:  # as no device writes it
            stamp[(stamp < 0) | (stamp >= _LAST_S)] = np.nan
        return stamp

    def stamps(self, clock: "Clock") -> NDArray[np.float64]:
        """Each message's own stamp, or the one that its compressed header makes; never another message's."""
        own = self.seconds()
        if not self.group.compressed:
            return np.full(len(self), np.nan) if own is None else own
        made = clock.at(self.position)
        return made if own is None else np.where(np.isnan(own), made, own)

    def _raw(self, entry: Field, kind: np.dtype[np.generic]) -> NDArray[np.generic]:
        """One field of every message, undecoded, shape (n, k); a view into the file where they are one run."""
        width = entry.size // kind.itemsize
        if not self.group.alone and len(self.group.runs) == 1:
            first, count, stride = self.group.runs[0]
            return np.ndarray((count, width), kind, self._data, first + entry.offset, (stride, kind.itemsize))
        if not self.group.runs and len(self.group.alone) <= _FEW:
            pieces = [
                self._data[first + entry.offset : first + entry.offset + entry.size] for first in self.group.alone
            ]
            return np.frombuffer(b"".join(pieces), kind).reshape(-1, width)
        everywhere = len(self._data) - entry.size + 1  # the field as it would read at every byte of the file
        return np.ndarray((everywhere, width), kind, self._data, 0, (1, kind.itemsize))[self.position + entry.offset]


def rows_of(data: bytes, part: Part, message: str) -> Iterator[Rows]:
    """Every group of a kind of message, in the order in which their layouts appear."""
    number = message_number(message)
    for group in part.groups:
        if group.layout.message == number:
            yield Rows(data, group)


def unrolled(counter: NDArray[np.int64], short: NDArray[np.bool_], turn: int) -> NDArray[np.int64]:
    """Full values of a counter of which some entries give only the remainder of a division by ``turn``.

    counter, short : ndarray, shape (n,), in order; ``short`` marks the entries that give a remainder. Each
        counts on from the entry before it and never runs backward; before the first full entry, from 0.
    """
    low = counter % turn
    before = np.append(0, low[:-1])
    turns = np.cumsum(short & (low < before))
    full = np.maximum.accumulate(np.where(short, -1, np.arange(len(counter))))
    base, passed = (counter - low)[full], turns[full]
    return np.where(full >= 0, base - turn * passed, 0) + turn * turns + low


class Clock:
    """The time stamp in force at every position of a part. Worked out only when something asks for it."""

    def __init__(self, data: bytes, part: Part) -> None:
        self._data, self._part = data, part

    @cached_property
    def _known(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """``(position, stamp [s])`` of every message that has one, in the order of the file, shape (n,) each."""
        places: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        stamps: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        for group in self._part.groups:
            rows = Rows(self._data, group)
            seconds = rows.seconds()
            if seconds is not None:
                valid = np.isfinite(seconds)
                places.append(rows.position[valid])
                stamps.append(seconds[valid].astype(np.int64))
        full = sum(len(place) for place in places)
        for group in self._part.groups:
            if group.compressed:
                places.append(group.positions())
                stamps.append((np.frombuffer(self._data, np.uint8)[places[-1]] % _ROLLOVER_S).astype(np.int64))
        place, stamp = np.concatenate(places), np.concatenate(stamps)
        order = np.argsort(place, kind="stable")
        if full == len(place):
            return place[order], stamp[order]
        short = order >= full
        anchored = np.maximum.accumulate(~short)
        return place[order][anchored], unrolled(stamp[order], short, _ROLLOVER_S)[anchored]

    @property
    def first(self) -> float | None:
        """The first stamp of the part, None if it has none."""
        return float(self._known[1][0]) if len(self._known[1]) else None

    def at(self, position: NDArray[np.int64]) -> NDArray[np.float64]:
        """The stamp in force at each position, shape (n,); NaN before the first."""
        place, seconds = self._known
        if not len(place):
            return np.full(len(position), np.nan)
        found = np.searchsorted(place, position, side="right") - 1
        return np.where(found >= 0, seconds[found], np.nan)
