"""What this process has written so far. Imported by every folder; imports none.

A failure is told after the fact: only whoever wrote knows whether something was written before. So each place that a
logbook's transaction or a file went to is noted the moment it is there, and no sentence says "nothing was changed"
without a look at the list.
"""

_written: list[str] = []


def note(place: str) -> None:
    """Remember that something was written to ``place``: it is there for good, whatever happens next."""
    _written.append(place)


def mark() -> int:
    """A place in the list, for ``since``."""
    return len(_written)


def since(earlier: int) -> tuple[str, ...]:
    """What was written after ``mark`` gave ``earlier``: each place once, in order."""
    return tuple(dict.fromkeys(_written[earlier:]))
