"""Waiting for a logbook that is away for a while: a server that is started again, a file that another program holds."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from ..errors import LogbookLocked, NoLogbook, OwnmarkError

T = TypeVar("T")

AWAY_S, PAUSES_S = 300.0, (0.5, 1.0, 2.0, 5.0)
"""How long a logbook that cannot be reached is waited for, and the pauses between two tries [s]. Our own choice: a
server that is started again is back sooner."""


@dataclass(slots=True)
class Patience:
    """Waits for a logbook that is away for a while.

    away : told once each time that it begins
    hurried : whether nobody waits any longer
    sleep : waits so many seconds
    """

    away: Callable[[OwnmarkError], None] = lambda _: None
    hurried: Callable[[], bool] = lambda: False
    sleep: Callable[[float], None] = time.sleep
    most_s: float = AWAY_S

    def until_done(self, work: Callable[[], T]) -> T:
        """What ``work`` gives, tried again while the logbook is locked or cannot be reached.

        Raises
        ------
        OwnmarkError
            If it is away for too long, or for another reason.
        """
        waited, tries = 0.0, 0
        while True:
            try:
                return work()
            except (LogbookLocked, NoLogbook) as reason:
                if waited >= self.most_s or self.hurried():
                    raise
                if not tries:
                    self.away(reason)
            pause = PAUSES_S[min(tries, len(PAUSES_S) - 1)]
            began = time.monotonic()
            self.sleep(pause)
            waited += max(pause, time.monotonic() - began)
            tries += 1
