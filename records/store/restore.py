"""Put a backup into an empty logbook, on either database: every hash first, then everything in one transaction.

Hashes show damage, not forgery: whoever changes a backup can change its hashes too. So every value in it is checked as
if it were typed, and what follows from others (the rows of files) is made again and not taken over.
"""

from collections.abc import Callable, Generator
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from zipfile import ZipFile

from sqlalchemy import Connection, select

from ...errors import (
    AlreadyThere,
    BasisError,
    LogbookDamaged,
    NotACode,
    NotAProtocol,
    NotAStudent,
    NotATrial,
    NotEmpty,
    UsageError,
)
from ..student import Student
from .adding import insert_trial_rows
from .archive import TABLES, Manifest, blocks, checked, opened, refused
from .bulk import batches, insert_rows
from .cells import whole
from .logbook import Logbook, bring_up
from .numbering import ENTRIES, TRIALS
from .originals import keep, packed_piecewise
from .restored import counter_rows, entry_rows, history_rows, protocol_rows, setting_rows, student_rows, trials_of
from .tables import counters, day_entries, history, originals, protocols, settings, students, trials

_BATCH = 500
FIGURE_COUNT = [column.name for column in trials.columns].index("figure_count")


def restore(logbook: Logbook, path: str | Path, *, progress: Callable[[int, int], None] | None = None) -> Manifest:
    """Put everything of a backup into the logbook, which must be empty.

    Raises
    ------
    BackupDamaged, LogbookNewer
        Before anything is written.
    NotEmpty
        If the logbook holds anything: nothing is ever mixed or overwritten.
    """
    where = str(path)
    with opened(path) as archive:
        manifest = checked(archive, where)
        try:
            with logbook.writing() as connection:
                _refuse_full(connection, logbook.place.shown)
                with _as_entered(where):
                    _put(connection, archive, manifest, where, progress or (lambda _done, _of: None))
                bring_up(logbook.place, logbook.engine, connection, manifest.schema)
        except (LogbookDamaged, AlreadyThere):  # what one row says is not what another one says
            raise refused("its rows contradict each other.", where) from None
    return manifest


@contextmanager
def _as_entered(where: str) -> Generator[None, None, None]:
    """Tell what could not have been entered, and what are no rows at all."""
    try:
        yield
    except (NotACode, NotAStudent, NotAProtocol, NotATrial, BasisError, UsageError) as wrong:
        raise refused(f"it holds what could not have been entered: {wrong}", where) from None
    except (ValueError, TypeError, LookupError, ArithmeticError, RecursionError):
        raise refused("its rows are not those of a logbook.", where) from None


def _refuse_full(connection: Connection, where: str) -> None:
    for table in (*TABLES, originals):
        if connection.execute(select(*table.primary_key.columns).limit(1)).first() is not None:
            raise NotEmpty(
                "this logbook is not empty.", where=where, mend="Restore into a new one: --logbook with a new place."
            )


def _put(
    connection: Connection, archive: ZipFile, manifest: Manifest, where: str, progress: Callable[[int, int], None]
) -> None:
    """What is named before what names it."""
    born: dict[str, Student] = {}
    for some in batches(student_rows(archive, where, born), _BATCH):
        insert_rows(connection, students, some)
    for some in batches(protocol_rows(archive, where), _BATCH):
        insert_rows(connection, protocols, some)
    hashes = [name for name in manifest.members if name.startswith(f"{originals.name}/")]
    for done, name in enumerate(hashes, 1):
        keep(connection, [packed_piecewise(name, partial(blocks, archive, name, where))])
        progress(done, len(hashes))
    last = 0
    counts = dict.fromkeys(("trials", "details", "sheets", "files", "figures"), 0)
    for some in trials_of(archive, where, born, date.today()):  # noqa: DTZ011 the person's own day is meant
        insert_trial_rows(connection, some)
        last = whole(some[-1].trial[0])
        for each in some:
            parts = {"trials": 1, "details": 1, "sheets": each.sheet is not None}
            parts |= {"files": len(each.files), "figures": whole(each.trial[FIGURE_COUNT])}
            counts = {name: count + parts[name] for name, count in counts.items()}
    # A backup of the logbook's first version holds every figure a second time, and counts them.
    stated = {"figures": counts["figures"], **manifest.counts}
    if any(stated[name] != count for name, count in counts.items()):
        raise ValueError("another number of rows than the trials explain")
    last_entry = 0
    if f"{day_entries.name}.jsonl" in manifest.members:
        for some in batches(entry_rows(archive, where, born), _BATCH):
            insert_rows(connection, day_entries, some)
            last_entry = whole(some[-1][0])
    insert_rows(connection, counters, counter_rows(archive, where, {TRIALS: last, ENTRIES: last_entry}))
    if f"{history.name}.jsonl" in manifest.members:
        for some in batches(history_rows(archive, where, born, manifest.members), _BATCH):
            insert_rows(connection, history, some)
    if f"{settings.name}.jsonl" in manifest.members:
        insert_rows(connection, settings, setting_rows(archive, where))
