"""Put a trial in the place of what was kept under its number: its details, files and sheet together."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection, delete, select, update

from ...errors import AlreadyThere
from ...words.render import english_date
from ..trial import Trial
from . import not_found as finding
from .bulk import insert_rows
from .history import let_go
from .originals import drop_unused, keep, packed
from .rows import TrialRows, same_as, trial_from, trial_rows
from .tables import OF_A_TRIAL, details, files, hearts, sheets, trials


def replace_trial(connection: Connection, trial: Trial, originals: Sequence[tuple[str, bytes]] = ()) -> None:
    """Replace every row of a trial, inside the transaction that is open; files that no trial holds any more go.

    Parameters
    ----------
    trial : with its number, its sheet and its kept files
    originals : name and bytes of those of its files that may not be in the logbook yet

    Raises
    ------
    UnknownTrial
        If there is none of that number.
    AlreadyThere
        If its student has another trial of the same results or files.
    """
    number = trial.id or 0
    row = connection.execute(select(trials).where(trials.c.id == number)).first()
    if row is None:
        raise finding.no_trial(connection, number)
    before = _kept(connection, row)
    again = row.same_as == same_as(before, again=True)  # a second trial out of the same files stays one
    keep(connection, [packed(name, data) for name, data in originals])
    for table in OF_A_TRIAL:
        connection.execute(delete(table).where(table.c.trial_id == number))
    new = trial_rows(trial, number, told_apart(connection, trial, again=again))
    names = [column.name for column in trials.columns]
    connection.execute(update(trials).where(trials.c.id == number).values(dict(zip(names, new.trial, strict=True))))
    insert_of_a_trial(connection, [new])
    let_go(connection, [(trial.code, trial.files)])
    drop_unused(connection, [file.sha256 for file in before.files])


def told_apart(connection: Connection, trial: Trial, *, again: bool = False) -> str:
    """What makes a trial the same as another one of its student, which there must not be.

    Out of the same files there may be two, of minutes of their own: they are told apart by protocol and phases.

    Raises
    ------
    AlreadyThere
        If there is another one all the same.
    """
    found, twin = same_as(trial, again=again), _twin(connection, trial, same_as(trial, again=again))
    if twin is not None and not again:
        found, twin = same_as(trial, again=True), _twin(connection, trial, same_as(trial, again=True))
    if twin is None:
        return found
    raise AlreadyThere(
        f"trial {twin[0]} of {trial.code} ({english_date(twin[1])}) holds the same.",
        where=f"trial {trial.id}",
        mend=f"Nothing was changed. Take one of the two away: `ownmark trial remove {twin[0]} --why …`.",
    )


def _twin(connection: Connection, trial: Trial, same: str) -> "tuple[int, date] | None":
    """Number and day of another trial of the student that is the same."""
    of_these = (trials.c.code == trial.code, trials.c.same_as == same, trials.c.id != trial.id)
    found = connection.execute(select(trials.c.id, trials.c.day).where(*of_these)).first()
    return None if found is None else (found[0], found[1])


def _kept(connection: Connection, row: Sequence[object]) -> Trial:
    """The trial without its sheet, as it was kept."""
    return trial_from(row, connection.execute(select(details).where(details.c.trial_id == row[0])).first(), None)


def insert_of_a_trial(connection: Connection, rows: Sequence[TrialRows]) -> None:
    """All rows of several trials but the narrow ones, table by table."""
    insert_rows(connection, details, [row.detail for row in rows])
    insert_rows(connection, sheets, [row.sheet for row in rows if row.sheet is not None])
    insert_rows(connection, files, [file for row in rows for file in row.files])
    insert_rows(connection, hearts, [heart for row in rows for heart in row.hearts])
