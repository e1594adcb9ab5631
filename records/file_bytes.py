"""The bytes of a file in one state: one that is being written while it is read is no recording yet."""

import stat
import time

from ..errors import UnreadableFile
from ..ingest.refusal_messages import FILE_CHANGES, FILE_IN_PART, MEND_AGAIN, MEND_WAIT
from .address import Address, Place, State, head_of

MOST_BYTES = 512 * 1024 * 1024
"""A larger file is no recording of a trial."""
_TRIES, _PAUSE_S = 3, 0.3


def file_bytes(path: Place) -> bytes:
    """All of a file.

    Half of a copy, or the begin of one state and the end of another, would be measured like any recording. A store
    changes a file as a whole; there it is only seen that all came.

    Raises
    ------
    OSError, ValueError
        If there is none, or it cannot be opened; ValueError where no disk can have such a name.
    UnreadableFile
        If it is a device, too large, written all the time, or does not come whole.
    """
    for turn in range(_TRIES):
        if turn:
            time.sleep(_PAUSE_S)
        before = _checked(path)
        # A regular file of the system can say that it is empty and never end: no more is read than it says.
        data = path.read_bytes() if isinstance(path, Address) else head_of(path, before.st_size + 1)
        if _is_whole(path, data, before):
            return data
    in_store = isinstance(path, Address)
    raise UnreadableFile(
        FILE_IN_PART if in_store else FILE_CHANGES, where=str(path), mend=MEND_AGAIN if in_store else MEND_WAIT
    )


def _is_whole(path: Place, data: bytes, before: State) -> bool:
    if isinstance(path, Address):  # more than it says comes of a store that unpacks
        return len(data) >= before.st_size
    after = path.stat()
    same = (after.st_size, after.st_mtime) == (before.st_size, before.st_mtime)
    return same and len(data) == before.st_size


def _checked(path: Place) -> State:
    state = path.stat()
    if not (stat.S_ISREG(state.st_mode) or stat.S_ISDIR(state.st_mode)):  # a device may never end
        what = "this is a device or a pipe, not a file."
        raise UnreadableFile(what, where=str(path), mend="Save it as a file first.")
    if state.st_size > MOST_BYTES:
        raise UnreadableFile("the file is too large for a recording.", where=str(path), mend="Look at it.")
    return state
