"""Which trials hold a heart's course, by its keys (``ingest/heart_keys.py``)."""

from collections import Counter
from collections.abc import Collection, Mapping

from sqlalchemy import Connection, select

from .bulk import batches
from .cells import whole
from .seals import unsealed
from .tables import hearts, trials


def number_of(key: str) -> int:
    """A key as both databases hold it: a whole number of eight bytes with a sign."""
    return int.from_bytes(bytes.fromhex(key), signed=True)


def holding(connection: Connection, keys: Collection[str]) -> Mapping[str, frozenset[tuple[int, str]]]:
    """Number and student's code of the trials that hold each of these keys; keys that none holds lack.

    Raises
    ------
    LogbookDamaged
        If the seal of a key that was found does not fit.
    """
    by_number = {number_of(key): key for key in keys}
    found: dict[str, set[tuple[int, str]]] = {}
    query = select(trials.c.code, hearts).join(trials, trials.c.id == hearts.c.trial_id)
    for some in batches(by_number, 500):
        for code, *row in connection.execute(query.where(hearts.c.key.in_(some))):
            trial, key = unsealed(row, f"trial {row[0]}")
            found.setdefault(by_number[whole(key)], set()).add((whole(trial), code))
    return {key: frozenset(each) for key, each in found.items()}


def of_others(connection: Connection, keys: Collection[str], code: str, least: int) -> tuple[int, ...]:
    """The numbers of other students' trials that share so many of these keys."""
    shared = Counter(each for some in holding(connection, keys).values() for each in some)
    return tuple(sorted(number for (number, whose), times in shared.items() if whose != code and times >= least))
