"""What a worker does with a row: bytes in, a trial ready to be stored out. No logbook and no database is seen."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import date

from ...errors import IngestError, OwnmarkError
from ...ingest.containers import members_in
from .. import guards, text_guards
from ..adding import Kept
from ..class_table import Row
from ..intake import Gathered, Intake, ask_of_sheet, gathered, own_names, taken_in
from ..protocol import Protocol
from ..row_day import recorded_of
from ..row_outcome import answered, refusal, told_of, written
from ..same_heart import keys_of
from ..shared_files import alone, names_given
from ..store.adding import prepared, written_out
from ..student import Student
from .job import Decided, Done, Job, Known, OrderOpen, Ready, Undecided, days_of


def done(job: Job) -> Done:
    """Measure a row, by the steps of ``class_day.outcome_of`` that need no logbook."""
    files = _files(job)
    known = _known(files, job.held)
    if known and not (job.correct and job.row.days):  # a day that is open is read from the file before it is corrected
        return Known(known)
    row = job.row
    try:
        said = written(row, job.protocol, files, job.day, job.today, days_of(job.stated, job.order))
        if isinstance(job.student, OwnmarkError):
            raise job.student
        text_guards.ask(text_guards.of_trial(said.trial), said.trial.confirmed)
        taken = taken_in(said.trial, files, today=job.today, day_stated=said.day_stated(job.since))
        if taken.opened is None:
            return _by_hand(job, job.student, taken)
    except OrderOpen:
        return Undecided()
    except OwnmarkError as reason:
        return Decided(refusal(row, reason))
    try:
        return _measured(job, job.student, job.protocol, taken)
    except OwnmarkError as reason:
        return Decided(refusal(row, reason), _hashes(taken))


def recorded(look: tuple[Row, Gathered | None]) -> date | None:
    """The day that a row's files state; None where they state none, or cannot be read."""
    row, files = look
    with suppress(OwnmarkError):  # it is told in its own row
        return recorded_of(row, gathered(row.files) if files is None else files)
    return None


def _files(job: Job) -> Gathered:
    return gathered(job.row.files) if job.files is None else job.files


def _by_hand(job: Job, student: Student, taken: Intake) -> Ready:
    """A trial without a recording: what was entered by hand."""
    student.age_on(taken.trial.on)  # refuses a day before the month of birth
    entry = written_out(prepared(taken.trial, ()))
    told = told_of(Kept(taken.trial, None, taken.refused))
    return Ready(entry, f"{told}{answered(job.row)}", taken.refused)


def _measured(job: Job, student: Student, protocol: Protocol, taken: Intake) -> Ready:
    """A trial with its sheet, its files cut to its span and packed."""
    trial, opened = taken.trial, taken.opened
    assert opened is not None  # noqa: S101 for the type: it has recordings
    with own_names(opened):
        sheet, parts = alone(trial, student, protocol, opened, taken.good, worn=job.row.worn)
    ask_of_sheet(trial, protocol, opened, sheet, job.row.worn)
    measured = trial.model_copy(update={"sheet": sheet, "files": tuple(file for file, _ in parts)})
    given = [(file.path, data) for file, data in parts]
    entry = prepared(measured, given, hashes=[file.sha256 for file, _ in parts])
    kept = Kept(measured, sheet, taken.refused, (), guards.unseen(sheet, guards.clock_of(opened), trial.zone))
    told = f"{told_of(kept)}{answered(job.row)}"
    return Ready(
        written_out(entry), told, taken.refused, _hashes(taken), _by_file(job, taken), keys_of(opened.recordings)
    )


def _hashes(taken: Intake) -> frozenset[str]:
    opened = taken.opened
    return frozenset(name for each in (opened.recordings if opened else ()) for name in names_given(each))


def _by_file(job: Job, taken: Intake) -> tuple[frozenset[str], ...]:
    """The recordings in each file of the row; empty where one of the files could not be read."""
    opened = taken.opened
    if opened is None or taken.refused or len(taken.good) != len(job.row.files):
        return ()
    found: Sequence[set[str]] = [set() for _ in job.row.files]
    for each in opened.recordings:
        found[opened.place[each.sources[0].path]].add(each.sources[0].recording)
    return tuple(map(frozenset, found))


def _known(files: Gathered, held: frozenset[str]) -> tuple[frozenset[str], ...]:
    """The recordings in each file, where the student's trials hold all of them; empty else. Nothing is read of them."""
    if not held or not files.originals or files.unopened:
        return ()
    found: list[frozenset[str]] = []
    for name, data in files.originals:
        hashes: set[str] = set()
        for member in members_in(data, name):
            if isinstance(member, IngestError):
                return ()
            names = (member.source.recording, member.source.sha256)  # an older excerpt goes by its file as given
            known = next((each for each in names if each in held), None)
            if known is None:
                return ()
            hashes.add(known)
        if not hashes:
            return ()
        found.append(frozenset(hashes))
    return tuple(found)
