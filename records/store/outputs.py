"""No output may be the logbook, a recording that it keeps, or a file that the same command reads."""

import os
from collections.abc import Iterable
from contextlib import suppress
from hashlib import file_digest
from pathlib import Path

from ...errors import AlreadyThere
from ..address import Place
from .file import known
from .logbook import Logbook
from .originals import kept

_BESIDE = ("", "-journal", "-wal", "-shm")
"""The file of a SQLite database and those that SQLite keeps beside it."""


def refuse_own(logbook: Logbook, outputs: Iterable[Path], inputs: Iterable[Place] = ()) -> None:
    """See that writing ``outputs`` replaces nothing that must stay. Links of both kinds are followed.

    Raises
    ------
    AlreadyThere
        If one of them is the logbook or its journal, another logbook, a copy of an original, or one of ``inputs``.
    """
    file = logbook.place.file
    own = [] if file is None else [file.with_name(f"{file.name}{end}") for end in _BESIDE]
    read = [each for each in inputs if isinstance(each, Path)]  # what lies in a store is no file that is written here
    for path in outputs:
        if any(_same(path, each) for each in own):
            raise _refused(path, "this is the logbook itself, or belongs to it")
        if any(_same(path, each) for each in read):
            raise _refused(path, "this file is read by the same command")
        _refuse_kept(logbook, path)


def refuse_logbooks(outputs: Iterable[Path]) -> None:
    """See that writing ``outputs`` replaces no logbook, where none is open.

    Raises
    ------
    AlreadyThere
        If one of them is a logbook.
    """
    for path in outputs:
        with suppress(OSError):  # there is none, or it cannot be read: whoever writes tells
            if path.is_file() and known(path):
                raise _refused(path, "this is a logbook")


def _refuse_kept(logbook: Logbook, path: Path) -> None:
    """Refuse a file whose content is worth more than what would replace it."""
    with suppress(OSError):  # there is none, or it cannot be read: whoever writes tells
        if not path.is_file():
            return
        if known(path):
            raise _refused(path, "this is a logbook")
        with path.open("rb") as handle:
            sha256 = file_digest(handle, "sha256").hexdigest()
        with logbook.reading() as connection:
            if kept(connection, [sha256]):
                raise _refused(path, "this is a recording that the logbook keeps as an original")


def _refused(path: Path, why: str) -> AlreadyThere:
    return AlreadyThere(f"{why}; nothing was written.", where=str(path), mend="Name another file.")


def _same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, or would."""
    with suppress(OSError, ValueError):
        if one.exists() and other.exists():
            return one.samefile(other)
    with suppress(OSError, RuntimeError, ValueError):
        one, other = one.resolve(), other.resolve()
        near = os.path.normcase(one.parent) == os.path.normcase(other.parent) or one.parent.samefile(other.parent)
        return near and one.name.casefold() == other.name.casefold()
    return False
