"""Files out of a form, piece by piece as they come: nothing of them is held in memory, and nothing is written twice."""

from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, MultipartState, parse_options_header
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from ..errors import EmptyFile, OwnmarkError

MOST_FILES = 1000
MOST_FIELD_BYTES = 16 * 1024
MOST_PARTS = MOST_FILES + 100
"""Files, fields and parts that are neither: each costs time, however short it is."""
Kept = TypeVar("Kept", covariant=True)


class Writing(Protocol[Kept]):
    """A file that is being received."""

    def write(self, data: bytes) -> None:
        """Take a piece."""

    def done(self) -> Kept:
        """The file is there whole: keep it."""
        ...

    def cancel(self) -> None:
        """It will not come whole: leave nothing of it."""


@dataclass(slots=True)
class Sent:
    """What a form sent: its files in their order, its fields, and the files that are none."""

    files: list[object] = field(default_factory=list)
    fields: dict[str, str] = field(default_factory=dict)
    refused: list[OwnmarkError] = field(default_factory=list)


class _Parts:
    """The parser's callbacks: one part of the form after the other."""

    def __init__(self, begin: Callable[[str], Writing[object]]) -> None:
        self.sent = Sent()
        self._begin = begin
        self._header: tuple[bytes, bytes] = (b"", b"")
        self._named: dict[bytes, bytes] = {}
        self._open: Writing[object] | None = None
        self._file_name: str | None = None
        self._text = b""
        self._some = False
        self._count = 0

    def on_part_begin(self) -> None:
        self._count += 1
        if self._count > MOST_PARTS:
            raise HTTPException(413)
        self._named, self._header = {}, (b"", b"")
        self._open, self._file_name, self._text, self._some = None, None, b"", False

    def on_header_field(self, data: bytes, start: int, end: int) -> None:
        self._header = (self._header[0] + data[start:end], self._header[1])

    def on_header_value(self, data: bytes, start: int, end: int) -> None:
        self._header = (self._header[0], self._header[1] + data[start:end])

    def on_header_end(self) -> None:
        if self._header[0].lower() == b"content-disposition":
            self._named = parse_options_header(self._header[1])[1]
        self._header = (b"", b"")

    def on_headers_finished(self) -> None:
        if b"filename" in self._named:
            self._file_name = self._named[b"filename"].decode("utf-8", "replace")

    def on_part_data(self, data: bytes, start: int, end: int) -> None:
        if end <= start:
            return
        if self._file_name is None:
            self._text += data[start:end]
            if len(self._text) > MOST_FIELD_BYTES:
                raise HTTPException(413)
            return
        if self._open is None:
            self._begin_file()
        if self._open is not None:
            self._open.write(data[start:end])

    def on_part_end(self) -> None:
        if self._file_name is None:
            name = self._named.get(b"name", b"").decode("utf-8", "replace")
            self.sent.fields[name] = self._text.decode("utf-8", "replace")
            return
        if (
            self._open is None and self._file_name
        ):  # a file of no bytes is told like any other; nothing chosen has no name
            self._begin_file()
        if self._open is not None:
            writing, self._open = self._open, None
            try:
                self.sent.files.append(writing.done())
            except EmptyFile as reason:  # the others go on
                self.sent.refused.append(reason)

    def _begin_file(self) -> None:
        if len(self.sent.files) >= MOST_FILES:
            raise HTTPException(413)
        self._open = self._begin(self._file_name or "")

    def drop(self) -> None:
        """What is not whole is not kept; what is, is."""
        if self._open is not None:
            self._open.cancel()
            self._open = None


async def receive(content_type: str, body: AsyncIterator[bytes], begin: Callable[[str], Writing[object]]) -> Sent:
    """Take a form of files.

    Parameters
    ----------
    content_type : the request's header
    body : its pieces
    begin : opens the place for a file of a name, which is whatever was sent; each whole file is kept at once

    Raises
    ------
    HTTPException
        400 if it is no such form or ends before its end; the files before that are kept.
    """
    kind, options = parse_options_header(content_type)
    boundary = options.get(b"boundary")
    if kind != b"multipart/form-data" or not boundary:
        raise HTTPException(400)
    parts = _Parts(begin)
    names = [name for name in dir(parts) if name.startswith("on_")]
    try:
        parser = MultipartParser(boundary, {name: getattr(parts, name) for name in names})  # type: ignore[misc]
        async for piece in body:
            await run_in_threadpool(parser.write, piece)  # files are written and archives unpacked in there
        if parser.state != MultipartState.END:
            raise HTTPException(400)
    except FormParserError:
        raise HTTPException(400) from None
    finally:
        parts.drop()
    return parts.sent
