"""Files that are there whole or not at all: the one way in which ownmark writes a file outside of the database.

Each is written beside its place under another name (``parts``), forced to disk, and renamed. Errors of the system go
through as they are: whoever writes says them in a sentence.
"""

import os
from collections.abc import Callable, Generator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import IO

from ... import ledger
from .parts import part_of


@contextmanager
def whole_files(
    paths: Sequence[Path], *, last_look: Callable[[Sequence[Path]], None] = lambda _: None, forced: bool = True
) -> Generator[list[IO[bytes]], None, None]:
    """Handles to write ``paths`` through. They get their names when the block ends well, else nothing is left.

    What stands under a name by then is replaced. Only the owner may read them: they tell of a student's health.

    Parameters
    ----------
    last_look : is given the files, whole and closed, under their first names; what it raises takes all back
    forced : False leaves it to the system when they reach the disk, for what can always be made again

    Raises
    ------
    OSError
    """
    parts: list[Path] = []
    try:
        with ExitStack() as opened:
            handles = [opened.enter_context(_opened(path, parts)) for path in paths]
            yield handles
            for handle in handles:
                handle.flush()
                if forced:
                    os.fsync(handle.fileno())
        last_look(parts)
        # The first one last: where it is, what belongs beside it is there too.
        for path, part in reversed(list(zip(paths, parts, strict=True))):
            part.replace(path)
            ledger.note(str(path))
        if forced:
            for folder in {path.parent for path in paths}:
                _force_names(folder)
    except BaseException:
        for part in parts:
            with suppress(OSError):
                part.unlink()
        raise


def write_whole(path: Path, data: bytes, *, forced: bool = True) -> None:
    """Write one file whole or not at all, as ``whole_files``.

    Raises
    ------
    OSError
    """
    with whole_files([path], forced=forced) as (handle,):
        handle.write(data)


def _opened(path: Path, parts: list[Path]) -> IO[bytes]:
    part = part_of(path)
    handle = open(part, "w+b", opener=_private)  # noqa: SIM115 so that it knows its name, and a writer the folder beside it
    parts.append(part)
    return handle


def _private(path: str, _: int) -> int:
    """A new file that only its owner may read."""
    return os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)


def _force_names(folder: Path) -> None:
    """Force new names to the disk, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
