"""Everything that is held about one student, as files that anyone can open."""

import csv
import json
import os
import re
import shutil
from collections.abc import Callable
from io import StringIO
from pathlib import Path

from ... import ledger
from ...errors import NotEmpty
from ..trial import Trial
from .bulk import figures_of
from .failures import told
from .logbook import Logbook
from .outputs import refuse_own
from .parts import part_of
from .rows import FigureRow

_WORDS = """This folder holds everything that is kept about the student {code}.

student.json           month of birth, conditions, rests, maxima and ceilings
figures.csv            every figure of every trial, a row each
protocols/             how each test was set up
trials/NUMBER/         one folder a trial: what was written down (trial.json), the figures as they were worked out
                       (sheet.json), and the original files, byte for byte

The logbook knows the code only; which name belongs to it is not kept here.
"""


def disclose(logbook: Logbook, code: str, folder: str | Path) -> tuple[Path, ...]:
    """Write everything held about a student to a new folder, readable by its owner only, and give the files written.

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
    with told(str(folder), writing=True):
        full = target.exists() and (not target.is_dir() or any(target.iterdir()))
    if full:
        raise NotEmpty("there is something here already.", where=str(folder), mend="Name a new folder.")
    part = part_of(target)
    try:
        with told(str(folder), writing=True):
            part.mkdir(mode=0o700, parents=True)
            paper = _Paper(part)
            paper.write("student.json", student.model_dump_json(indent=2).encode())
            shared = _write_trials(logbook, student.code, paper)
            paper.write("contents.txt", (_WORDS.format(code=student.code) + "".join(shared)).encode())
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


def _write_trials(logbook: Logbook, code: str, paper: _Paper) -> list[str]:
    """Trials, their protocols and figures; a line for each file that other students' trials hold too."""
    shared: list[str] = []
    versions: set[tuple[str, int]] = set()
    for trial in logbook.trials(code):
        _write_trial(logbook, trial, paper.write, shared)
        versions.add((trial.protocol, trial.protocol_version))
    for name, version in sorted(versions):
        text = logbook.protocol(name, version).model_dump_json(indent=2)
        paper.write(f"protocols/{name}-{version}.json", text.encode())
    table = StringIO()
    writer = csv.writer(table)
    writer.writerow(FigureRow._fields)
    writer.writerows(figures_of(logbook, code=code))
    paper.write("figures.csv", table.getvalue().encode())
    return shared


def _write_trial(logbook: Logbook, trial: Trial, write: Callable[[str, bytes], None], shared: list[str]) -> None:
    """One trial's folder."""
    here = f"trials/{trial.id}"
    write(f"{here}/trial.json", trial.model_dump_json(indent=2, exclude={"sheet"}).encode())
    if trial.sheet is not None:
        write(f"{here}/sheet.json", json.dumps(trial.sheet, indent=2, ensure_ascii=False).encode())
    for place, file in enumerate(trial.files, 1):
        name = f"{here}/{place:02d}-{_plain(file.path)}"
        write(name, logbook.original(file.sha256))
        if any(other != trial.code for _, other in logbook.holders(file.sha256)):
            shared.append(f"\n{name} also holds another student's trial: look at it before handing it on.")


def _plain(name: str) -> str:
    """A name that any system can write."""
    return re.sub(r"[^\w.\-() ]", "_", name)[-100:]
