"""Connect to a scheduler, or find within a time that there is none."""

from contextlib import suppress
from typing import TYPE_CHECKING, Any, cast

from .client import Client

if TYPE_CHECKING:
    from distributed import LocalCluster

_LEAVE_S = 2.0


def reached(where: "str | LocalCluster", connect_s: float, answer_s: float) -> Client:
    """Dask's client, connected.

    Dask bounds how long it takes to connect, and not how long the other side may say nothing after that: a scheduler
    that was stopped, or a program that only listens, would hold it for ever.

    Parameters
    ----------
    connect_s, answer_s : how long connecting may take, and all of it  [s]

    Raises
    ------
    Exception
        Of any kind, if nothing answers, or not as a scheduler does.
    """
    from distributed import Client as DaskClient
    from distributed.utils import sync

    class Bounded(DaskClient):
        def start(self, **more: Any) -> None:  # noqa: ANN401 as Dask calls it
            """Connect; half of a connection is let go of."""
            runner, mine = self._loop_runner, cast("Any", self)
            runner.start()
            try:
                sync(mine.loop, mine._start, callback_timeout=answer_s, **more)  # noqa: SLF001 its own
            except BaseException:
                with suppress(Exception):
                    sync(mine.loop, mine._close, fast=True, callback_timeout=_LEAVE_S)  # noqa: SLF001
                self.status = "closed"  # else it is left once more, and says so, when it is cleared away
                with suppress(Exception):
                    runner.stop()
                raise

    found = Bounded(
        where,
        timeout=connect_s,
        name="ownmark",
        set_as_default=False,
        direct_to_workers=not isinstance(where, str),
    )
    return cast("Client", found)
