"""An export from begin to end: read once, write every form that was asked for, all files or none."""

import gc
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import IO, TYPE_CHECKING, Any, Protocol

from ...errors import UsageError
from ...records.store.outputs import refuse_own
from .output_files import output_files
from .rows import Record, records
from .selection import Asked

if TYPE_CHECKING:
    from ...records.store.logbook import Logbook

FORMATS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "csv": ("csv_table", ".csv"),
        "xlsx": ("xlsx_workbook", ".xlsx"),
        "parquet": ("parquet_table", ".parquet"),
        "json": ("json_document", ".json"),
        "fhir": ("fhir_observations", ".ndjson"),
    }
)
"""Name of each form, its module, and the usual end of its files' names."""
ALL = "all"


class Writer(Protocol):
    """What each form's module offers, beside ``files(path)``."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:
        """Write what comes before the first trial."""

    def add(self, record: Record) -> None:
        """Write a trial."""

    def close(self) -> None:
        """Write what comes after the last trial."""

    def drop(self) -> None:
        """Let go of everything, whatever happened."""


@dataclass(frozen=True, slots=True)
class Exported:
    """``rows``: trials; ``hand_rows``: results entered by hand; ``files``: all that were written, ``path`` first."""

    rows: int
    hand_rows: int
    path: Path
    files: tuple[Path, ...]


def export(
    logbook: "Logbook",
    form: str,
    path: str | Path,
    *,
    since: date | None = None,
    until: date | None = None,
    protocol: str | None = None,
    change: bool = False,
    with_health: bool = False,
    replace: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Exported:
    """Write the logbook's trials to ``path``, and what belongs beside it.

    Parameters
    ----------
    form : one of ``FORMATS``, or "all": every one, from one reading; each form's end is put behind ``path``
    since, until : both days included
    change : with the comparison of each student's last trial with the own baseline
    with_health : with conditions, their cautions, and what they do to a figure
    replace : files of those names may be replaced
    progress : called with how many trials are done, and of how many at most

    Raises
    ------
    UsageError
        If there is no such form, or the days are the wrong way round.
    UnknownProtocol
    AlreadyThere, UnreadableFile, DiskFull
        If a file is there, or cannot be written; then none is.
    """
    asked = Asked(since, until, protocol, change, with_health)
    plan = _planned(form, Path(path))
    if since and until and since > until:
        raise UsageError(f"{since} is after {until}.", mend="Give the earlier day to --from.")
    if protocol is not None:
        logbook.protocol(protocol)
    paths = [each for _, some in plan for each in some]
    refuse_own(logbook, paths)
    total = logbook.count()["trials"]
    done = hand = 0
    with output_files(paths, replace=replace) as handles, _writers(plan, handles, asked) as writers, _no_search():
        found = records(logbook, since, until, protocol, change=change, with_health=with_health)
        for done, record in enumerate(found, start=1):
            for writer in writers:
                writer.add(record)
            hand += len(record.trial.hand_results)
            if progress is not None:
                progress(done, total)
        for writer in writers:
            writer.close()
    return Exported(done, hand, paths[0], tuple(paths))


def refuse_other_end(form: str, path: Path) -> None:
    """Refuse a name that ends as the files of another form do: a program would open it as what it is not."""
    other = next((name for name, (_, end) in FORMATS.items() if path.suffix.lower() == end), None)
    if other is not None and form in FORMATS and other != form:
        raise UsageError(
            f"{path.name} ends like a file of the form {other}, and {form} was asked for.",
            mend=f"Name it {path.stem}{FORMATS[form][1]}, or ask for {other}.",
        )


def _planned(form: str, path: Path) -> list[tuple[Any, tuple[Path, ...]]]:
    """The module of each form, and its files."""
    if form != ALL and form not in FORMATS:
        raise UsageError(f"there is no form “{form}”.", mend=f"There are: {', '.join([*FORMATS, ALL])}.")
    found = []
    for name, (module, end) in FORMATS.items():
        if form in (name, ALL):
            target = path.with_name(f"{path.name}{end}") if form == ALL and path.name else path
            loaded = import_module(f".{module}", __package__)
            found.append((loaded, loaded.files(target) if target.name else (target,)))
    return found


@contextmanager
def _no_search() -> Iterator[None]:
    """Without the search for cyclic garbage: rows hold none, and looking through them takes a tenth of the time."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()


@contextmanager
def _writers(
    plan: Sequence[tuple[Any, tuple[Path, ...]]], handles: Sequence[IO[bytes]], asked: Asked
) -> Iterator[list[Writer]]:
    """A writer for each form, let go of at the end."""
    left = iter(handles)
    made: list[Writer] = []
    try:
        for module, paths in plan:
            made.append(module.Writer([next(left) for _ in paths], asked))
        yield made
    finally:
        for writer in made:
            writer.drop()
