"""Numbers that are given one after the other, and never twice: not even after what had one was removed."""

from sqlalchemy import Connection, Table, select, update

from .bulk import insert_rows
from .cells import whole
from .seals import damaged, sealed, unsealed
from .tables import counters, day_entries, trials

TRIALS, ENTRIES = "next_trial", "next_day_entry"
COUNTED: dict[str, Table] = {TRIALS: trials, ENTRIES: day_entries}
"""The name of each counter, and the table whose numbers it gives."""
_CALLED = {TRIALS: "the counter of trials", ENTRIES: "the counter of day entries"}


def take_numbers(connection: Connection, counter: str, count: int) -> int:
    """The first of ``count`` new numbers, inside the transaction that is open.

    Raises
    ------
    LogbookDamaged
        If the counter is gone, or was changed.
    """
    row = connection.execute(select(counters).where(counters.c.name == counter)).one_or_none()
    if row is None:
        if connection.execute(select(COUNTED[counter].c.id).limit(1)).first() is not None:
            raise damaged(_CALLED[counter])
        insert_rows(connection, counters, [sealed(counter, 1 + count)])
        return 1
    first = whole(unsealed(row, _CALLED[counter])[1])
    _, value, seal = sealed(counter, first + count)
    connection.execute(update(counters).where(counters.c.name == counter).values(value=value, seal=seal))
    return first
