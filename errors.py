"""Everything ownmark refuses, as sentences for a teacher. Imported by every folder; imports none.

OwnmarkError                     what, where, how to mend; a stable code
├── IngestError                  a file, or a part of it, cannot be used
│   ├── UnreadableFile           it cannot be opened
│   ├── EmptyFile                it holds no bytes
│   ├── TooLarge                 it is larger, packed or unpacked, than a recording can be
│   ├── UnknownFormat            no reader, or more than one, claims it
│   ├── DamagedFile              it is of a known format and nothing in it could be read
│   ├── UnclearColumns           a table does not say which column is what
│   ├── NothingMeasured          it was read and holds no stream that ownmark uses
│   └── NotOneTrial              files given as one trial cannot belong together
├── BasisError                   rest, maximum, age or phases contradict themselves
└── UsageError                   a command was written in a way that cannot be understood
"""

from typing import ClassVar


class OwnmarkError(Exception):
    """A refusal. ``what`` happened, ``where``, and how to ``mend`` it; ``code`` never changes."""

    code: ClassVar[str] = "ownmark"

    def __init__(self, what: str, *, where: str = "", mend: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.mend = mend

    def __str__(self) -> str:
        sentence = " ".join(part for part in (self.what, self.mend) if part)
        return f"{self.where}: {sentence}" if self.where else sentence

    def __reduce__(self) -> tuple[object, ...]:
        """Keep place and remedy when a worker process hands the error back."""
        return (_rebuild, (type(self), self.what, self.where, self.mend))


def _rebuild(kind: type[OwnmarkError], what: str, where: str, mend: str) -> OwnmarkError:
    return kind(what, where=where, mend=mend)


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
    """The file is of a known format, and nothing in it could be read."""

    code = "damaged_file"


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


class UsageError(OwnmarkError):
    """A command was written in a way that cannot be understood."""

    code = "usage"
