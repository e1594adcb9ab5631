"""What becomes of a job whose result never came, and of workers that never came."""

from ..words.message import Message, Quoted

EXECUTOR_DIED = Message("executor.died")
EXECUTOR_TOO_LONG = Message("executor.too_long")
EXECUTOR_NONE_STARTS = Message("executor.none_starts")
EXECUTOR_OTHER_WAY = Message("executor.other_way")


def executor_raised(kind: str) -> Message:
    """The work itself failed, at what it does not know."""
    return Message.of("executor.raised", kind=Quoted(kind))
