"""The folder of received files: what was dropped onto the page and is not in the logbook yet.

It lies beside a SQLite logbook, ``logbook.db-received``; for a server's, in the user's data folder:

    2026-10-06/7d1a…/strap-3.fit      a file under its day and the first half of its SHA-256
    incoming/                         what is being written

A name that was given never becomes a path: it is cleaned to letters, digits and a few signs. A file is there whole or
not at all, readable by its owner only.
"""

import errno
import os
import re
import shutil
import unicodedata
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import IO

from ...errors import EmptyFile, IngestError, TooLarge
from ...ingest import refusal_messages as say
from ...ingest.containers import MAX_FILE_BYTES, MAX_TOTAL_BYTES, MIB, Packed, is_zip, unpacked
from ...words.plain import printable
from .failures import told
from .location import Place
from .parts import part_of, take_left

MOST_FILES = 500
"""Of one upload, members of archives included: a class has 30 students with two files each."""
MOST_LETTERS, MOST_NAME_BYTES = 80, 200
_INCOMING = "incoming"
_HASH = re.compile(r"[0-9a-f]{64}")
_KEPT_SIGNS = frozenset("-_.() ")
_OWN = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that a Windows machine takes for a device."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """A file that was received.

    there : the same bytes lay there already, under the name that ``path`` has
    """

    day: date
    sha256: str
    name: str
    size: int
    path: Path
    there: bool = False


@dataclass(slots=True)
class Batch:
    """One upload: what it brought so far, and what may still come."""

    received: "Received"
    day: date
    files: int = 0
    size: int = 0
    arrived: list[Arrived] = field(default_factory=list[Arrived])
    refused: list[tuple[str, IngestError]] = field(default_factory=list[tuple[str, IngestError]])

    def begin(self, name: str) -> "Incoming":
        """Begin to receive a file; its name as it was given.

        Raises
        ------
        TooLarge
            If there were ``MOST_FILES`` already.
        """
        self.count(1)
        return Incoming(self, cleaned(name))

    def count(self, files: int, size: int = 0) -> None:
        """Take account of files and bytes.

        Raises
        ------
        TooLarge
        """
        self.files += files
        self.size += size
        if self.files > MOST_FILES:
            raise TooLarge(say.file_upload_files(MOST_FILES), mend=say.MEND_DROP_REST)
        if self.size > MAX_TOTAL_BYTES:
            raise TooLarge(say.file_upload_size(MAX_TOTAL_BYTES // MIB), mend=say.MEND_DROP_REST)


class Incoming:
    """A file that is being received: ``write`` its bytes as they come, then ``done`` or ``cancel``."""

    def __init__(self, batch: Batch, name: str) -> None:
        self.batch = batch
        self.name = name
        self.size = 0
        self._hash = sha256()
        self._head = b""
        with told(name, writing=True):
            self._part, self._handle = _opened(batch.received.folder)

    def write(self, data: bytes) -> None:
        """Write what came; what is longer than a recording can be is let go of, and the upload goes on.

        Raises
        ------
        TooLarge
            If the whole upload is too long.
        DiskFull, LogbookReadOnly
        """
        self.batch.count(0, len(data))
        self.size += len(data)
        if self.size > MAX_FILE_BYTES:
            self.cancel()
            return
        self._head = self._head or data[:4]
        self._hash.update(data)
        with told(self.name, writing=True):
            self._handle.write(data)

    def done(self) -> tuple[Arrived, ...]:
        """Keep the file, or the files of an archive, and give them; empty where it is refused, which is in the batch.

        An archive that holds nothing usable is kept as it is, so that somebody sees why.

        Raises
        ------
        TooLarge
            If the whole upload is too long.
        DiskFull, LogbookReadOnly
        """
        try:
            refusal = self._refusal()
            if refusal is not None:
                self.batch.refused.append((self.name, refusal))
                return ()
            with told(self.name, writing=True):
                self._handle.flush()
                os.fsync(self._handle.fileno())
                self._handle.close()
            found = self._members() if is_zip(self._head) else ()
            found = found or (self.batch.received.keep(self.batch.day, self._hash.hexdigest(), self.name, self._part),)
            self.batch.arrived += found
            return found
        finally:
            self.cancel()

    def cancel(self) -> None:
        """Let go of what is not kept."""
        with suppress(OSError):
            self._handle.close()
        with suppress(OSError):
            self._part.unlink()

    def _refusal(self) -> IngestError | None:
        """Why the file alone is not kept."""
        if not self.size:
            return EmptyFile(say.FILE_EMPTY, where=self.name, mend=say.MEND_COPY)
        if self.size > MAX_FILE_BYTES:
            return TooLarge(say.file_longer(MAX_FILE_BYTES // MIB), where=self.name, mend=say.MEND_IS_RECORDING)
        return None

    def _members(self) -> tuple[Arrived, ...]:
        """Keep the files of an archive; empty where none of them can be used."""
        refused: list[tuple[str, IngestError]] = []
        found: list[Arrived] = []
        for each in unpacked(self._part):
            kept = each if isinstance(each, IngestError) else self._kept(each, further=bool(found))
            if isinstance(kept, IngestError):
                of_all = kept.where == printable(str(self._part))
                refused.append((self.name if of_all else printable(Path(kept.where).name) or self.name, kept))
            else:
                found.append(kept)
        self.batch.refused += refused if found else []
        return tuple(found)

    def _kept(self, member: Packed, *, further: bool) -> Arrived | IngestError:
        """Unpack a member into its place, a piece at a time; nothing of it stays where it cannot be used.

        Raises
        ------
        TooLarge
            If the whole upload is too long; ``further``: the member is one file more than was counted.
        DiskFull, LogbookReadOnly
        """
        name = cleaned(member.name)
        with told(name, writing=True):
            part, handle = _opened(self.batch.received.folder)
        try:
            with handle:
                written = _unpacked_into(handle, part, member, name)
            if isinstance(written, IngestError):
                return written
            self.batch.count(further, part.stat().st_size)
            return self.batch.received.keep(self.batch.day, written, name, part)
        finally:
            with suppress(OSError):
                part.unlink()


def _unpacked_into(handle: IO[bytes], part: Path, member: Packed, name: str) -> str | IngestError:
    """The SHA-256 of a member that was written, or why it cannot be used."""
    digest = sha256()
    pieces = member.pieces()
    try:
        while piece := next(pieces, b""):
            digest.update(piece)
            with told(name, writing=True):
                handle.write(piece)
    except IngestError as reason:
        return reason
    with told(name, writing=True):
        handle.flush()
        os.fsync(handle.fileno())
    try:
        with part.open("rb") as written:
            member.check(written)
    except IngestError as reason:
        return reason
    return digest.hexdigest()


class Received:
    """The folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def batch(self, day: date) -> Batch:
        """Begin an upload for a day."""
        return Batch(self, day)

    def keep(self, day: date, digest: str, name: str, part: Path) -> Arrived:
        """Give a file that was written its place; one of the same bytes that lies there stays, under its name."""
        with told(name, writing=True):
            size = part.stat().st_size
            there = self.path(day, digest)
            if there is not None:
                return Arrived(day, digest, there.name, size, there, there=True)
            place = self._place(day, digest)
            _make_private(self.folder, place.parent, place)
            part.replace(place / name)
        return Arrived(day, digest, name, size, place / name)

    def path(self, day: date, digest: str) -> Path | None:
        """Where a received file lies; None: it is not there."""
        with suppress(OSError):
            return next((each for each in _own(self.folder, self._place(day, digest)) if each.is_file()), None)
        return None

    def paths(self, day: date) -> dict[str, Path]:
        """Where each received file of a day lies, by the first half of its SHA-256."""
        found: dict[str, Path] = {}
        with suppress(OSError):
            for place in _own(self.folder, self.folder / day.isoformat()):
                found.update((place.name, each) for each in _own(place)[:1] if each.is_file())
        return found

    def remove(self, digest: str, day: date | None = None) -> bool:
        """Take a file away, of one day or of all; True: it was there."""
        found = False
        for each in [day] if day else list(self.days()):
            place = self._place(each, digest)
            if place.is_dir() and not _linked(self.folder, place.parent, place):
                with told(str(self.folder), writing=True), suppress(FileNotFoundError):  # another page was quicker
                    shutil.rmtree(place)
                found = True
            with suppress(OSError):
                place.parent.rmdir()  # only if it was the last
        return found

    def days(self) -> Iterator[date]:
        """The days of which files lie there."""
        with suppress(OSError):
            for each in sorted(self.folder.iterdir()):
                with suppress(ValueError):
                    yield date.fromisoformat(each.name)

    def sweep(self) -> tuple[Path, ...]:
        """Take away what programs that were killed left half-written, and give it."""
        return take_left(self.folder / _INCOMING)

    def _place(self, day: date, digest: str) -> Path:
        if not _HASH.fullmatch(digest):
            raise ValueError("no SHA-256")
        return self.folder / day.isoformat() / digest[:32]


def received_at(place: Place) -> Received:
    """The folder of a logbook."""
    if place.file is not None:
        return Received(place.file.with_name(f"{place.file.name}-received"))
    from platformdirs import user_data_path

    named = sha256(place.shown.encode("utf-8", "surrogateescape")).hexdigest()[:16]
    return Received(user_data_path("ownmark", appauthor=False) / f"received-{named}")


def cleaned(name: str) -> str:
    """A name that can be the last part of a path: what stands behind the last stroke, of letters, digits, ``-_.()``."""
    last = re.split(r"[/\\]", unicodedata.normalize("NFC", name))[-1]
    plain = "".join(each if each.isalnum() or each in _KEPT_SIGNS else "_" for each in last)
    stem, dot, end = plain.rpartition(".")
    if not stem.strip(" .") or len(end) > 10:
        stem, dot, end = plain, "", ""
    stem, end = stem.lstrip(" .")[: MOST_LETTERS - len(dot + end)].rstrip(" ."), end.rstrip(" .")
    while len(f"{stem}{dot}{end}".encode()) > MOST_NAME_BYTES:
        stem = stem[:-1]
    found = f"{stem}{dot}{end}".strip(" .") or "file"
    return f"_{found[: MOST_LETTERS - 1]}" if _OWN.fullmatch(found) else found


def _opened(folder: Path) -> tuple[Path, IO[bytes]]:
    """A new file in the folder of what is being written, which only its owner may read."""
    incoming = folder / _INCOMING
    _make_private(folder, incoming)
    part = part_of(incoming / "file")
    return part, os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "wb")


def _make_private(*folders: Path) -> None:
    """Make folders that only their owner may look into, each within the one before; none of them is a link.

    Through a link in its place a student's recording would be written where somebody else may read it.
    """
    folders[0].parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    for each in folders:
        each.mkdir(mode=0o700, exist_ok=True)
        if each.is_symlink():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(each))


def _own(*folders: Path) -> list[Path]:
    """What lies in the last of these folders, by name, without links: none is followed, and none of them is one."""
    if _linked(folders[-1].parent, *folders):
        return []
    return [each for each in sorted(folders[-1].iterdir()) if not each.is_symlink()]


def _linked(*folders: Path) -> bool:
    """Whether one of them is a link, and so leads to a folder that is not ours."""
    return any(each.is_symlink() for each in folders)
