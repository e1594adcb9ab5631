"""The last weeks' days as they are now. A day of which nothing was entered since the last look is not folded again."""

import threading
from datetime import date
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from .happened import Happened, happened

if TYPE_CHECKING:
    from ..store.logbook import Logbook

_State = tuple[int, int]
"""The number of a day's last entry and how many it has: forgetting a student takes some away."""
_folded: "WeakKeyDictionary[Logbook, dict[date, tuple[_State, Happened]]]" = WeakKeyDictionary()
_lock = threading.Lock()


def recent_days(logbook: "Logbook", since: date) -> tuple[Happened, ...]:
    """Every day from ``since`` on of which anything was entered, the newest first."""
    from ..store.day_entries import entries_of, states_since

    with _lock:
        known = _folded.setdefault(logbook, {})
        states = states_since(logbook, since)
        found: dict[date, tuple[_State, Happened]] = {}
        for day, state in states.items():
            before = known.get(day)
            found[day] = before if before and before[0] == state else (state, happened(day, entries_of(logbook, day)))
        known.clear()
        known.update(found)
    return tuple(each for _, each in (found[day] for day in sorted(found, reverse=True)))
