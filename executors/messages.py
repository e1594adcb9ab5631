"""What becomes of a job whose result never came."""

from ..words.message import Message, Quoted

EXECUTOR_DIED = Message("executor.died")
EXECUTOR_TOO_LONG = Message("executor.too_long")


def executor_raised(kind: str) -> Message:
    """The work itself failed, at what it does not know."""
    return Message.of("executor.raised", kind=Quoted(kind))
