"""What becomes of a job whose result never came, and of workers that never came."""

from ..words.message import Message, Quoted

EXECUTOR_DIED = Message("executor.died")
EXECUTOR_TOO_LONG = Message("executor.too_long")
EXECUTOR_NONE_STARTS = Message("executor.none_starts")
EXECUTOR_OTHER_WAY = Message("executor.other_way")


def executor_raised(kind: str) -> Message:
    """The work itself failed, at what it does not know."""
    return Message.of("executor.raised", kind=Quoted(kind))


CLUSTER_ADDRESS_FORMS = Message("cluster.address_forms")
CLUSTER_NOT_INSTALLED = Message("cluster.not_installed")
CLUSTER_EXTRA = Message("cluster.extra")
CLUSTER_NO_PLACE = Message("cluster.no_place")
CLUSTER_MAKE_PLACE = Message("cluster.make_place")
CLUSTER_NO_ANSWER = Message("cluster.no_answer")
CLUSTER_LOOK_THERE = Message("cluster.look_there")
CLUSTER_NO_WORKERS = Message("cluster.no_workers")
CLUSTER_BACK = Message("cluster.back")
CLUSTER_AGAIN = Message("cluster.again")
CLUSTER_HAS_NONE = Message("cluster.has_none")
CLUSTER_HAS_OTHER = Message("cluster.has_other")
CLUSTER_SAME_EVERYWHERE = Message("cluster.same_everywhere")


def cluster_no_address(address: Quoted) -> Message:
    """What was given is no address."""
    return Message.of("cluster.no_address", address=address)


def cluster_away(minutes: int) -> Message:
    """It went away and is waited for."""
    return Message.of("cluster.away", count=minutes)


def cluster_gone(minutes: int) -> Message:
    """It was waited for in vain."""
    return Message.of("cluster.gone", count=minutes)


def cluster_has(ownmark: str, code: str, python: str, numpy: str) -> Message:
    """What figures are made with in one place."""
    given = {"ownmark": ownmark, "code": code, "python": python, "numpy": numpy}
    return Message.of("cluster.has", **{name: Quoted(text) for name, text in given.items()})


def cluster_differs(there: Message, here: Message) -> Message:
    """A worker's figures could differ from those that are made here."""
    return Message.of("cluster.differs", there=there, here=here)
