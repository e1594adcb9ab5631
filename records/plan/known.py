"""What people's tables and the logbook know before a day's files are read."""

import os
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import NotATrial, UsageError
from ...words.plain import printable
from ..class_table import read_named
from ..wearing import Worn
from .names import bare
from .sources import Earlier, Listed, Sources
from .worn_times import seconds_of
from .written import Written

if TYPE_CHECKING:
    from ..store.logbook import Logbook
    from ..store.student_overview import Outline

_NOTHING = Written()


def read_roster(path: Path) -> tuple[Listed, ...]:
    """The students of a class, each once: columns code and, if they are there, protocol and strap.

    Raises
    ------
    UnreadableFile, NotATrial
    """
    rows = _with(path, "code")
    codes = [row.get("code", "").upper() for row in rows]
    tests = {(code, row.get("protocol", "")) for code, row in zip(codes, rows, strict=True)}
    twice = next((code for code in codes if code and sum(code == each for each, _ in tests) > 1), None)
    if twice is not None:
        raise NotATrial(f"the roster has {twice} in two rows.", where=str(path), mend="Take one of them out.")
    pairs = zip(codes, rows, strict=True)
    return tuple(Listed(code, row.get("protocol") or None, row.get("strap") or None) for code, row in pairs if code)


def read_starts(text: str) -> Mapping[str, float]:
    """When each student began [s after midnight]: one time for all, or a table with columns code and start.

    Raises
    ------
    UnreadableFile, NotATrial, UsageError
    """
    one = seconds_of(text)
    if one is not None:
        return {"": one}
    path = Path(text)
    if not os.path.lexists(path):
        raise UsageError(
            f"--start “{printable(text)}” is neither a time of day nor a table.",
            mend="Write one time for all, as in 09:05, or the name of a table code,start.",
        )
    starts: dict[str, float] = {}
    for row in _with(path, "code", "start"):
        code, written = row.get("code", "").upper(), row.get("start", "")
        seconds = seconds_of(written)
        if code and written and (seconds is None or starts.get(code, seconds) != seconds):
            what = (
                f"{code} begins at “{written}”, which is no time of day" if seconds is None else f"{code} begins twice"
            )
            raise NotATrial(f"{what}.", where=str(path), mend="Write one time a student, as in 09:05.")
        if code and seconds is not None:
            starts[code] = seconds
    return starts


def sources_of(
    logbook: "Logbook",
    roster: tuple[Listed, ...] = (),
    worn: tuple[Worn, ...] = (),
    starts: Mapping[str, float] | None = None,
    zone: str | None = None,
    today: date | None = None,
    written: Written = _NOTHING,
) -> Sources:
    """What people wrote down, with what the logbook knows of students, protocols and earlier trials.

    A student's last trial is looked up when somebody asks, so the logbook stays open until the plan is made.
    """
    from ..store.recent import newest_files, student_codes

    return Sources(
        roster=roster,
        worn=with_roster(worn, roster),
        starts=starts or {},
        works=written.works,
        notes=written.notes,
        zone=zone,
        known=student_codes(logbook),
        protocols={each.name: each for each in logbook.protocols()},
        last=_last_of(logbook),
        named=by_name(newest_files(logbook)),
        today=today,
    )


def with_roster(worn: tuple[Worn, ...], roster: tuple[Listed, ...]) -> tuple[Worn, ...]:
    """The list of straps with those of the roster; what the list says of a student's strap too counts as it is there.

    A row without a strap and without files says nothing.
    """
    said = {(each.strap.casefold(), each.code) for each in worn}
    more = (Worn(each.strap, each.code) for each in roster if each.strap)
    every = (*worn, *(each for each in more if (each.strap.casefold(), each.code) not in said))
    return tuple(each for each in every if each.strap or each.files)


def by_name(newest: "tuple[tuple[Outline, str], ...]") -> dict[str, tuple[Earlier, ...]]:
    """The last trial of each student by the bare names of its files; ``newest``: with names, the newest first."""
    found: dict[str, dict[str, Earlier]] = {}
    for trial, name in newest:
        label = bare(Path(name).stem)
        if label:
            found.setdefault(label, {}).setdefault(trial.code, Earlier(trial.code, trial.protocol, trial.on))
    return {label: tuple(of_each.values()) for label, of_each in found.items()}


def _last_of(logbook: "Logbook") -> Callable[[str], Earlier | None]:
    from ..store.recent import last_trial

    @cache
    def last(code: str) -> Earlier | None:
        found = last_trial(logbook, code)
        return None if found is None else Earlier(found.code, found.protocol, found.on)

    return last


def _with(path: Path, *columns: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table that must have some columns."""
    rows = read_named(path)
    missing = [name for name in columns if rows and name not in rows[0]]
    if missing:
        raise NotATrial(
            f"the table has no column {missing[0]}.",
            where=str(path),
            mend=f"The table's first line must name it: {', '.join(columns)}.",
        )
    return rows
