"""From bytes to text: which encoding a text file has, and whether a file is text at all. Knows no format."""

import codecs
import re
from collections.abc import Iterator

from ..words.message import Message
from . import messages as say

_BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f]")
_MOST_CONTROL = 2
"""Control signs in the first 4 KiB of a text that was damaged; a binary file has many [common practice]."""

_LARGEST_FOREIGN_SHARE = 0.3
"""Bytes above 127 in a text that is no UTF-8; random bytes have half of them there [common practice]."""


def decode(data: bytes) -> tuple[str, tuple[Message, ...]]:
    """Turn a whole file into text whose lines end in one line feed, and say what had to be assumed.

    UTF-8 and UTF-16 by their byte order mark, else UTF-8, else Latin-1 with a note. A zero byte (what a device
    leaves behind when it loses power while writing) becomes U+FFFD, so that a cell that holds one is no number.
    """
    notes: tuple[Message, ...] = ()
    mark, encoding = _encoding(data)
    try:
        text = data[len(mark) :].decode(encoding)
    except UnicodeDecodeError:
        if mark:
            text = data[len(mark) :].decode(encoding, "replace")
            notes = (say.READ_NOT_THE_MARK,)
        else:
            text = data.decode("latin-1")
            notes = (say.READ_LATIN,)
    if "\0" in text:
        text = text.replace("\0", "\ufffd")
    return _one_line_end(text), notes


def first_lines(text: str, count: int) -> list[str]:
    """The first so many lines, without their line feeds; the rest is not looked at, however long it is."""
    end = 0
    for _ in range(count):
        end = text.find("\n", end) + 1
        if not end:
            return text.split("\n")
    return text[: end - 1].split("\n")


def each_line(text: str) -> Iterator[str]:
    """Every line without its line feed, one at a time: a list of all would be many times as large as the text."""
    begin = 0
    while (end := text.find("\n", begin)) >= 0:
        yield text[begin:end]
        begin = end + 1
    yield text[begin:]


def head_lines(head: bytes, limit: int = 4096) -> list[str] | None:
    """Whole lines at the beginning of a file, None where it is no text, or is XML, HTML or a JSON object.

    A last line that the end of ``head`` may have cut is left out, unless it is the only one.
    """
    mark, encoding = _encoding(head)
    if not mark and head.count(0) > _MOST_CONTROL:
        return None  # binary files, at once
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        text = decoder.decode(head[len(mark) :])
    except UnicodeDecodeError:
        if mark or _foreign_share(head) > _LARGEST_FOREIGN_SHARE:
            return None
        text = head.decode("latin-1")
    start = text.lstrip()[:1]
    if not start or start in "<{" or len(_CONTROL.findall(text)) > _MOST_CONTROL:
        return None
    lines = _one_line_end(text).split("\n")
    cut = len(head) >= limit or lines[-1] == ""
    return lines[:-1] if cut and len(lines) > 1 else lines


def _encoding(data: bytes) -> tuple[bytes, str]:
    """The byte order mark, b"" if there is none, and the encoding."""
    return next(((mark, name) for mark, name in _BOMS if data.startswith(mark)), (b"", "utf-8"))


def _foreign_share(data: bytes) -> float:
    """Share of bytes above 127."""
    return len(data.translate(None, bytes(range(128)))) / max(len(data), 1)


def _one_line_end(text: str) -> str:
    """Write every line end as one line feed."""
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
