"""The files of an export: all whole under free names, or none, and what the disk says in a sentence."""

import errno
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from ...errors import AlreadyThere, DiskFull, OwnmarkError, UnreadableFile
from ...records.store.atomic_files import whole_files

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@contextmanager
def output_files(paths: Sequence[Path], *, replace: bool = False) -> Iterator[list[IO[bytes]]]:
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

    def none_came(_: Sequence[Path] = ()) -> None:
        for path in paths:
            _check_free(path, replace=replace)

    none_came()
    with _told(paths[0]), whole_files(paths, last_look=none_came) as handles:
        yield handles


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
