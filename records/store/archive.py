"""A backup as an archive: its list of contents, and every part held against its hash.

Nothing of it is believed before it was measured: the number of parts, the length of the list and what each part unpacks
to are limited while they are read, so that a small file that claims much is refused at once.
"""

import hashlib
import json
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import BufferedReader, FileIO
from pathlib import Path
from struct import error as struct_error
from zipfile import BadZipFile, ZipFile

from ...errors import BackupDamaged, LogbookNewer, UnreadableFile
from .tables import counters, day_entries, details, files, history, protocols, settings, sheets, students, trials
from .version import SCHEMA

TABLES = (students, protocols, counters, trials, details, sheets, files, history, settings, day_entries)
"""In the order in which they can be put back, apart from the originals, which come before the files."""
SINCE = {"history": "0004", "settings": "0005", "day_entries": "0006"}
"""Tables that a backup holds from a version on: what was changed, what holds for all of the logbook, classes' days."""
FORMAT = "ownmark-backup-1"
FOLDER = "originals/"
LIST = "manifest.json"
MIB = 2**20
MOST_PARTS = 100_000
"""Parts of a backup, one for each original: 10,000 students with five trials of two files. Reading the names of
more takes longer than a refusal may."""
MOST_LIST_BYTES = MIB
"""The list of contents, and beside that ``_BYTES_A_PART`` for each part that the archive really has."""
_BYTES_A_PART = 300
_MARKS_A_PART = {b"{": 1, b"[": 0, b",": 2, b'"': 8}
"""Signs of JSON that the list needs for each part: with more it would grow in memory far beyond its length."""
_MARKS = 64
MOST_LINE_BYTES = 8 * MIB
"""One row of a table: a sheet has 20,000 bytes."""
MOST_ORIGINAL_BYTES = 512 * MIB
MAX_RATIO = 200
"""Recordings pack 3 to 60 times; a packing made to do harm comes close to 1,032, the most that the method can."""
MAX_RATIO_OF_ROWS = 300
"""Equal sheets pack 140 times, equal short rows 200 times."""
RATIO_FROM_BYTES = 64 * MIB
_DIRECTORY_BYTES = 400
"""The archive's own list, for each part: 46 bytes, the name of 74, and what programs add."""
_IN_DIRECTORY = b"PK\x01\x02"
_BLOCK = MIB
_BROKEN = (BadZipFile, zlib.error, struct_error, EOFError, RuntimeError, NotImplementedError, ValueError, KeyError)
_WHY: dict[type[Exception], str] = {
    FileNotFoundError: "there is no such backup.",
    IsADirectoryError: "this is a folder, not a backup.",
    PermissionError: "this account may not read it.",
}


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself. ``members``: name to SHA-256 and size; ``counts``: rows by table.

    ``with_originals``: the recordings and the names that they were given are in it.
    """

    schema: str
    ownmark: str
    made: str
    counts: Mapping[str, int]
    members: Mapping[str, tuple[str, int]]
    with_originals: bool = True


def verify(path: str | Path) -> Manifest:
    """Check every member of a backup against the manifest.

    Raises
    ------
    BackupDamaged, LogbookNewer
    """
    with opened(path) as archive:
        return checked(archive, str(path))


class _Measured(BufferedReader):
    """A file that does not hand out its list of parts, which is read in one go, if that is endless."""

    def __init__(self, path: str | Path) -> None:
        super().__init__(FileIO(path))
        self.where = str(path)

    def read(self, size: int | None = -1, /) -> bytes:
        if size is not None and size > MOST_PARTS * _DIRECTORY_BYTES:
            raise refused("it has more parts than a backup.", self.where)
        found = super().read(size)
        if len(found) > MOST_PARTS and found.count(_IN_DIRECTORY) > MOST_PARTS:
            raise refused("it has more parts than a backup.", self.where)
        return found


class _Archive(ZipFile):
    """An archive that closes its file."""

    def __init__(self, handle: _Measured) -> None:
        self._handle = handle
        super().__init__(handle)

    def close(self) -> None:
        """Close both."""
        super().close()
        self._handle.close()


def opened(path: str | Path) -> ZipFile:
    """Open a backup.

    Raises
    ------
    BackupDamaged
        If it is no zip archive, or one of more parts than a backup has.
    UnreadableFile
        If there is none, or this account may not read it.
    """
    where = str(path)
    try:
        handle = _Measured(path)
    except (OSError, ValueError) as failure:
        why = _WHY.get(type(failure), "it cannot be read.")
        raise UnreadableFile(why, where=where, mend="Give the file that `ownmark backup` made.") from None
    try:
        return _Archive(handle)
    except BackupDamaged:
        handle.close()
        raise
    except (*_BROKEN, OSError):
        handle.close()
        raise refused("it is cut off, or no backup at all.", where) from None


def checked(archive: ZipFile, where: str) -> Manifest:
    """The manifest, after every hash, size and count was found right."""
    _refuse_flood(archive, where)
    manifest = _manifest(archive, where)
    names = archive.namelist()
    if len(set(names)) < len(names) or set(names) != {LIST, *manifest.members}:
        raise refused("its parts are not those that its list names.", where)
    lines: dict[str, int] = {}
    for name, (sha256, size) in manifest.members.items():
        found, length, ends = hashlib.sha256(), 0, 0
        for block in blocks(archive, name, where):
            found.update(block)
            length += len(block)
            ends += block.count(b"\n")
            if length > size:
                break
        if (found.hexdigest(), length) != (sha256, size):
            raise refused(f"{name} does not agree with its hash.", where)
        if name.startswith(FOLDER) and name != FOLDER + sha256:
            raise refused(f"{name} is not the file that it is named for.", where)
        lines[name] = ends
    for table in TABLES:
        if manifest.schema < SINCE.get(table.name, ""):
            continue
        if lines.get(f"{table.name}.jsonl", -1) != manifest.counts.get(table.name):
            raise refused(f"it does not hold as many {table.name} as it says.", where)
    return manifest


def blocks(archive: ZipFile, name: str, where: str) -> Iterator[bytes]:
    """A member's bytes, piece by piece; the zip module ends them at the size that the archive states."""
    try:
        with archive.open(name) as member:
            while block := member.read(_BLOCK):
                yield block
    except _BROKEN:
        raise refused(f"{name} cannot be read.", where) from None


def lines(archive: ZipFile, name: str, where: str) -> Iterator[bytes]:
    """A member's lines.

    Raises
    ------
    BackupDamaged
        If one is longer than a row can be.
    """
    rest = b""
    for block in blocks(archive, name, where):
        *whole, rest = (rest + block).split(b"\n")
        if len(rest) > MOST_LINE_BYTES:
            raise refused(f"a row in {name} is longer than a row can be.", where)
        yield from whole
    if rest:
        yield rest


def _refuse_flood(archive: ZipFile, where: str) -> None:
    """Refuse what unpacks to more than a backup does, by what the archive states, before anything is unpacked."""
    entries = archive.infolist()
    unpacked, packed = sum(each.file_size for each in entries), sum(each.compress_size for each in entries)
    flood = _floods(unpacked, packed, MAX_RATIO_OF_ROWS) or any(
        _floods(
            each.file_size, each.compress_size, MAX_RATIO if each.filename.startswith(FOLDER) else MAX_RATIO_OF_ROWS
        )
        for each in entries
    )
    large = any(each.filename.startswith(FOLDER) and each.file_size > MOST_ORIGINAL_BYTES for each in entries)
    if flood or large:
        raise refused("it unpacks to far more than a backup does.", where)


def _floods(size: int, packed: int, ratio: int) -> bool:
    return size > RATIO_FROM_BYTES and size > ratio * packed


def _manifest(archive: ZipFile, where: str) -> Manifest:
    """What the backup says of itself."""
    try:
        page = json.loads(_listed(archive, where))
        if page["format"] != FORMAT:
            raise ValueError(page["format"])
        manifest = Manifest(
            schema=str(page["schema"]),
            ownmark=str(page["ownmark"]),
            made=str(page["made"]),
            counts={str(name): int(count) for name, count in page["counts"].items()},
            members={str(name): (str(each["sha256"]), int(each["size"])) for name, each in page["members"].items()},
            with_originals=page.get("with_originals", True) is True,
        )
    except (*_BROKEN, TypeError, AttributeError, ArithmeticError):
        raise refused("it is no backup of ownmark, or its list of contents is damaged.", where) from None
    if manifest.schema > SCHEMA:
        raise LogbookNewer(
            f"this backup was made by a newer ownmark ({manifest.ownmark}).",
            where=where,
            mend="Bring ownmark up to date.",
        )
    return manifest


def _listed(archive: ZipFile, where: str) -> bytes:
    """The list of contents, no longer than its parts explain."""
    parts = len(archive.namelist())
    most = MOST_LIST_BYTES + parts * _BYTES_A_PART
    if archive.getinfo(LIST).file_size > most:
        raise refused("its list of contents is longer than that of a backup.", where)
    found = b"".join(blocks(archive, LIST, where))
    if any(found.count(mark) > _MARKS + parts * number for mark, number in _MARKS_A_PART.items()):
        raise refused("its list of contents is not that of a backup.", where)
    return found


def refused(what: str, where: str) -> BackupDamaged:
    """The refusal of a backup."""
    return BackupDamaged(what, where=where, mend="Use another backup.")
