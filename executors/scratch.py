"""A folder for what is temporary, of which nothing stays: what a killed process left is cleared by the next one.

Whoever holds a folder holds the lock of a file in it. The system lets go of the lock when the process ends, whatever
ended it; a number of a process would say less, because numbers come again and containers count on their own.
"""

import os
import shutil
import tempfile
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows: what is killed there leaves its folder
    fcntl = None

_BEGIN = "ownmark-"
_HELD = "held"
"""The file whose lock says that somebody is there. Without one nobody knows, and the folder stays."""


@contextmanager
def folder(within: str | None = None) -> Generator[Path]:
    """A folder of this account alone, for as long as the context is open.

    within : where; None: the system's place for what is temporary

    Raises
    ------
    OSError
        If none can be made.
    """
    place = Path(within or tempfile.gettempdir())
    clear(place)
    with tempfile.TemporaryDirectory(prefix=_BEGIN, dir=place, ignore_cleanup_errors=True) as name:
        held = _locked(Path(name))
        try:
            yield Path(name)
        finally:
            if held is not None:
                os.close(held)


def clear(place: Path) -> None:
    """Take away the folders of this account whose process has ended."""
    if fcntl is None:
        return
    with suppress(OSError):
        for each in list(place.glob(f"{_BEGIN}*/{_HELD}")):
            if _is_mine(each.parent) and _is_free(each):
                shutil.rmtree(each.parent, ignore_errors=True)


def _locked(made: Path) -> int | None:
    """A new file with its lock; it gets its name once it is held, so that nobody finds it free."""
    if fcntl is None:
        return None
    part = made / f"{_HELD}.part"
    held = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    with suppress(OSError):  # a file system without locks: then nothing says that it may go
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        part.rename(made / _HELD)
    return held


def _is_mine(found: Path) -> bool:
    state = found.lstat()
    return found.is_dir() and not found.is_symlink() and state.st_uid == os.geteuid()


def _is_free(held: Path) -> bool:
    """Whether nobody has the lock."""
    if fcntl is None:
        return False
    try:
        handle = os.open(held, os.O_WRONLY | os.O_NOFOLLOW)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(handle)
    return True
