"""A backup: one zip of everything a logbook holds, every part with its SHA-256.

manifest.json        version, counts, and hash and size of every other member
TABLE.jsonl          a row a line, without seals
originals/SHA256     the kept files, byte for byte

It is the same from SQLite and from PostgreSQL, so that a school's logbook can move to the district's server.
"""

import hashlib
import json
import os
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from struct import error as struct_error
from typing import IO, Any
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile

from sqlalchemy import Connection, Table, select

from ... import __version__, ledger
from ...errors import AlreadyThere, BackupDamaged, LogbookNewer, UnreadableFile
from .failures import told
from .logbook import Logbook
from .originals import unpacked
from .outputs import refuse_own
from .parts import part_of
from .seals import damaged, unsealed
from .tables import counters, details, figures, files, originals, protocols, sheets, students, trials
from .version import SCHEMA

TABLES = (students, protocols, counters, trials, details, sheets, files, figures)
"""In the order in which they can be put back, apart from the originals, which come before the files."""
FORMAT = "ownmark-backup-1"
_FOLDER = "originals/"
_BLOCK = 2**20
_BROKEN = (BadZipFile, zlib.error, struct_error, EOFError, RuntimeError, NotImplementedError, ValueError, KeyError)


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself. ``members``: name to SHA-256 and size; ``counts``: rows by table."""

    schema: str
    ownmark: str
    made: str
    counts: Mapping[str, int]
    members: Mapping[str, tuple[str, int]]


def back_up(logbook: Logbook, path: str | Path, *, progress: Callable[[int, int], None] | None = None) -> Manifest:
    """Write one state of the logbook to a new file, and read it again to verify every hash.

    It is written under another name, forced to the disk, and renamed: a file of that name is whole.

    Parameters
    ----------
    progress : called with how many originals are done, and of how many

    Raises
    ------
    AlreadyThere
        If there is a file of that name.
    LogbookDamaged
        If something in the logbook does not agree with its seal or hash; no backup is left then.
    """
    target = Path(path)
    refuse_own(logbook, [target])
    if target.exists():
        raise AlreadyThere(
            "there is a file of this name.", where=str(path), mend="Nothing is overwritten: name another."
        )
    part = part_of(target)
    with told(str(path), writing=True):
        handle = os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b")
    try:
        with told(str(path), writing=True), handle:
            _write(logbook, handle, progress or (lambda _done, _of: None))
            handle.flush()
            os.fsync(handle.fileno())
        manifest = verify(part)
        with told(str(path), writing=True):
            part.replace(target)
            ledger.note(str(path))
            _sync_folder(target.parent)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    return manifest


def _sync_folder(folder: Path) -> None:
    """Force a new name to the disk, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write(logbook: Logbook, handle: IO[bytes], progress: Callable[[int, int], None]) -> None:
    """Every member, and the manifest last."""
    members: dict[str, tuple[str, int]] = {}
    counts: dict[str, int] = {}
    with logbook.reading() as connection, ZipFile(handle, "w", ZIP_DEFLATED) as archive:
        for table in TABLES:
            name = f"{table.name}.jsonl"
            counter = _Counter(_rows(connection, table))
            members[name] = _member(archive, name, (_line(row) for row in counter))
            counts[table.name] = counter.count
        _refuse_gaps(connection, counts)
        hashes = [row[0] for row in connection.execute(select(originals.c.sha256).order_by(originals.c.sha256))]
        counts[originals.name] = len(hashes)
        for done, sha256 in enumerate(hashes, 1):
            row = connection.execute(select(originals).where(originals.c.sha256 == sha256)).one()
            members[_FOLDER + sha256] = _member(archive, _FOLDER + sha256, iter([unpacked(*row)]))
            progress(done, len(hashes))
        page = {
            "format": FORMAT,
            "schema": SCHEMA,
            "ownmark": __version__,
            "made": datetime.now(UTC).isoformat(timespec="seconds"),
            "counts": counts,
            "members": {name: {"sha256": sha256, "size": size} for name, (sha256, size) in members.items()},
        }
        archive.writestr("manifest.json", json.dumps(page, indent=1))


class _Counter:
    """Rows, counted as they pass."""

    def __init__(self, rows: Iterator[tuple[Any, ...]]) -> None:
        self.rows = rows
        self.count = 0

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        for row in self.rows:
            self.count += 1
            yield row


def _rows(connection: Connection, table: Table) -> Iterator[tuple[Any, ...]]:
    """Rows without their seals, each seal checked, some thousand at a time."""
    query = select(table).order_by(*table.primary_key.columns)
    with connection.execution_options(yield_per=2000).execute(query) as rows:
        for row in rows:
            yield unsealed(row, f"a row of {table.name}")


def _line(row: tuple[Any, ...]) -> bytes:
    plain = [value.isoformat() if isinstance(value, date) else value for value in row]
    return json.dumps(plain, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _member(archive: ZipFile, name: str, pieces: Iterator[bytes]) -> tuple[str, int]:
    """Write a member; its hash and size."""
    digest, size = hashlib.sha256(), 0
    with archive.open(name, "w", force_zip64=True) as member:
        for piece in pieces:
            member.write(piece)
            digest.update(piece)
            size += len(piece)
    return digest.hexdigest(), size


def _refuse_gaps(connection: Connection, counts: Mapping[str, int]) -> None:
    """See that there are as many rows as the trials vouch for."""
    vouched = [0, 0, 0]
    columns = (trials.c.has_sheet, trials.c.file_count, trials.c.figure_count)
    for row in connection.execute(select(*columns)):
        vouched = [have + int(more) for have, more in zip(vouched, row, strict=True)]
    there = [counts["sheets"], counts["files"], counts["figures"]]
    if vouched != there or counts["details"] != counts["trials"]:
        raise damaged("what belongs to a trial")


_WHY: dict[type[OSError], str] = {
    FileNotFoundError: "there is no such backup.",
    IsADirectoryError: "this is a folder, not a backup.",
    PermissionError: "this account may not read it.",
}


def verify(path: str | Path) -> Manifest:
    """Check every member of a backup against the manifest.

    Raises
    ------
    BackupDamaged, LogbookNewer
    """
    with opened(path) as archive:
        return checked(archive, str(path))


def opened(path: str | Path) -> ZipFile:
    """Open a backup.

    Raises
    ------
    BackupDamaged
        If it is no zip archive.
    UnreadableFile
        If there is none, or this account may not read it.
    """
    mend = "Give the file that `ownmark backup` made."
    try:
        return ZipFile(path)
    except _BROKEN:
        raise refused("it is cut off, or no backup at all.", str(path)) from None
    except OSError as failure:
        why = _WHY.get(type(failure), "it cannot be read.")
        raise UnreadableFile(why, where=str(path), mend=mend) from None


def checked(archive: ZipFile, where: str) -> Manifest:
    """The manifest, after every hash, size and count was found right."""
    manifest = _manifest(archive, where)
    names = archive.namelist()
    if len(set(names)) < len(names) or set(names) != {"manifest.json", *manifest.members}:
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
        if name.startswith(_FOLDER) and name != _FOLDER + sha256:
            raise refused(f"{name} is not the file that it is named for.", where)
        lines[name] = ends
    for table in TABLES:
        if lines.get(f"{table.name}.jsonl") != manifest.counts.get(table.name):
            raise refused(f"it does not hold as many {table.name} as it says.", where)
    return manifest


def blocks(archive: ZipFile, name: str, where: str) -> Iterator[bytes]:
    """A member's bytes, piece by piece."""
    try:
        with archive.open(name) as member:
            while block := member.read(_BLOCK):
                yield block
    except _BROKEN:
        raise refused(f"{name} cannot be read.", where) from None


def _manifest(archive: ZipFile, where: str) -> Manifest:
    """What the backup says of itself."""
    try:
        page = json.loads(archive.read("manifest.json"))
        if page["format"] != FORMAT:
            raise ValueError(page["format"])
        manifest = Manifest(
            schema=str(page["schema"]),
            ownmark=str(page["ownmark"]),
            made=str(page["made"]),
            counts={str(name): int(count) for name, count in page["counts"].items()},
            members={str(name): (str(each["sha256"]), int(each["size"])) for name, each in page["members"].items()},
        )
    except (*_BROKEN, TypeError, AttributeError):
        raise refused("it is no backup of ownmark, or its list of contents is damaged.", where) from None
    if manifest.schema > SCHEMA:
        raise LogbookNewer(
            f"this backup was made by a newer ownmark ({manifest.ownmark}).",
            where=where,
            mend="Bring ownmark up to date.",
        )
    return manifest


def refused(what: str, where: str) -> BackupDamaged:
    """The refusal of a backup."""
    return BackupDamaged(what, where=where, mend="Use another backup.")
