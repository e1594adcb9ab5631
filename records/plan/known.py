"""What people's tables and the logbook know before a day's files are read."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import NotATrial
from ..class_table import Worn, read_named
from .names import bare
from .sources import Earlier, Listed, Sources
from .whose import seconds_of

if TYPE_CHECKING:
    from ..store.logbook import Logbook


def read_roster(path: Path) -> tuple[Listed, ...]:
    """The students of a class, each once: columns code and, if it is there, protocol.

    Raises
    ------
    UnreadableFile, NotATrial
    """
    rows = _with(path, "code")
    codes = [row.get("code", "").upper() for row in rows]
    twice = next((code for code in codes if code and codes.count(code) > 1), None)
    if twice is not None:
        raise NotATrial(f"the roster has {twice} in two rows.", where=str(path), mend="Take one of them out.")
    pairs = zip(codes, rows, strict=True)
    return tuple(Listed(code, row.get("protocol") or None) for code, row in pairs if code)


def read_starts(text: str) -> Mapping[str, float]:
    """When each student began [s after midnight]: one time for all, or a table with columns code and start.

    Raises
    ------
    UnreadableFile, NotATrial
    """
    one = seconds_of(text)
    if one is not None:
        return {"": one}
    path = Path(text)
    starts: dict[str, float] = {}
    for row in _with(path, "code", "start"):
        code, written = row.get("code", "").upper(), row.get("start", "")
        seconds = seconds_of(written)
        if code and written and (seconds is None or code in starts):
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
) -> Sources:
    """What people wrote down, with what the logbook knows of students, protocols and earlier trials."""
    last: dict[str, Earlier] = {}
    named: dict[str, Earlier] = {}
    for trial in logbook.trials(with_sheets=False):
        earlier = Earlier(trial.code, trial.protocol, trial.on)
        last[trial.code] = earlier
        named |= {label: earlier for file in trial.files if (label := bare(Path(file.path).stem))}
    return Sources(
        roster=roster,
        worn=worn,
        starts=starts or {},
        zone=zone,
        known=frozenset(student.code for student in logbook.students()),
        protocols={each.name: each for each in logbook.protocols()},
        last=last,
        named=named,
    )


def _with(path: Path, *columns: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table that must have some columns."""
    rows = read_named(path)
    missing = [name for name in columns if rows and name not in rows[0]]
    if missing:
        raise NotATrial(
            f"the table has no column {missing[0]}.", where=str(path), mend=f"Its first line reads: {','.join(columns)}"
        )
    return rows
