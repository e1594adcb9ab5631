"""Take a trial away, and put it back. A removed one counts nowhere, and its history holds it whole."""

from typing import TYPE_CHECKING

from sqlalchemy import delete

from ..errors import AlreadyThere, NotATrial, UnknownTrial
from .measuring import files_of
from .same_heart import refuse_same_heart
from .shared_files import in_its_span
from .store.adding import insert_trial_rows
from .store.history import Change, empty_removals, fields_of, remember, removal, removed_trial
from .store.replacing import replace_trial, told_apart
from .store.rows import sheet_text, trial_rows
from .store.tables import OF_A_TRIAL, trials
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook


def remove_trial(logbook: "Logbook", number: int, *, why: str) -> Trial:
    """Take a trial out of every list, figure and page; give it as it was.

    Raises
    ------
    UnknownTrial
    NotATrial
        If nobody says why.
    """
    if not why.strip():
        raise NotATrial("nobody said why it is removed.", where=f"trial {number}", mend="Say it: --why TEXT.")
    with logbook.within() as inside:
        trial = inside.trial(number)
        sheet = None if trial.sheet is None else sheet_text(trial.sheet)
        before = {"trial": fields_of(trial), "sheet": sheet, "by": trial.computed_by}
        held = tuple(file.sha256 for file in trial.files)
        remember(inside.connection, Change("trial", str(number), trial.code, "removed", why, before, held))
        for table in OF_A_TRIAL:
            inside.connection.execute(delete(table).where(table.c.trial_id == number))
        inside.connection.execute(delete(trials).where(trials.c.id == number))
    return trial


def put_back(logbook: "Logbook", number: int, *, why: str = "") -> Trial:
    """Bring a removed trial back under its number, its figures worked out again from its files.

    Raises
    ------
    UnknownTrial
        If none of that number was removed, or its recording turned out to be another student's.
    AlreadyThere, NotATrial
        If its minutes, or its readings out of another file, are another trial's by now.
    """
    with logbook.within() as inside:
        gone = removal(inside.connection, number)
        if gone is None:
            there = inside.trial(number)
            raise AlreadyThere(f"trial {number} of {there.code} was not removed.", mend="Nothing was changed.")
        if not gone.before:
            raise UnknownTrial(
                f"trial {number} cannot be put back: its recording holds another student's trial in the same minutes.",
                mend="Add it again from the files, with the right times.",
            )
        trial = removed_trial(gone)
        protocol, student = inside.protocol(trial.protocol, trial.protocol_version), inside.student(trial.code)
        empty_removals(inside.connection, number)
        insert_trial_rows(inside.connection, [trial_rows(trial, number, told_apart(inside.connection, trial))])
        if trial.files:
            originals = [(file.path, inside.original(file.sha256)) for file in trial.files]
            files = files_of(trial, originals)
            refuse_same_heart(inside, trial.code, files.recordings)
            sheet, kept, others = in_its_span(inside, trial, student, protocol, files, originals)
            names = tuple(file for file, _ in kept)
            trial = trial.model_copy(update={"sheet": sheet, "files": names, "computed_by": sheet.provenance.ownmark})
            replace_trial(inside.connection, trial, [(file.path, data) for file, data in kept])
            for other, given in others:
                replace_trial(inside.connection, other, given)
        remember(inside.connection, Change("trial", str(number), trial.code, "put back", why))
    return trial
