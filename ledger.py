"""What this process has written so far. Imported by every folder; imports none.

A failure is told after the fact: only whoever wrote knows whether something was written before. So each place that a
logbook's transaction or a file went to is noted the moment it is there, and no sentence says "nothing was changed"
without a look at the list.
"""

import threading

_written: list[tuple[str, int]] = []
"""Each place with the count of its last writing; one that is written to again and again, as a logbook by a page that
runs for weeks, takes one line."""
_count = 0
_lock = threading.Lock()


def note(place: str) -> None:
    """Remember that something was written to ``place``: it is there for good, whatever happens next."""
    global _count  # noqa: PLW0603 a process has one list
    with _lock:
        _count += 1
        if _written and _written[-1][0] == place:
            _written.pop()
        _written.append((place, _count))


def mark() -> int:
    """A place in the list, for ``since``."""
    return _count


def since(earlier: int) -> tuple[str, ...]:
    """What was written after ``mark`` gave ``earlier``: each place once, in order."""
    with _lock:
        return tuple(dict.fromkeys(place for place, last in _written if last > earlier))
