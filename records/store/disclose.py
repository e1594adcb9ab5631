"""Everything that is held about one student, as files that anyone can open."""

import csv
import json
import os
import re
import shutil
from collections.abc import Callable, Mapping, Sequence
from io import StringIO
from pathlib import Path
from textwrap import wrap

from ... import ledger
from ...errors import NotEmpty
from ...words.message import Json
from ...words.plain import cell_text
from ..day_entry import Entry, files_of_one, text_of, without_file_names
from ..file_names import UNREAD, names_of
from ..trial import BY_FILE, KeptFile, Trial
from .day_entries import entries_of, entries_of_student
from .failures import told
from .history import Change, history_of_student, removed_trial
from .logbook import Logbook
from .many_trials import figures_of
from .outputs import refuse_own
from .parts import part_of
from .received import received_at
from .rows import FigureRow

ORIGINALS = (
    "Original recordings are, byte for byte, what devices and programs wrote. They can hold more than ownmark reads: "
    "places, serial numbers of devices, the name or account of whoever recorded them, age, weight and comments."
)
"""What is said of recordings wherever they leave the logbook."""
_WORDS = """This folder holds everything that is kept about the student {code}.

student.json           month of birth, conditions, rests, maxima, ceilings, what the student can do
figures.csv            every figure of every trial, a row each
protocols/             how each test was set up
history.json           what was changed of it: when, why, and what stood there before; removed trials among them
days.json              what was pressed, noted and typed on classes' days
trials/NUMBER/         one folder a trial: what was written down (trial.json), the figures as they were worked out
                       (sheet.json){originals}

The logbook knows the code only; which name belongs to it is not kept here.
"""
_WITH = """, and the original recordings, byte for byte

{about}
Look at each before it is handed on. They are named here for their kind, their time and their strap; the names that they
were given are kept in the logbook and not written here."""
EXCERPT = ".excerpt"
"""What a part of a recording ends in; ``docs/excerpt.md`` describes it."""
_WITHOUT = """

The original recordings, and the names that they were given, are kept in the logbook and were left out here."""


def disclose(logbook: Logbook, code: str, folder: str | Path, *, with_originals: bool = True) -> tuple[Path, ...]:
    """Write everything held about a student to a new folder, readable by its owner only, and give the files written.

    with_originals : False leaves the original recordings out, which can hold more about a person than ownmark reads

    Raises
    ------
    UnknownCode
        With the nearest codes.
    NotEmpty
        If there is something at ``folder``.
    """
    student = logbook.student(code)
    target = Path(folder)
    refuse_own(logbook, [target])
    with told(str(folder), writing=True, beside=True):
        full = target.exists() and (not target.is_dir() or any(target.iterdir()))
    if full:
        raise NotEmpty("there is something here already.", where=str(folder), mend="Name a new folder.")
    part = part_of(target)
    try:
        with told(str(folder), writing=True, beside=True):
            part.mkdir(mode=0o700, parents=True)
            paper = _Paper(part)
            paper.write("student.json", student.model_dump_json(indent=2).encode())
            changes = history_of_student(logbook, student.code)
            paper.write("history.json", _changes(changes).encode("utf-8", "backslashreplace"))
            paper.write(
                "days.json", _days(entries_of_student(logbook, student.code)).encode("utf-8", "backslashreplace")
            )
            if with_originals:
                _write_removed(logbook, changes, paper.write)
                _write_received(logbook, student.code, paper.write)
            shared = _write_trials(logbook, student.code, paper, with_originals=with_originals)
            about = _WITH.format(about="\n".join(wrap(ORIGINALS, 118))) if with_originals else _WITHOUT
            contents = _WORDS.format(code=student.code, originals=about) + "".join(shared)
            paper.write("contents.txt", contents.encode())
            if target.exists():
                target.rmdir()
            part.rename(target)
            ledger.note(str(folder))
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    return tuple(target / name for name in paper.names)


class _Paper:
    """Files in a folder, private to the user."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.names: list[str] = []

    def write(self, name: str, data: bytes) -> None:
        """Write a new file."""
        path = self.folder / name
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as handle:
            handle.write(data)
        self.names.append(name)


def _changes(changes: Sequence[Change]) -> str:
    """What was changed, files under names that say nothing of a person."""
    page: list[dict[str, object]] = []
    for change in changes:
        sheet = removed_trial(change).sheet if change.before.get("sheet") is not None else None
        kept: list[Json] = change.fields.get("files") or []  # type: ignore[assignment]
        names = {"files": [KeptFile.model_validate(each).sha256 for each in kept]} if kept else {}
        fields = {name: each for name, each in change.fields.items() if name not in ("files", *BY_FILE)} | names
        row: dict[str, object] = {"what": change.what, "of": f"{change.kind} {change.thing}"}
        row |= {"when": change.made, "why": change.why}
        page.append({**row, "before": fields} | ({} if sheet is None else {"sheet": json.loads(sheet.to_json())}))
    return json.dumps(page, indent=2, ensure_ascii=False)


def _days(entries: Sequence[Entry]) -> str:
    """What happened on classes' days, without names of files."""
    bare = [found for each in entries if (found := without_file_names(each)) is not None]
    page = [
        {"day": each.day.isoformat(), "at": each.at.isoformat(), "kind": each.kind, **json.loads(text_of(each.what))}
        for each in bare
    ]
    return json.dumps(page, indent=2, ensure_ascii=False)


def _write_removed(logbook: Logbook, changes: Sequence[Change], write: Callable[[str, bytes], None]) -> None:
    """The recordings of removed trials, byte for byte."""
    for change in changes:
        if change.held:
            for file in removed_trial(change).files:
                end = _end(file.path) if file.of is None else EXCERPT
                write(f"removed/{change.thing}/{file.sha256[:12]}{end}", logbook.original(file.sha256))


def _write_received(logbook: Logbook, code: str, write: Callable[[str, bytes], None]) -> None:
    """Files that were received on classes' days and are this student's alone, byte for byte."""
    folder = received_at(logbook.place)
    for day in sorted({each.day for each in entries_of_student(logbook, code)}):
        for sha256, name in files_of_one(entries_of(logbook, day), code).items():
            path = folder.path(day, sha256)
            if path is not None:
                write(f"received/{day.isoformat()}/{sha256[:12]}{_end(name)}", path.read_bytes())


def _write_trials(logbook: Logbook, code: str, paper: _Paper, *, with_originals: bool) -> list[str]:
    """Trials, their protocols and figures; a line for each file that other students' trials hold too."""
    shared: list[str] = []
    versions: set[tuple[str, int]] = set()
    for trial in logbook.trials(code):
        named = names_of(trial)
        _write_trial(trial, named, paper.write)
        if with_originals:
            _write_originals(logbook, trial, named, paper.write, shared)
        versions.add((trial.protocol, trial.protocol_version))
    for name, version in sorted(versions):
        text = logbook.protocol(name, version).model_dump_json(indent=2)
        paper.write(f"protocols/{name}-{version}.json", text.encode())
    table = StringIO()
    writer = csv.writer(table)
    writer.writerow(FigureRow._fields)
    writer.writerows(
        [cell_text(cell) if isinstance(cell, str) else cell for cell in row] for row in figures_of(logbook, code=code)
    )
    paper.write("figures.csv", table.getvalue().encode())
    return shared


def _write_trial(trial: Trial, named: Mapping[str, str], write: Callable[[str, bytes], None]) -> None:
    """What was written down of one trial, and its sheet."""
    here = f"trials/{trial.id}"
    page = trial.model_dump(mode="json", exclude={"sheet"})
    page["files"] = [{**each, "path": named[each["sha256"]]} for each in page["files"]]
    by_name = {file.path: named[file.sha256] for file in trial.files}
    for field in BY_FILE:
        page[field] = {by_name.get(name, UNREAD): each for name, each in page[field].items()}
    write(f"{here}/trial.json", json.dumps(page, indent=2, ensure_ascii=False).encode("utf-8", "backslashreplace"))
    if trial.sheet is not None:
        write(f"{here}/sheet.json", trial.sheet.to_json().encode())


def _write_originals(
    logbook: Logbook,
    trial: Trial,
    named: Mapping[str, str],
    write: Callable[[str, bytes], None],
    shared: list[str],
) -> None:
    """One trial's recordings, byte for byte."""
    for place, file in enumerate(trial.files, 1):
        end = _end(file.path) if file.of is None else EXCERPT
        name = f"trials/{trial.id}/{place:02d}-{named[file.sha256]}{end}"
        write(name, logbook.original(file.sha256))
        if file.of is None and any(other != trial.code for _, other in logbook.holders(file.recording)):
            shared.append(f"\n{name} also holds another student's trial: look at it before handing it on.")


def _end(name: str) -> str:
    """What a file's name ends in, so that programs know it again: letters and digits, twice if it is packed."""
    found = re.search(r"(\.(?:csv|tsv|txt|json|fit|tcx|gpx|edf|xml|hrm|log))?\.[A-Za-z0-9]{1,4}$", name, re.IGNORECASE)
    return found[0].lower() if found else ""
