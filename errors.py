"""Everything ownmark refuses, as sentences for a teacher. Imported by every folder; imports only the words.

OwnmarkError                     what, where, how to mend; a stable code
├── IngestError                  a file, or a part of it, cannot be used
│   ├── UnreadableFile           it cannot be opened
│   ├── EmptyFile                it holds no bytes
│   ├── TooLarge                 it is larger, packed or unpacked, than a recording can be
│   ├── UnknownFormat            no reader, or more than one, claims it
│   ├── DamagedFile              it is of a known format and nothing in it could be read
│   ├── ReaderFault              a reader stopped at something it does not know: a fault of ownmark
│   ├── UnclearColumns           a table does not say which column is what
│   ├── NothingMeasured          it was read and holds no stream that ownmark uses
│   └── NotOneTrial              files given as one trial cannot belong together
├── BasisError                   rest, maximum, age or phases contradict themselves
├── RecordsError                 the logbook, or a value for it, cannot be used
│   ├── NotACode                 it could be a name, an address or a birth date
│   ├── NotAStudent              what is said of a student is not possible
│   ├── NotAProtocol             what is said of a protocol is not possible
│   ├── NotATrial                what is said of a trial is not possible
│   ├── UnknownCode              no student of that code
│   ├── UnknownProtocol          no protocol, or catalogue entry, of that name and version
│   ├── UnknownTrial             no trial, or kept file, of that number
│   ├── NotConfirmed             something of a trial is asked, and nobody has answered yet
│   ├── AlreadyThere             it is in the logbook already; nothing is doubled
│   ├── NothingToCompare         there are not two trials to compare
│   ├── NoLogbook                there is none at this place, or it cannot be reached
│   ├── LogbookLocked            another program is writing to it
│   ├── LogbookDamaged           what it holds cannot be read, or does not agree with its hash
│   ├── LogbookNewer             a newer ownmark has written it
│   ├── LogbookReadOnly          it may be read and not written
│   ├── DiskFull                 there is no room; what was being written was taken back
│   ├── BackupDamaged            a backup is incomplete or does not agree with its hashes
│   └── NotEmpty                 a backup goes only into an empty logbook, a disclosure into a new folder
├── WorkersGone                  the processes or the cluster that did the work are gone
├── WorkersDiffer                a worker of the cluster has another ownmark, or none
└── UsageError                   a command was written in a way that cannot be understood
"""

from dataclasses import dataclass
from typing import ClassVar

from .words.message import Message


class OwnmarkError(Exception):
    """A refusal. ``what`` happened, ``where``, and how to ``mend`` it; ``code`` never changes.

    ``what`` and ``mend`` are messages, or English for the person at the keyboard; nothing may read the English.
    """

    code: ClassVar[str] = "ownmark"

    def __init__(self, what: str | Message, *, where: str = "", mend: str | Message = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.mend = mend

    def __str__(self) -> str:
        sentence = " ".join(_in_english(part) for part in (self.what, self.mend) if part)
        return f"{self.where}: {sentence}" if self.where else sentence

    def __reduce__(self) -> tuple[object, ...]:
        """Keep place and remedy when a worker process hands the error back."""
        return (_rebuild, (type(self), self.what, self.where, self.mend))


def _rebuild(kind: type[OwnmarkError], what: str | Message, where: str, mend: str | Message) -> OwnmarkError:
    return kind(what, where=where, mend=mend)


def _in_english(part: str | Message) -> str:
    if isinstance(part, str):
        return part
    from .words.render import Words

    return Words("en", terminal=True).message(part)


class IngestError(OwnmarkError):
    """A file, or a part of it, cannot be used."""

    code = "ingest"


class UnreadableFile(IngestError):
    """The file cannot be opened: missing, a folder, or not permitted."""

    code = "unreadable_file"


class EmptyFile(IngestError):
    """The file holds no bytes."""

    code = "empty_file"


class TooLarge(IngestError):
    """The file is larger, packed or unpacked, than a recording can be."""

    code = "too_large"


class UnknownFormat(IngestError):
    """No reader claims the file, or more than one does."""

    code = "unknown_format"


class DamagedFile(IngestError):
    """The file is of a known format, and nothing in it could be read, or its clock runs over the same time twice."""

    code = "damaged_file"


class ReaderFault(IngestError):
    """A reader stopped at something it does not know: a fault of ownmark, told as the file's, so that others go on."""

    code = "reader_fault"


class UnclearColumns(IngestError):
    """A table does not say which column is what, or in which unit."""

    code = "unclear_columns"


class NothingMeasured(IngestError):
    """The file was read and holds no stream that ownmark uses."""

    code = "nothing_measured"


class NotOneTrial(IngestError):
    """Files given as one trial cannot belong together."""

    code = "not_one_trial"


class BasisError(OwnmarkError):
    """Rest, maximum, age or phases contradict themselves."""

    code = "basis"


class RecordsError(OwnmarkError):
    """The logbook, or a value for it, cannot be used."""

    code = "records"


class NotACode(RecordsError):
    """A student's code that could be a name, an address or a birth date."""

    code = "not_a_code"


class NotAStudent(RecordsError):
    """What is said of a student is not possible."""

    code = "not_a_student"


class NotAProtocol(RecordsError):
    """What is said of a protocol is not possible."""

    code = "not_a_protocol"


class NotATrial(RecordsError):
    """What is said of a trial is not possible: a date in the future, a side that is none."""

    code = "not_a_trial"


class UnknownCode(RecordsError):
    """No student of that code is in the logbook."""

    code = "unknown_code"


class UnknownProtocol(RecordsError):
    """No protocol, or catalogue entry, of that name and version."""

    code = "unknown_protocol"


class UnknownTrial(RecordsError):
    """No trial of that number, or no kept file of that hash, is in the logbook."""

    code = "unknown_trial"


class AlreadyThere(RecordsError):
    """It is in the logbook already. Nothing is doubled or overwritten."""

    code = "already_there"


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the answers that settle it."""

    asked: Message
    answers: tuple[str, ...]


class NotConfirmed(RecordsError):
    """Something of a trial could be a mistake: it goes in once a person has answered.

    ``questions`` are those that are open; any one of a question's answers settles it.
    """

    code = "not_confirmed"

    def __init__(
        self, what: str | Message, *, questions: tuple[Question, ...] = (), where: str = "", mend: str | Message = ""
    ) -> None:
        super().__init__(what, where=where, mend=mend)
        self.questions = questions

    def __reduce__(self) -> tuple[object, ...]:
        """Keep the questions when a worker process hands the refusal back."""
        return (_rebuild_asked, (self.what, self.questions, self.where, self.mend))


def _rebuild_asked(
    what: str | Message, questions: tuple[Question, ...], where: str, mend: str | Message
) -> NotConfirmed:
    return NotConfirmed(what, questions=questions, where=where, mend=mend)


class NothingToCompare(RecordsError):
    """There are not two trials to compare."""

    code = "nothing_to_compare"


class NoLogbook(RecordsError):
    """There is no logbook at this place, or it cannot be reached."""

    code = "no_logbook"


class LogbookLocked(RecordsError):
    """Another program is writing to the logbook, and did not finish in time."""

    code = "logbook_locked"


class LogbookDamaged(RecordsError):
    """What the logbook holds cannot be read, or does not agree with its hash."""

    code = "logbook_damaged"


class LogbookNewer(RecordsError):
    """A newer ownmark has written the logbook."""

    code = "logbook_newer"


class LogbookReadOnly(RecordsError):
    """The logbook may be read and not written."""

    code = "logbook_read_only"


class DiskFull(RecordsError):
    """There is no room on the disk. What was being written was taken back."""

    code = "disk_full"


class BackupDamaged(RecordsError):
    """A backup is incomplete, or does not agree with its hashes."""

    code = "backup_damaged"


class NotEmpty(RecordsError):
    """A backup goes only into an empty logbook, a disclosure only into a new folder."""

    code = "not_empty"


class WorkersGone(OwnmarkError):
    """The processes or the cluster that did the work are gone and did not come back."""

    code = "workers_gone"


class WorkersDiffer(OwnmarkError):
    """A worker of the cluster has another ownmark, Python or numpy, or none: its figures could differ."""

    code = "workers_differ"


class UsageError(OwnmarkError):
    """A command was written in a way that cannot be understood."""

    code = "usage"
