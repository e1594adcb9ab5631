"""The skeleton of a FIT file: where its messages lie, without decoding any value.

A FIT file is a header, then definition messages (the layout of what follows) and data messages, then a
checksum. Data messages mostly repeat: one kind in a long run, or two to four kinds in turn. The scan notes such
a run as (position, count, stride) and steps over it with a few numpy comparisons; decoding is left to
``fit_columns``. Whatever stops the scan, all that came before is kept and the reason is told.

Source: the FIT protocol as its open readers implement it; checked message by message against two of them.
"""

import struct
from array import array
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from .. import messages as say

SIGNATURE = b".FIT"
_SMALLEST_HEADER = 12
_COMPRESSED, _DEFINITION, _DEVELOPER, _LOCAL = 0x80, 0x40, 0x20, 0x0F
_LONGEST_TURN = 4  # kinds of message that may take turns in one run
_AHEAD = 12  # messages looked at one by one before numpy is asked how far they repeat
_FIRST_LOOK = 1024  # turns compared in the first step of a run; four times as many in each that follows
_SOON, _LATER = 16, 512  # messages taken one by one until the next look for a run; more after each one in vain
_MOST_MESSAGES = 10_000_000  # a day of 100 samples a second
_MOST_LAYOUTS = 4096  # devices use a few dozen


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a layout: its number, base type, and where in the record (header byte included) it lies."""

    number: int
    base: int
    offset: int
    size: int


@dataclass(frozen=True, slots=True)
class Layout:
    """What a definition message says of the data messages that follow it: fields by number, and the size [bytes].

    The size counts the header byte. Of two fields with one number the first stands, as its readers take it.
    """

    message: int
    big_endian: bool
    fields: Mapping[int, Field]
    size: int


@dataclass(slots=True, eq=False)
class Group:
    """All data messages of one layout: runs of (position of the first, count, stride), and those that stand alone."""

    layout: Layout
    compressed: bool
    runs: list[tuple[int, int, int]] = field(default_factory=list)
    alone: array = field(default_factory=lambda: array("q"))

    def __len__(self) -> int:
        return len(self.alone) + sum(count for _, count, _ in self.runs)

    def positions(self) -> NDArray[np.int64]:
        """Where each data message begins, in the order of the file, shape (n,)."""
        pieces = [first + stride * np.arange(count, dtype=np.int64) for first, count, stride in self.runs]
        if not self.alone and len(pieces) == 1:
            return pieces[0]
        return np.sort(np.concatenate((np.frombuffer(self.alone, np.int64), *pieces)))


@dataclass(frozen=True, slots=True)
class Part:
    """One FIT file, of the several that may be chained in one.

    ``end`` is where the scan stopped, ``trouble`` why it did so early; ``cut`` tells that the bytes ran out
    inside a message, which is no surprise in a file that is known to be cut off.
    """

    groups: tuple[Group, ...]
    end: int
    trouble: Message | None = None
    cut: bool = False


def header(data: bytes, begin: int) -> tuple[int, int] | None:
    """Find ``(first message, end of messages)`` of a FIT file that begins here; None if none does.

    The end is where the header says; it may lie behind the last byte of a file that was cut off.
    """
    if data[begin + 8 : begin + _SMALLEST_HEADER] != SIGNATURE:
        return None
    first = begin + max(data[begin], _SMALLEST_HEADER)
    return first, first + int.from_bytes(data[begin + 4 : begin + 8], "little")


def scan(data: bytes, begin: int, end: int) -> Part:
    """Note every data message between two positions. Never raises: trouble is part of the answer."""
    kinds = _Kinds(data, end)
    octets = np.frombuffer(data, np.uint8)
    position, pause, left = begin, _SOON, _MOST_MESSAGES
    while position < end:
        if left <= 0:
            return kinds.part(position, say.FIT_TOO_MANY_MESSAGES)
        if data[position] & (_COMPRESSED | _DEFINITION) == _DEFINITION:
            after = kinds.define(position)
            if after is None:
                return kinds.part(position, say.FIT_CUT_DEFINITION, cut=True)
            position, left = after, left - 1
            continue
        group = kinds.groups_by_head[data[position]]
        group = kinds.open(data[position]) if group is None else group
        if group is None:
            return kinds.part(position, say.FIT_TOO_MANY_LAYOUTS if kinds.full else say.FIT_NO_SENSE)
        if position + group.layout.size > end:
            return kinds.part(position, say.FIT_CUT_MESSAGE, cut=True)
        after, turns = _run(kinds, octets, position, left)
        pause = _SOON if turns > _SOON else min(2 * pause, _LATER)
        position, taken = _one_by_one(kinds, after, pause)
        left -= turns + taken
    return kinds.part(position)


class _Kinds:
    """Which group a header byte stands for at this point of the file; definitions change it on the way."""

    def __init__(self, data: bytes, end: int) -> None:
        self.data, self.end = data, end
        self.groups_by_head: list[Group | None] = [None] * 256
        self._local: dict[int, bytes] = {}
        self._groups: dict[tuple[bytes, bool], Group] = {}

    @property
    def full(self) -> bool:
        """Whether no further layout is taken."""
        return len(self._groups) >= _MOST_LAYOUTS

    def part(self, position: int, trouble: Message | None = None, *, cut: bool = False) -> Part:
        """What was found up to a position."""
        return Part(tuple(group for group in self._groups.values() if len(group)), position, trouble, cut)

    def define(self, position: int) -> int | None:
        """Take in a definition message; where the next message begins, or None if it is not whole."""
        body = _definition_body(self.data, position, self.end)
        if body is None:
            return None
        local = self.data[position] & _LOCAL
        if self._local.get(local) != body:
            self._local[local] = body
            self.groups_by_head[local : _DEFINITION : _LOCAL + 1] = [None] * 4
            if local < 4:
                short = _COMPRESSED | local << 5
                self.groups_by_head[short : short + 32] = [None] * 32
        return position + 1 + len(body)

    def open(self, head: int) -> Group | None:
        """Find the group of a header byte that was not met since its definition; None if it has none."""
        compressed = bool(head & _COMPRESSED)
        body = self._local.get(head >> 5 & 0x03 if compressed else head & _LOCAL)
        if body is None:
            return None
        group = self._groups.get((body, compressed))
        if group is None:
            if self.full:
                return None
            group = self._groups[body, compressed] = Group(_layout(body), compressed)
        self.groups_by_head[head] = group
        return group


def _one_by_one(kinds: _Kinds, position: int, most: int) -> tuple[int, int]:
    """Note up to ``most`` messages, stopping before anything that is not a whole data message of a known kind.

    Returns where the next message begins, and how many were noted.
    """
    data, end, groups = kinds.data, kinds.end, kinds.groups_by_head
    for taken in range(most):
        group = groups[data[position]] if position < end else None
        if group is None or position + group.layout.size > end:
            return position, taken
        group.alone.append(position)
        position += group.layout.size
    return position, most


def _run(kinds: _Kinds, octets: NDArray[np.uint8], position: int, limit: int) -> tuple[int, int]:
    """Note the run that begins here, if one does; where it ends and how many messages it holds."""
    turn = _turn(kinds, position)
    if not turn:
        return position, 0
    stride = sum(group.layout.size for group in turn)
    most = min((kinds.end - position) // stride, 1 + limit // len(turn))
    first = position
    for group in turn:
        most = _repeats(octets[first::stride], 0xE0 if group.compressed else 0xFF, most)
        first += group.layout.size
    first = position
    for group in turn:
        group.runs.append((first, most, stride))
        first += group.layout.size
    return position + most * stride, most * len(turn)


def _turn(kinds: _Kinds, position: int) -> list[Group]:
    """Find the shortest pattern of kinds that the next messages repeat; empty if they repeat none."""
    data, end = kinds.data, kinds.end
    ahead: list[Group] = []
    while len(ahead) < _AHEAD and position < end:
        group = kinds.groups_by_head[data[position]]
        if group is None:
            break
        ahead.append(group)
        position += group.layout.size
    if len(ahead) < _AHEAD or position > end:
        return []
    for length in range(1, _LONGEST_TURN + 1):
        if ahead[length:] == ahead[:-length]:
            return ahead[:length]
    return []


def _repeats(heads: NDArray[np.uint8], mask: int, most: int) -> int:
    """Count how many header bytes, up to ``most``, equal the first under a mask."""
    known, look = 1, _FIRST_LOOK
    while known < most:
        ahead = heads[known : min(known + look, most)]
        differs = ((ahead ^ heads[0]) & mask) != 0
        if differs.any():
            return known + int(differs.argmax())
        known += len(ahead)
        look *= 4
    return most


def _definition_body(data: bytes, position: int, end: int) -> bytes | None:
    """Cut a definition message out, without its header byte; None if it is not whole."""
    if position + 6 > end:
        return None
    stop = position + 6 + 3 * data[position + 5]
    if data[position] & _DEVELOPER:
        if stop >= end:
            return None
        stop += 1 + 3 * data[stop]
    return data[position + 1 : stop] if stop <= end else None


@lru_cache(256)
def _layout(body: bytes) -> Layout:
    """Read a definition message; developer fields count towards the size and are stepped over."""
    big_endian = body[1] != 0
    message = struct.unpack_from(">H" if big_endian else "<H", body, 2)[0]
    count, offset, fields = body[4], 1, {}
    for place in range(5, 5 + 3 * count, 3):
        number, size, base = body[place : place + 3]
        fields.setdefault(number, Field(number, base, offset, size))
        offset += size
    developer = body[5 + 3 * count + 1 :]
    return Layout(message, big_endian, fields, offset + sum(developer[1::3]))
