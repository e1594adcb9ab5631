"""A refusal in the reader's language: its messages in words, without the options of the terminal."""

from ..errors import OwnmarkError
from ..words.message import Message
from .words import Words


def refusal(reason: OwnmarkError, words: Words) -> str | None:
    """What was refused and how to mend it; None where a part of it is known in English only and this is another."""
    parts = [each for each in (reason.what, reason.mend) if each]
    if words.language != "en" and not all(isinstance(each, Message) for each in parts):
        return None
    return " ".join(words.message(each) if isinstance(each, Message) else each for each in parts)
