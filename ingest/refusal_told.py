"""A refusal in one line, by a name for its file, in whatever language it is read."""

from ..errors import OwnmarkError
from ..words.message import Message, Quoted
from .refusal_messages import file_told, file_told_alone


def told(reason: OwnmarkError, where: str = "") -> Message:
    """The refusal; a part of it that is a sentence without a code stays in English.

    where : the name of the file, in place of the refusal's own
    """
    what, mend = (part if isinstance(part, Message) else Message.english(part) for part in (reason.what, reason.mend))
    file = Quoted(where or reason.where)
    if not file.text:
        return what
    return file_told(file, what, mend) if reason.mend else file_told_alone(file, what)
