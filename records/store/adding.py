"""Add trials: what is checked before, and the rows that go in together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Connection, select

from ...errors import AlreadyThere, NotATrial, UnknownProtocol
from ...words.render import english_date
from ..student import Student
from ..trial import KeptFile, Trial
from .bulk import insert_rows
from .cells import whole
from .history import let_go
from .not_found import no_student
from .numbering import TRIALS, take_numbers
from .originals import Original, keep, kept, packed
from .replacing import insert_of_a_trial
from .rows import Rendered, TrialRows, rendered, same_as, student_from, trial_rows
from .tables import protocols, students, trials


@dataclass(frozen=True, slots=True)
class Entry:
    """A trial ready to be added: its files named and hashed, and what it would be the same as.

    texts : of its rows, where they are written already; its sheet may be there alone
    """

    trial: Trial
    originals: tuple[Original, ...]
    same_as: str
    texts: Rendered | None = None

    @property
    def weight(self) -> int:
        """What is held for it, about  [bytes]."""
        texts = 0 if self.texts is None else len(self.texts.detail) + len(self.texts.sheet or "")
        return texts + sum(len(each.data) for each in self.originals)


def today() -> date:
    """The day where the program runs."""
    return datetime.now().astimezone().date()


def prepared(
    trial: Trial, given: Sequence[tuple[str, bytes]], *, again: bool = False, hashes: Sequence[str] = ()
) -> Entry:
    """Hash and pack the originals and name them in the trial, each once.

    hashes : SHA-256 of each that was given, from whoever has just worked them out; empty: they are worked out here

    Raises
    ------
    NotATrial
        If the trial names other files than were given, or lies in the future.
    """
    where = f"{trial.code}, {english_date(trial.on)}"
    if trial.on > today():
        raise NotATrial("the date is in the future.", where=where, mend="Look at the date.")
    strange = next((name for name, _ in given if "\0" in name), None)
    if strange is not None:
        raise NotATrial("the name of a file holds a zero character.", where=where, mend="Give the file another name.")
    by_hash: dict[str, Original] = {}
    unpacked: dict[str, bytes] = {}
    known = hashes or [None] * len(given)
    for (name, data), sha256 in zip(given, known, strict=True):
        original = packed(name, data, sha256)
        by_hash.setdefault(original.sha256, original)
        unpacked[original.sha256] = data
    if trial.files:
        named = {file.sha256: file for file in trial.files}
        if by_hash.keys() - named.keys():
            strange = next(each.name for key, each in by_hash.items() if key not in named)
            raise NotATrial(f"{strange} is not among the trial's files.", where=where, mend="Name it in the trial.")
        names = tuple(named.values())
    else:
        from ...ingest.containers import content_sha256

        names = tuple(
            KeptFile(path=each.name, sha256=key, size=each.size, content_sha256=content_sha256(unpacked[key]))
            for key, each in by_hash.items()
        )
    trial = trial.model_copy(update={"files": names})
    return Entry(trial, tuple(by_hash.values()), same_as(trial, again=again))


def written_out(entry: Entry) -> Entry:
    """The same, its texts written and its sheet only there: what is sent from one process to another is small."""
    return replace(entry, trial=entry.trial.model_copy(update={"sheet": None}), texts=rendered(entry.trial))


def insert_entries(connection: Connection, entries: Sequence[Entry]) -> list[int]:
    """Check and add trials inside the transaction that is open, and give their numbers.

    Raises
    ------
    UnknownCode, UnknownProtocol, AlreadyThere, NotATrial
    """
    if not entries:
        return []
    _check(connection, entries)
    first = take_numbers(connection, TRIALS, len(entries))
    rows = [trial_rows(each.trial, first + place, each.same_as, each.texts) for place, each in enumerate(entries)]
    keep(connection, (original for entry in entries for original in entry.originals))
    insert_trial_rows(connection, rows)
    let_go(connection, [(entry.trial.code, entry.trial.files) for entry in entries])
    return [whole(row.trial[0]) for row in rows]


def insert_trial_rows(connection: Connection, rows: Sequence[TrialRows]) -> None:
    """All rows of several trials, table by table."""
    insert_rows(connection, trials, [row.trial for row in rows])
    insert_of_a_trial(connection, rows)


def _check(connection: Connection, entries: Sequence[Entry]) -> None:
    """Refuse what cannot be added: student by student, protocol by protocol, file by file."""
    known = _students(connection, {entry.trial.code for entry in entries})
    versions = {tuple(row) for row in connection.execute(select(protocols.c.name, protocols.c.version))}
    there = _trials_there(connection, entries)
    missing = {file.sha256 for entry in entries for file in entry.trial.files}
    missing -= {original.sha256 for entry in entries for original in entry.originals}
    missing -= kept(connection, missing)
    for entry in entries:
        trial = entry.trial
        where = f"{trial.code}, {english_date(trial.on)}"
        student = known.get(trial.code)
        if student is None:
            raise no_student(connection, trial.code)
        student.age_on(trial.on)  # refuses a day before the month of birth
        if (trial.protocol, trial.protocol_version) not in versions:
            raise UnknownProtocol(
                f"there is no protocol {trial.protocol} of version {trial.protocol_version}.",
                where=where,
                mend="`ownmark protocol list` shows all.",
            )
        _refuse_twin(there, entry, where)
        lost = next((file for file in trial.files if file.sha256 in missing), None)
        if lost is not None:
            raise NotATrial(f"the bytes of {lost.path} were not given.", where=where, mend="Give the file.")


def _refuse_twin(there: dict[tuple[str, str], Trial | tuple[int, date]], entry: Entry, where: str) -> None:
    """Say which trial holds the same already; else remember this one."""
    key = (entry.trial.code, entry.same_as)
    twin = there.get(key)
    if twin is None:
        there[key] = entry.trial
        return
    number, day = twin if isinstance(twin, tuple) else (None, twin.on)
    raise twin_refusal(number, entry.trial, day, where)


def twin_refusal(number: int | None, trial: Trial, day: date, where: str = "") -> AlreadyThere:
    """The refusal of a trial that is there already.

    number, day : of the one that is there; None where it is among those that are being added
    """
    which = "a trial before it" if number is None else f"trial {number}"
    same = "the same files" if trial.files else "the same results on the same day"
    return AlreadyThere(
        f"{which} of {trial.code} ({english_date(day)}) holds {same}.",
        where=where or f"{trial.code}, {english_date(trial.on)}",
        mend="Nothing was added, and nothing is doubled.",
    )


def _students(connection: Connection, codes: Iterable[str]) -> dict[str, Student]:
    wanted = list(codes)
    query = select(students).where(students.c.code.in_(wanted))
    return {student.code: student for student in map(student_from, connection.execute(query).all())}


def _trials_there(connection: Connection, entries: Sequence[Entry]) -> dict[tuple[str, str], Trial | tuple[int, date]]:
    """Number and day of the trials in the logbook that hold the same as these."""
    keys = {entry.same_as for entry in entries}
    query = select(trials.c.code, trials.c.same_as, trials.c.id, trials.c.day).where(trials.c.same_as.in_(keys))
    codes = {entry.trial.code for entry in entries}
    query = query.where(trials.c.code.in_(codes))  # the index begins with the code
    return {(code, same): (number, day) for code, same, number, day in connection.execute(query)}
