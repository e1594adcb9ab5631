"""A trial as ``trial show`` prints it: its effort sheet, then what else the logbook keeps, files by the names they had.

This is for whoever keeps the logbook: a file's name often names the student, and stands on no other page.
"""

from collections.abc import Iterator
from dataclasses import replace

from ...ingest.clock_shift import written_shift
from ...records.protocol import Protocol
from ...records.student import Student
from ...records.trial import Trial
from ..page import Block, Heading, Page, Table
from ..words import Words
from .effort_sheet import FACT_SHARES, effort_sheet
from .figure_text import capital
from .set_up_table import fact_row, written

READ = ("rest_phase", "work", "recovery", "floor", "zone", "rate_hz")
"""How the recordings are read, as it was typed."""
REST = ("assistance_usual", "prompts_per_min", "humidity_percent")
"""Facts that the effort sheet leaves to the comparison."""
LETTERS = 12
"""Of a file's SHA-256: enough to tell kept files apart."""


def trial_record(trial: Trial, student: Student, protocol: Protocol, words: Words) -> Page:
    """The page of one trial, with what is kept."""
    page = effort_sheet(trial, student, protocol, words)
    return replace(page, blocks=(*page.blocks, *_kept(trial, words)))


def _kept(trial: Trial, words: Words) -> Iterator[Block]:
    rows = [*_typed(trial, words), *_files(trial, words)]
    if rows:
        title = words.get("record.title")
        yield Heading(title)
        head = (words.get("effort.fact"), words.get("effort.as_written"))
        yield Table(title, head, tuple((capital(name), text) for name, text in rows), shares=FACT_SHARES)


def _typed(trial: Trial, words: Words) -> Iterator[tuple[str, str]]:
    """What was typed and stands nowhere else on the page."""
    for name in REST:
        yield from fact_row(name, getattr(trial, name), words)
    for name in READ:
        value = getattr(trial, name)
        if value is not None:
            yield words.get(f"record.{name}"), str(value) if isinstance(value, str) else words.shortest(value)
    for name in ("columns", "offsets"):
        pairs = [f"{key} = {written(value, '', words)}" for key, value in getattr(trial, name).items()]
        if pairs:
            yield words.get(f"record.{name}"), ", ".join(pairs)
    own = [f"{file}: {part} = {header}" for file, each in trial.file_columns.items() for part, header in each.items()]
    if own:
        yield words.get("record.file_columns"), ", ".join(own)
    if trial.clock_shifts:
        shifts = [f"{file} {written_shift(seconds)}" for file, seconds in trial.clock_shifts.items()]
        yield words.get("record.clock_shifts"), ", ".join(shifts)


def _files(trial: Trial, words: Words) -> Iterator[tuple[str, str]]:
    """Each kept file by the name it was given, and by the one that it has on pages."""
    shown = {} if trial.sheet is None else {each.sha256: each.path for each in trial.sheet.provenance.files}
    for each in trial.files:
        known = {"name": each.path, "size": each.size, "hash": each.sha256[:LETTERS]}
        if each.sha256 in shown:
            text = words.get("record.file_on_pages", **known, other=shown[each.sha256])
        else:
            text = words.get("record.file", **known)
        yield words.get("record.kept"), text
