"""An address to an open cluster."""

import os
import re
from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager
from importlib.util import find_spec

from ...errors import UsageError, WorkersGone
from ...words.message import Message, Quoted
from ..executor import Executor
from ..messages import (
    CLUSTER_ADDRESS_FORMS,
    CLUSTER_EXTRA,
    CLUSTER_MAKE_PLACE,
    CLUSTER_NO_PLACE,
    CLUSTER_NOT_INSTALLED,
    cluster_no_address,
)
from ..scratch import folder

AWAY_S = 300.0
"""For how long a cluster that went away is waited for."""
_LOCAL = re.compile(r"local(?::([1-9][0-9]{0,2}))?")
_SCHEDULER = re.compile(r"(?:tcp|tls)://[^\s/@?#]+:[0-9]{1,5}")


def _without_secrets(address: str) -> str:
    """An address that is none, without what stands before the host or behind it."""
    return re.split(r"[?#]", address.rpartition("@")[2])[0]


def _said_to_nobody(message: Message) -> None:
    """Where nobody listens."""


def _refuse_no_place() -> None:
    """Refuse to start a cluster where nothing temporary can be written: each of its processes has a folder there.

    Raises
    ------
    WorkersGone
    """
    try:
        with folder():
            pass
    except OSError:
        raise WorkersGone(CLUSTER_NO_PLACE, mend=CLUSTER_MAKE_PLACE) from None


@contextmanager
def opened(
    address: str,
    workers: int | None = None,
    preload: Sequence[str] = (),
    *,
    tell: Callable[[Message], None] = _said_to_nobody,
    away_s: float = AWAY_S,
) -> Generator[Executor]:
    """Reach the cluster at an address, or start one on this machine; leave it, or end it, at the end.

    Parameters
    ----------
    address : a scheduler's, ``tcp://host:8786`` or ``tls://…``; or ``local:N`` for N processes of this machine
    workers : how many where ``local`` says none; None: as many as there are processors
    preload : modules that the processes of this machine import before they work
    tell : is given what a person should know at once: that the cluster is away, that it is back
    away_s : for how long it is waited for  [s]

    Raises
    ------
    UsageError
        If Dask is not installed, or the address is none.
    WorkersGone
        If nothing answers there.
    WorkersDiffer
        If a worker has another ownmark, Python or numpy, or none.
    """
    local = _LOCAL.fullmatch(address)
    if local is None and not _SCHEDULER.fullmatch(address):
        raise UsageError(cluster_no_address(Quoted(_without_secrets(address))), mend=CLUSTER_ADDRESS_FORMS)
    if find_spec("distributed") is None:
        raise UsageError(CLUSTER_NOT_INSTALLED, mend=CLUSTER_EXTRA)
    from .cluster import Cluster
    from .handed import arriving
    from .link import Link
    from .local import started
    from .quiet import quiet

    with quiet():
        if local is None:
            with Link(address, tell, away_s) as link:
                yield Cluster(link, shares_disk=False)
            return
        many = int(local[1]) if local[1] else workers or os.cpu_count() or 1
        _refuse_no_place()
        with arriving() as handed, started(many, preload) as cluster, Link(cluster, tell, away_s) as link:
            yield Cluster(link, shares_disk=True, handed=handed)
