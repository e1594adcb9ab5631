"""By which bytes an excerpt is known; a file that is none loads nothing of how excerpts are read."""

from typing import Final

MAGIC: Final = b"ownmark excerpt 1\n"


def sniff(head: bytes) -> bool:
    """Tell whether a file is an excerpt."""
    return head.startswith(MAGIC)
