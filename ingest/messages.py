"""What the readers of files remark: one name a message, for texts in ``words``.

Messages without values are constants; a function gives each of the others its values. ``quoted`` text is as a file or a
person wrote it. Those whose code begins with ``unread`` tell that a part of a file was not read.
"""

from ..words.message import Message, Quoted


def read_of_file(path: str, note: Message) -> Message:
    """A remark on one of several files."""
    return Message.of("read.of_file", path=Quoted(path), note=note)


def read_same_file(path: str, other: str) -> Message:
    """A file that was named twice."""
    return Message.of("read.same_file", path=Quoted(path), other=Quoted(other))


def read_joined(stream: str, other: str, source: str) -> Message:
    """Two files that were taken for one."""
    return Message.of("read.joined", stream=stream, other=Quoted(other), source=Quoted(source))


def read_overlap(stream: str, used: str, other: str, seconds: float) -> Message:
    """Two files of which one is used."""
    return Message.of("read.overlap", stream=stream, used=Quoted(used), other=Quoted(other), seconds=seconds)


def placed_given(path: str, offset: float) -> Message:
    """A file that a person placed."""
    return Message.of("placed.given", path=Quoted(path), offset=offset)


def placed_no_zone(path: str) -> Message:
    """A file without a time of a zone."""
    return Message.of("placed.no_zone", path=Quoted(path))


def placed_no_time(path: str) -> Message:
    """A file without a time of day."""
    return Message.of("placed.no_time", path=Quoted(path))
