"""The file of a logbook: made private, told from files of other programs before anything touches them.

A file that ownmark did not make is left as it is: its rights are not changed, and SQLite, which could finish another
program's half-done work in it, does not open it for writing.
"""

import os
import sqlite3
import stat
from contextlib import closing, suppress
from pathlib import Path

from ...errors import NoLogbook
from .version import VERSION_TABLE

APPLICATION = 0x4F574E4D
"""In the head of the file, so that it is known for a logbook: "OWNM"."""
_MAGIC = b"SQLite format 3\0"
_HEAD = 100
_IN_HEAD = slice(68, 72)  # application id (SQLite file format, section 1.3)
_WRITE_VERSION, _WITH_LOG = 18, 2  # a database that keeps a write-ahead log, which ours never does


def made(path: Path, where: str, *, create: bool) -> bool:
    """See that there is a file; make one, readable by its owner only, where there is none and ``create``. True: made.

    Raises
    ------
    NoLogbook
        If there is none, or something else than a file.
    """
    new = False
    if not path.exists():
        if not create:
            raise NoLogbook(
                "there is no logbook here.",
                where=where,
                mend="Check --logbook; the first `ownmark student add` or `protocol copy` makes one.",
            )
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
            new = True
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise NoLogbook("this is a folder.", where=where, mend="Give a file in it.")
    if not stat.S_ISREG(mode):
        raise NoLogbook("this is a device or a pipe, not a file.", where=where, mend="Give a file.")
    return new


def known(path: Path) -> bool:
    """Whether the file's head says that ownmark made it."""
    return _head(path)[_IN_HEAD] == APPLICATION.to_bytes(4, "big")


def refuse_stranger(path: Path, where: str) -> None:
    """Refuse what is no database, or one that another program made, without a lock and without a journal.

    A file of our mark whose first bytes are lost is a damaged logbook, and so is one cut off within them; an empty
    file can still become a logbook.

    Raises
    ------
    NoLogbook
    """
    head = _head(path)
    if head[_IN_HEAD] == APPLICATION.to_bytes(4, "big"):
        return
    if not head.startswith(_MAGIC):
        if not _MAGIC.startswith(head):
            raise NoLogbook(
                "this file is not a logbook; it is left as it is.",
                where=where,
                mend="Check --logbook. If it was one, its beginning is lost: restore the latest backup to a new place.",
            )
        return
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as raw:
            tables = {row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    except sqlite3.Error:
        return  # damaged, or half written: the full opening tells
    if VERSION_TABLE not in tables and (tables or head[_WRITE_VERSION] == _WITH_LOG):
        raise another_program(where)


def another_program(where: str = "") -> NoLogbook:
    """The refusal of a database that is not ours."""
    return NoLogbook(
        "this is a database of another program, not a logbook.",
        where=where,
        mend="Give another file, or an empty database.",
    )


def keep_private(path: Path) -> None:
    """Take everyone else's rights from a file that is known to be a logbook."""
    if os.name != "posix":
        return
    with suppress(OSError):  # someone else's file, or one on a read-only disk, can still be read
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & 0o077:
            path.chmod(mode & 0o700)


def take_back(path: Path) -> None:
    """Remove a file that was made and never became a logbook."""
    with suppress(OSError):
        if path.stat().st_size == 0:
            path.unlink()


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(_HEAD)
