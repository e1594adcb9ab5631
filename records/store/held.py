"""What was worked out of the logbook, held for as long as nobody writes into it.

A screen is looked at many times between two writes. What is held is never older than the logbook: the mark is taken
before anything is read, so a write in between makes the next one ask anew.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TypeVar, cast

MOST = 64
"""So many things are held; the one that was asked for longest ago makes room."""
T = TypeVar("T")


class Held:
    """Things by key. May be asked from several threads.

    mark : tells one state of the logbook from another; None: nothing is held, as inside a transaction
    """

    def __init__(self, mark: Callable[[], Hashable] | None, most: int = MOST) -> None:
        self._mark, self._most = mark, most
        self._things: OrderedDict[Hashable, tuple[Hashable, object]] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: Hashable, make: Callable[[], T]) -> T:
        """What belongs to the key, made if nothing was, or if the logbook has changed since."""
        return self.anew(key, lambda _: make())

    def anew(self, key: Hashable, make: Callable[[T | None], T]) -> T:
        """The same, where ``make`` is handed what was held before the change, to take over what still holds of it."""
        if self._mark is None:
            return make(None)
        mark = self._mark()
        with self._lock:
            before = self._things.get(key)
            if before is not None and before[0] == mark:
                self._things.move_to_end(key)
                return cast("T", before[1])
        made = make(None if before is None else cast("T", before[1]))
        with self._lock:
            self._things[key] = (mark, made)
            self._things.move_to_end(key)
            while len(self._things) > self._most:
                self._things.popitem(last=False)
        return made

    def clear(self) -> None:
        """Hold nothing more."""
        with self._lock:
            self._things.clear()
