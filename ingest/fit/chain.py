"""The FIT files that are chained in one, and in plain sentences what is wrong with their bytes.

A header states how long its file is, and a checksum stands behind it. Either may be wrong, or missing where a
device stopped early or the file was cut off. Whatever is wrong, every whole message before the damage is kept.
"""

from collections.abc import Iterator

from fastcrc import crc16

from ...words.message import Message
from .. import messages as say
from .scan import SIGNATURE, Part, header, scan

_CHECKSUM_BYTES = 2
_HEADER_SIZES = (12, 14)  # the sizes that devices write; a file stating another is read, but not looked for


def parts(data: bytes, notes: list[Message]) -> Iterator[Part]:
    """Scan each FIT file of a chain; put what is wrong with the bytes into ``notes``."""
    begin = 0
    while (span := header(data, begin)) is not None:
        first, end = span
        following = end + _CHECKSUM_BYTES
        if following <= len(data) and _checksum_holds(data, begin, following):
            yield _told(scan(data, first, end), end, notes)
        else:
            part, following = _damaged(data, first, end, notes)
            yield part
        begin = following
    if 0 < begin < len(data):
        notes.append(say.unread_behind_recording(len(data) - begin))


def _damaged(data: bytes, first: int, end: int, notes: list[Message]) -> tuple[Part, int]:
    """A file whose checksum is wrong or missing, and where the next one begins."""
    following, next_file = end + _CHECKSUM_BYTES, _next_file(data, first)
    if end == first:
        notes.append(say.FIT_NO_LENGTH)
        return _to_the_end(scan(data, first, next_file), next_file, notes), next_file
    if following > next_file:
        notes.append(say.fit_cut_off(following - next_file))
        stop = min(end, next_file)
        return _to_the_end(scan(data, first, stop), stop, notes), next_file
    if following < next_file:
        part = scan(data, first, next_file)
        if next_file - part.end <= _CHECKSUM_BYTES:
            notes.append(say.FIT_SHORT_HEADER)
            return part, next_file
    notes.append(say.FIT_CHECKSUM)
    return _told(scan(data, first, end), end, notes), following


def _to_the_end(part: Part, end: int, notes: list[Message]) -> Part:
    """A part that must stop early, inside a message or before a checksum: only more than that is noted."""
    return part if part.cut or end - part.end <= _CHECKSUM_BYTES else _told(part, end, notes)


def _told(part: Part, end: int, notes: list[Message]) -> Part:
    """The part, after noting where and why its scan stopped early."""
    if part.trouble:
        notes.append(say.unread_from_byte(end - part.end, part.end, part.trouble))
    return part


def _next_file(data: bytes, begin: int) -> int:
    """Where the next file of a chain begins, or the end of the bytes."""
    place = data.find(SIGNATURE, begin)
    while place >= 0:
        if place - 8 >= begin and data[place - 8] in _HEADER_SIZES and header(data, place - 8):
            return place - 8
        place = data.find(SIGNATURE, place + 1)
    return len(data)


def _checksum_holds(data: bytes, begin: int, following: int) -> bool:
    """Tell whether the checksum over a file and its own checksum is 0, as it must be."""
    one = data if (begin, following) == (0, len(data)) else data[begin:following]
    return crc16.arc(one) == 0
