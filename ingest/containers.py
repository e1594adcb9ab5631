"""From a path to the files in it: a plain file, ``.gz``, ``.zip``, and ``.gz`` inside ``.zip``.

What a file is packed in is told by its first bytes, never by its name. A bad file is an answer of its own and
stops no other. Nothing is unpacked to the disk here, and nothing grows beyond the limits below.
"""

import os
import stat
import unicodedata
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from hashlib import file_digest, sha256
from io import BufferedReader, BytesIO, FileIO
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypeVar

from ..errors import DamagedFile, EmptyFile, IngestError, ReaderFault, TooLarge, UnknownFormat, UnreadableFile
from ..words.message import Message, Quoted
from . import refusal_messages as refused
from .gzip_pieces import BLOCK, GZ, gz_pieces
from .recording import Hints, Source
from .unknown_formats import describe_zip, is_archive

if TYPE_CHECKING:
    from zipfile import ZipFile, ZipInfo

MIB = 2**20
MAX_FILE_BYTES = 512 * MIB
"""A day of acceleration at 100 Hz as text is about 350 MB: what is larger is no recording of a trial."""
MAX_UNPACKED_BYTES = MAX_FILE_BYTES
"""The same for what one packed file unpacks to."""
MAX_RATIO = 200
"""Recordings pack 3 to 60 times; a packing made to do harm comes close to 1,032, the most the method can."""
RATIO_FROM_BYTES = 16 * MIB
"""Below this the ratio does not matter: it cannot do harm, and a small file of equal rows may pack well."""
MAX_MEMBERS = 1000
"""Two files for each of 500 students: a bag of recordings that holds more is a mistake."""
MAX_TOTAL_BYTES = 2048 * MIB
"""For all that one archive unpacks to: 1,000 files of 2 MB. It bounds the time that an archive can cost."""
MAX_DIRECTORY_BYTES = 2 * MIB
"""An archive's list of 1,000 members, at 2 KB each; it is read as a whole, before anything else is known."""

_HEAD = 4096
_ZIP = (b"PK\x03\x04", b"PK\x05\x06")
_ENCRYPTED, _STORED, _DEFLATED = 1, 0, 8  # from the zip specification (APPNOTE 4.4.4, 4.4.5)
_TURNED = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}  # make text read backward
_NO_HINTS = Hints()
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Member:
    """One file's unpacked bytes.

    ``source.sha256`` and ``source.size`` are of the file as it lies on the disk, or would lie there after its zip
    archive had been unpacked: of ``strap.fit.gz`` they are those of the packed bytes, of ``bag.zip/strap.fit``
    those of ``strap.fit``. ``source.recording`` is of ``data``: by it a recording is known again, alone, packed or in
    an archive.
    ``notes`` tell what was lost in unpacking.
    """

    source: Source
    data: bytes
    notes: tuple[Message, ...] = ()


def members(path: str | os.PathLike[str], hints: Hints = _NO_HINTS) -> Iterator[Member | IngestError]:
    """Yield every file that a path leads to, and an error in place of each that cannot be used.

    ``path`` names a file, never a folder; ``hints`` are handed on with every file. Members of ``bag.zip`` are named
    ``bag.zip/strap.fit``. Its folders, hidden files and ``__MACOSX`` entries are passed over.
    """
    yield from _through(path, partial(_contents, hints=hints))


@dataclass(frozen=True, slots=True)
class Packed:
    """A member of a zip archive that is unpacked piece by piece, before the next one is asked for.

    name : as that of a member's source
    pieces : its bytes, once; an IngestError where it is damaged, longer than a recording, or of no use
    check : told of the same bytes once they are written, refuses what they unpack to if they are packed by gzip
    """

    name: str
    pieces: Callable[[], Iterator[bytes]]
    check: Callable[[BinaryIO], None]


def unpacked(path: str | os.PathLike[str]) -> Iterator[Packed | IngestError]:
    """As ``members``, of a zip archive: its files as they would lie on the disk, to be unpacked a piece at a time.

    What is packed by gzip in it stays packed, and what it unpacks to counts towards the limits.
    """
    yield from _through(path, _as_unpacked)


def is_zip(head: bytes) -> bool:
    """Whether a file that begins so is a zip archive."""
    return head.startswith(_ZIP)


def _through(
    path: str | os.PathLike[str], contents: Callable[[FileIO, str], Iterator[Found | IngestError]]
) -> Iterator[Found | IngestError]:
    """What a file holds; whatever goes wrong with all of it is an error in its place."""
    name = printable(os.fspath(path))
    try:
        with _opened(path, name) as handle:
            yield from contents(handle, name)
    except IngestError as error:
        yield error
    except OSError as error:
        yield UnreadableFile(f"reading it failed ({error.strerror}).", where=name, mend="Copy it again.")
    except Exception as mistake:  # noqa: BLE001 whatever it is, the other files are read
        yield _fault(mistake, name)


def _as_unpacked(handle: FileIO, name: str) -> Iterator[Packed | IngestError]:
    with _Gentle(handle) as gentle:
        for archive, entry, where, basin in _entries(gentle, name):
            yield Packed(where, partial(_pieces_of, archive, entry, where, basin), partial(_check, where, basin))


def _check(where: str, basin: "_Basin", written: BinaryIO) -> None:
    """Refuse a member whose bytes, which are written, are packed by gzip and unpack to what is of no use."""
    head = written.read(len(GZ))
    written.seek(0)
    if head == GZ:
        _measure_gz(written, where, basin)


def members_in(data: bytes, name: str, hints: Hints = _NO_HINTS) -> Iterator[Member | IngestError]:
    """As ``members``, of a file whose bytes are at hand; ``name`` stands for it in sentences."""
    try:
        if not data:
            raise EmptyFile(refused.FILE_EMPTY, where=name, mend=refused.MEND_COPY)
        yield from _contents(BytesIO(data), printable(name), hints)
    except IngestError as error:
        yield error
    except Exception as mistake:  # noqa: BLE001 as above
        yield _fault(mistake, printable(name))


def content_sha256(data: bytes) -> str | None:
    """The SHA-256 of what a file unpacks to that is packed by gzip; None of any other file, and of one of no use."""
    if not data.startswith(GZ):
        return None
    found = next(members_in(data, ""))
    return None if isinstance(found, IngestError) else found.source.content_sha256


def _fault(mistake: Exception, where: str) -> ReaderFault:
    """The refusal for a mistake of this module."""
    what = f"it cannot be opened: this is a fault of ownmark ({type(mistake).__name__})."
    return ReaderFault(what, where=where, mend="Please report it with the file.")


def printable(name: str) -> str:
    """A name that can be shown: control characters, and those that turn the direction of text, are replaced."""
    return "".join(
        "\ufffd"
        if unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} or unicodedata.bidirectional(letter) in _TURNED
        else letter
        for letter in name
    )


def _opened(path: str | os.PathLike[str], name: str) -> FileIO:
    """Open an ordinary file of a sensible size; the size is asked for, nothing is read."""
    try:
        state = Path(path).stat()
        if stat.S_ISREG(state.st_mode) and 0 < state.st_size <= MAX_FILE_BYTES:
            return FileIO(path)
    except (FileNotFoundError, NotADirectoryError):
        raise UnreadableFile(refused.FILE_MISSING, where=name, mend=refused.MEND_NAME) from None
    except PermissionError:
        raise UnreadableFile(refused.FILE_FORBIDDEN, where=name, mend=refused.MEND_OWN_FOLDER) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "the name holds a zero character"
        raise UnreadableFile(refused.file_unopened(Quoted(str(reason))), where=name) from None
    if stat.S_ISDIR(state.st_mode):
        raise UnreadableFile(refused.FILE_FOLDER, where=name, mend=refused.MEND_FILES_IN_IT)
    if not stat.S_ISREG(state.st_mode):
        raise UnreadableFile(refused.FILE_DEVICE, where=name, mend=refused.MEND_SAVE)
    if not state.st_size:
        raise EmptyFile(refused.FILE_EMPTY, where=name, mend=refused.MEND_COPY)
    raise TooLarge(
        refused.file_long(state.st_size // MIB, MAX_FILE_BYTES // MIB), where=name, mend=refused.MEND_IS_RECORDING
    )


def _contents(handle: FileIO | BytesIO, name: str, hints: Hints) -> Iterator[Member | IngestError]:
    """The files in an open file."""
    head = handle.read(4)
    handle.seek(0)
    if head.startswith(_ZIP):
        with _Gentle(handle) as gentle:  # pyright: ignore[reportArgumentType]  # bytes are raw enough
            yield from _from_zip(gentle, name, hints)
    elif head.startswith(GZ):
        source = Source(name, file_digest(handle, "sha256").hexdigest(), handle.tell(), hints)
        handle.seek(0)
        yield _from_gz(handle, source, _Basin())
    else:
        data = handle.readall() if isinstance(handle, FileIO) else handle.getvalue()
        yield Member(Source(name, sha256(data).hexdigest(), len(data), hints), data)


class _Basin:
    """Collects what one path unpacks to, piece by piece, and refuses what no recording needs."""

    def __init__(self) -> None:
        self.total = self.packed = 0

    def fill(self, pieces: Iterator[tuple[bytes, int]], where: str) -> bytes:
        """Join pieces, each with the number of packed bytes used up to there."""
        collected = BytesIO()
        for piece in self.counted(pieces, where):
            collected.write(piece)
        return collected.getvalue()

    def counted(self, pieces: Iterator[tuple[bytes, int]], where: str) -> Iterator[bytes]:
        """The same pieces, one after the other."""
        size = packed = 0
        for piece, packed in pieces:
            size += len(piece)
            self.total += len(piece)
            _refuse_flood(size, packed, where)
            yield piece
        self.packed += packed

    @property
    def flooded(self) -> bool:
        """Whether all of it together is more than recordings unpack to."""
        return self.total > MAX_TOTAL_BYTES or _is_flood(self.total, self.packed)


def _refuse_flood(size: int, packed: int, where: str) -> None:
    """Refuse what unpacks to more than a recording does."""
    if size > MAX_UNPACKED_BYTES or _is_flood(size, packed):
        raise TooLarge(
            refused.file_flood(MAX_UNPACKED_BYTES // MIB, MAX_RATIO), where=where, mend=refused.MEND_WHERE_FROM
        )


def _is_flood(size: int, packed: int) -> bool:
    """Whether more comes out of so many packed bytes than out of any recording."""
    return size > RATIO_FROM_BYTES and size > MAX_RATIO * packed


def _from_gz(packed: FileIO | BytesIO, source: Source, basin: _Basin) -> Member:
    """Unpack; keep what comes before damage, and tell."""
    notes: list[Callable[[int], Message]] = []
    data = basin.fill(gz_pieces(packed, notes, source.name), source.name)
    _refuse_packed(data, source.name, damaged=bool(notes))
    source = replace(source, content_sha256=sha256(data).hexdigest())
    return Member(source, data, tuple(told(len(data)) for told in notes))


def _measure_gz(packed: BinaryIO, where: str, basin: _Basin) -> None:
    """Refuse what ``_from_gz`` refuses, without holding it."""
    notes: list[Callable[[int], Message]] = []
    head = b""
    for piece in basin.counted(gz_pieces(packed, notes, where), where):
        head += piece[: _HEAD - len(head)]
    _refuse_packed(head, where, damaged=bool(notes))


def _refuse_packed(head: bytes, where: str, *, damaged: bool) -> None:
    """Refuse what unpacks to nothing, or to an archive."""
    if not head and damaged:
        raise DamagedFile(refused.FILE_UNPACKABLE, where=where, mend=refused.MEND_COPY)
    if not head:
        raise EmptyFile(refused.FILE_EMPTY_PACKED, where=where, mend=refused.MEND_COPY)
    _refuse_nested(head, where)


class _Gentle(BufferedReader):
    """A file that does not hand out its list of members, which is read in one go, if that is endless."""

    def read(self, size: int | None = -1, /) -> bytes:
        if size is not None and size > MAX_DIRECTORY_BYTES:
            raise _too_many("")
        return super().read(size)


def _too_many(where: str) -> TooLarge:
    """The refusal of an archive with too many members."""
    return TooLarge(refused.file_many_members(MAX_MEMBERS), where=where, mend=refused.MEND_SPLIT)


def _from_zip(handle: _Gentle, name: str, hints: Hints) -> Iterator[Member | IngestError]:
    """Every file in a zip archive, and out of what is packed by gzip in it."""
    for archive, entry, where, basin in _entries(handle, name):
        try:
            yield _from_entry(archive, entry, Source(where, hints=hints), basin)
        except IngestError as error:
            yield error


def _entries(handle: _Gentle, name: str) -> Iterator[tuple["ZipFile", "ZipInfo", str, _Basin]]:
    """Every entry of a zip archive that is a file: its archive, itself, its name for sentences, and where it counts."""
    from zipfile import ZipFile

    try:
        archive = ZipFile(handle)
    except TooLarge:
        raise _too_many(name) from None
    except _broken():
        raise DamagedFile(refused.FILE_LIST_DAMAGED, where=name, mend=refused.MEND_COPY) from None
    names = archive.namelist()
    if describe_zip(names):
        what = refused.file_document(refused.looks_like(describe_zip(names)))
        raise UnknownFormat(what, where=name, mend=refused.MEND_TABLE_AS_CSV)
    entries = [entry for entry in archive.infolist() if not _passed_over(entry.filename)]
    if not entries:
        raise EmptyFile(refused.FILE_NO_FILES, where=name)
    if len(entries) > MAX_MEMBERS:
        raise _too_many(name)
    if sum(entry.compress_size for entry in archive.infolist()) > handle.seek(0, os.SEEK_END):
        raise DamagedFile(refused.FILE_CONTRADICTS, where=name, mend=refused.MEND_COPY)
    basin = _Basin()
    for entry in entries:
        if basin.flooded:
            what = refused.file_flood_together(MAX_TOTAL_BYTES // MIB, MAX_RATIO)
            raise TooLarge(what, where=name, mend=refused.MEND_SPLIT)
        yield archive, entry, f"{name}/{printable(entry.filename)}", basin


def _passed_over(name: str) -> bool:
    """Folders, hidden files, and what an operating system adds on its own."""
    parts = name.replace("\\", "/").split("/")
    hidden = any(part.startswith(".") and part.strip(".") for part in parts)
    return not parts[-1] or hidden or "__MACOSX" in parts


def _from_entry(archive: "ZipFile", entry: "ZipInfo", source: Source, basin: _Basin) -> Member:
    """Unpack one member of a zip archive."""
    collected = BytesIO()
    for piece in _pieces_of(archive, entry, source.name, basin):
        collected.write(piece)
    data = collected.getvalue()
    source = replace(source, sha256=sha256(data).hexdigest(), size=len(data))
    return _from_gz(BytesIO(data), source, basin) if data.startswith(GZ) else Member(source, data)


def _pieces_of(archive: "ZipFile", entry: "ZipInfo", where: str, basin: _Basin) -> Iterator[bytes]:
    """What a member unpacks to, piece by piece, refused before the first one or where it can be told.

    What is packed by gzip is handed out as it is.
    """
    if entry.flag_bits & _ENCRYPTED:
        raise UnreadableFile(refused.FILE_PASSWORD, where=where, mend=refused.MEND_UNPACK)
    if entry.compress_type not in (_STORED, _DEFLATED):
        raise UnreadableFile(refused.FILE_COMPRESSION, where=where, mend=refused.MEND_PLAIN_ZIP)
    _refuse_flood(entry.file_size, entry.compress_size, where)
    head = b""
    for piece in basin.counted(_zip_pieces(archive, entry, where), where):
        if not head:
            head = piece[:_HEAD]
            if not head.startswith(GZ):
                _refuse_nested(head, where)
        yield piece
    if not head:
        raise EmptyFile(refused.FILE_EMPTY, where=where, mend=refused.MEND_COPY)


def _zip_pieces(archive: "ZipFile", entry: "ZipInfo", where: str) -> Iterator[tuple[bytes, int]]:
    """Unpacked pieces; the zip module ends them at the size that the archive states."""
    try:
        with archive.open(entry) as stream:
            while piece := stream.read(BLOCK):
                yield piece, entry.compress_size
    except _broken():
        raise DamagedFile(refused.FILE_NOT_WHOLLY, where=where, mend=refused.MEND_COPY) from None


def _broken() -> tuple[type[Exception], ...]:
    """All that reading a damaged zip archive raises."""
    from struct import error as struct_error
    from zipfile import BadZipFile

    return (BadZipFile, struct_error, zlib.error, EOFError, OSError, RuntimeError, ValueError, OverflowError)


def _refuse_nested(data: bytes, where: str) -> None:
    """Refuse an archive inside an archive, unless it is a document that a reader will refuse by its own name."""
    if data.startswith((*_ZIP, GZ)) and is_archive(data[:_HEAD]):
        raise UnreadableFile(refused.FILE_NESTED, where=where, mend=refused.MEND_UNPACK_OUTER)
