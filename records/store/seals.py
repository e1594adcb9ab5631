"""The seal that every row of a logbook carries: a byte that changed on the disk is told, never shown as a figure."""

import zlib
from collections.abc import Sequence

from ...errors import LogbookDamaged
from ...words.message import Message
from ..refusal_messages import REFUSAL_RESTORE, refusal_changed
from .cells import Row


def sealed(*values: object) -> Row:
    """A row with its seal: the CRC-32 of what it holds. It finds every change of up to 32 bits in a row."""
    return (*values, seal(values))


def seal(values: Sequence[object]) -> int:
    """The seal of a row's other columns, in their order."""
    return zlib.crc32("\x1f".join(map(str, values)).encode("utf-8", "surrogatepass"))


def unsealed(row: Sequence[object], what: str) -> Row:
    """A row without its seal.

    Raises
    ------
    LogbookDamaged
        If the seal does not fit.
    """
    if seal(row[:-1]) != row[-1]:
        raise damaged(what)
    return tuple(row[:-1])


def damaged(what: str | Message) -> LogbookDamaged:
    """The refusal of something that changed on the disk; a message where pages in several languages tell it."""
    if isinstance(what, Message):
        return LogbookDamaged(refusal_changed(what), mend=REFUSAL_RESTORE)
    return LogbookDamaged(
        f"{what} in the logbook was changed by something else than ownmark, or the disk is failing.",
        mend=REFUSAL_RESTORE,
    )
