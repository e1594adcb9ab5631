"""An export as one file to be sent: made in a private folder that is gone before the first byte is sent.

A form of several files is packed into one archive, each under the name that it has beside the others.
"""

import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory, TemporaryFile
from typing import IO, TYPE_CHECKING

from .plans import write_plans
from .run import ALL, FORMATS, export

if TYPE_CHECKING:
    from ...records.store.logbook import Logbook

PLAN = "plan"
FORMS = (*FORMATS, ALL, PLAN)
STEM = "ownmark-export"
TYPES = {
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".ndjson": "application/fhir+ndjson",
    ".parquet": "application/vnd.apache.parquet",
    ".txt": "text/plain; charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".zip": "application/zip",
}
_PIECE = 1 << 16


@dataclass(frozen=True, slots=True)
class OneFile:
    """What is sent: a name without a student's code, its type, its length, and where its bytes are read from."""

    name: str
    media_type: str
    size: int
    handle: IO[bytes]

    def pieces(self) -> Iterator[bytes]:
        """The bytes, some at a time; the file is gone afterwards, however far the reader came."""
        with self.handle:
            while piece := self.handle.read(_PIECE):
                yield piece


def one_file(
    logbook: "Logbook",
    form: str,
    *,
    since: date | None = None,
    until: date | None = None,
    protocol: str | None = None,
    change: bool = False,
    with_health: bool = False,
    language: str = "en",
) -> OneFile:
    """What the command of the same form writes, as one file.

    form : one of ``FORMS``
    change : not of sentences for plans, which tell it anyway
    language : of the sentences for plans

    Raises
    ------
    UsageError, UnknownProtocol, DiskFull
    """
    with TemporaryDirectory(prefix="ownmark-") as folder:
        end = "" if form == ALL else ".txt" if form == PLAN else FORMATS[form][1] if form in FORMATS else ""
        target = Path(folder) / f"{STEM}{end}"
        if form == PLAN:
            write_plans(
                logbook, target, since=since, until=until, protocol=protocol, language=language, with_health=with_health
            )
            files: tuple[Path, ...] = (target,)
        else:
            files = export(
                logbook,
                form,
                target,
                since=since,
                until=until,
                protocol=protocol,
                change=change,
                with_health=with_health,
            ).files
        return _taken(files)


def _taken(files: tuple[Path, ...]) -> OneFile:
    """The file, or all of them in an archive, held open where no name leads to it."""
    name = files[0].name if len(files) == 1 else f"{STEM}.zip"
    handle = TemporaryFile()  # noqa: SIM115 closed by whoever reads it to the end
    try:
        if len(files) == 1:
            with files[0].open("rb") as found:
                shutil.copyfileobj(found, handle)
        else:
            with zipfile.ZipFile(handle, "w", zipfile.ZIP_DEFLATED) as archive:
                for path in files:
                    archive.write(path, path.name)
        size = handle.tell()
        handle.seek(0)
    except BaseException:
        handle.close()
        raise
    return OneFile(name, TYPES[Path(name).suffix], size, handle)
