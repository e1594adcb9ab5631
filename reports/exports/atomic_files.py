"""Files that are there whole or not at all: written beside the place under another name, forced to disk, renamed."""

import errno
import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import IO

from ... import ledger
from ...errors import AlreadyThere, DiskFull, OwnmarkError, UnreadableFile
from ...records.store.parts import part_of

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@contextmanager
def whole_files(paths: Sequence[Path], *, replace: bool = False) -> Iterator[list[IO[bytes]]]:
    """Handles to write ``paths`` through. They get their names when the block ends well, else nothing is left.

    Only the owner may read them: a table of trials is health data.

    Raises
    ------
    AlreadyThere
        If there is something of such a name, unless ``replace``; a folder is never replaced.
    UnreadableFile
        If the place cannot be written to.
    DiskFull
    """
    for path in paths:
        _check_free(path, replace=replace)
    parts: list[Path] = []
    try:
        with _told(paths[0]), ExitStack() as open_files:
            handles = [open_files.enter_context(_opened(path, parts)) for path in paths]
            yield handles
            for handle in handles:
                handle.flush()
                os.fsync(handle.fileno())
        for path in paths:
            _check_free(path, replace=replace)
        with _told(paths[0]):
            # The first one last: where it is, what belongs beside it is there too.
            for path, part in reversed(list(zip(paths, parts, strict=True))):
                part.replace(path)
                ledger.note(str(path))
    except BaseException:
        for part in parts:
            with suppress(OSError):
                part.unlink()
        raise


def _opened(path: Path, parts: list[Path]) -> IO[bytes]:
    part = part_of(path)
    handle = open(part, "w+b", opener=_private)  # noqa: SIM115 so that it knows its name, and a writer the folder beside it
    parts.append(part)
    return handle


def _private(path: str, _: int) -> int:
    """A new file that only its owner may read."""
    return os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)


def _check_free(path: Path, *, replace: bool) -> None:
    with _told(path):
        folder, file, there = path.is_dir(), path.is_file(), os.path.lexists(path)
    if folder or not path.name:
        raise AlreadyThere("this is a folder.", where=str(path), mend="Name a file in it: --out FOLDER/FILE.")
    if there and not (replace and file):
        mend = "Name another, or say --replace." if file else "Name another."
        raise AlreadyThere("there is a file of this name; nothing was written.", where=str(path), mend=mend)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Say what the disk says as a sentence about ``path``."""
    try:
        yield
    except OSError as failure:
        raise _sentence(failure, path) from None


def _sentence(failure: OSError, path: Path) -> OwnmarkError:
    if failure.errno in _NO_ROOM:
        return DiskFull(
            "there is no room left on the disk; what was being written was taken back.",
            where=str(path),
            mend="Make room, or name a file on another disk.",
        )
    why = {
        errno.ENOENT: "there is no such folder",
        errno.ENOTDIR: "there is no such folder",
        errno.EACCES: "this folder cannot be written to",
        errno.EPERM: "this folder cannot be written to",
        errno.EROFS: "this disk cannot be written to",
        errno.ENAMETOOLONG: "the name is too long",
    }.get(failure.errno or 0, f"it cannot be written ({(failure.strerror or 'the disk gives no reason').lower()})")
    return UnreadableFile(f"{why}; nothing was written.", where=str(path), mend="Name a file elsewhere: --out FILE.")
