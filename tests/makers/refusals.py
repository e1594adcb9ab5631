"""What a refusal says, in English for the person at the keyboard."""

from ownmark.words.message import Message
from ownmark.words.render import english


def said(part):
    """A part of a refusal, or any message, as a sentence."""
    return english(part) if isinstance(part, Message) else part
