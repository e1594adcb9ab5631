"""Files that are being written: each has another name beside its place until it is whole.

``.NAME.part-PID-MACHINE-COUNT``. A program that is killed leaves one; the next that writes into that folder takes away
those whose program has ended on this machine, so that no half of a backup lies about with health data in it.
"""

import os
import platform
import re
import shutil
import stat
import time
import zlib
from contextlib import suppress
from itertools import count
from pathlib import Path

_PART = re.compile(r"\..*\.part-(?P<pid>\d{1,10})(-(?P<machine>[0-9a-f]{8})-\d+)?(-sheets)?", re.DOTALL)
_SHOWN = 40
"""Letters of the name that are kept, so that a long name does not become too long."""
_DAY_S = 86400.0
_POSIX = os.name == "posix"
"""Elsewhere asking a program whether it lives could end it, and files have no owner's number."""
_mine: set[str] = set()
_count = count(1)


def part_of(target: Path) -> Path:
    """A new name beside ``target`` to write it under; what killed programs left in that folder is taken away first."""
    take_left(target.parent)
    while True:
        part = target.with_name(f".{target.name[:_SHOWN]}.part-{os.getpid()}-{_machine()}-{next(_count)}")
        if not os.path.lexists(part):
            _mine.add(part.name)
            return part


def take_left(folder: Path) -> tuple[Path, ...]:
    """Remove what programs that have ended left half-written in a folder, and give its names."""
    taken: list[Path] = []
    with suppress(OSError):
        for path in sorted(folder.iterdir()):
            if _left(path):
                with suppress(OSError):
                    shutil.rmtree(path) if path.is_dir() else path.unlink()
                    taken.append(path)
    return tuple(taken)


def _left(path: Path) -> bool:
    """Whether this is a part, of this account, whose program has ended on this machine."""
    found = _PART.fullmatch(path.name)
    if found is None or any(path.name == mine or path.name.startswith(f"{mine}-") for mine in _mine):
        return False
    state = path.lstat()
    ours = not _POSIX or state.st_uid == os.geteuid()
    if not ours or stat.S_ISLNK(state.st_mode) or found["machine"] not in (None, _machine()):
        return False
    if not _POSIX:
        return time.time() - state.st_mtime > _DAY_S
    return not _lives(int(found["pid"]))


def _lives(pid: int) -> bool:
    """Whether a program of that number runs. Ours does, but what it did not make itself an earlier one left."""
    if pid == os.getpid():
        return False
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def _machine() -> str:
    """A sign of the machine, among those that may share a folder."""
    return f"{zlib.crc32(platform.node().encode('utf-8', 'surrogateescape')):08x}"
