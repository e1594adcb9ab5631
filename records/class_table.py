"""A class's day as a table: a row a student, with code, protocol, files, times and notes; and who wore which strap.

    code,protocol,files,work,notes
    TH-11,slalom-gym,strap-3.fit; frame-1.csv,06:00-18:00,new tires

A list of straps says who wore which, where straps are handed round: ``strap,code,from,until`` (clock times; the last
two may be missing). A row without files takes those whose name holds the strap's label.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Literal

from ..errors import NotATrial, UnreadableFile, UsageError
from ..ingest.clock_times import parse_moment
from ..words.plain import printable
from .address import Place, beside, is_file
from .entry import field_named
from .spreadsheet import Numbered, rows_of
from .wearing import Wearing, Worn, wearings_of
from .written_days import days_of

NEEDED = ("code", "protocol")
FILES: Mapping[str, str] = dict.fromkeys(("file", "filename", "file_name", "recording", "recordings"), "files")
"""Other names of the column of files."""
OF_STRAPS: Mapping[str, str] = {"student": "code", "to": "until"}
"""Other names of columns of a list of straps."""
_WORN = frozenset({"code", "name", "from", "until"})
"""One of them stands beside the strap in any list of who wore which; a recording has none."""
_BEYOND = frozenset(
    {"files", "strap", "laps", "columns", "offset", "clock_shift", "check"}
)  # columns that are no field of a trial


@dataclass(frozen=True, slots=True)
class Row:
    """A row as written. ``number`` is its line in the file, from 1; ``problem`` is what is wrong with it.

    ``days`` holds both days that its date can be, where nothing says whether the day or the month stands first.
    ``columns``, ``offsets`` and ``clock_shifts`` are what the row says of its files, as written.
    ``worn`` is from when until when its student wore the strap, and others wore it, by the list of straps.
    """

    number: int
    texts: Mapping[str, str]
    files: tuple[Place, ...]
    problem: str = ""
    notes: tuple[str, ...] = ()
    days: tuple[date, ...] = ()
    columns: tuple[str, ...] = ()
    clock_shifts: tuple[str, ...] = ()
    offsets: Mapping[str, str] = field(default_factory=dict[str, str])
    worn: tuple[Wearing, ...] = ()

    @property
    def code(self) -> str:
        """The student's code as written."""
        return self.texts.get("code", "")

    @property
    def answers(self) -> frozenset[str]:
        """What the row confirms, in small letters."""
        return frozenset(each.strip().casefold() for each in self.texts.get("confirmed", "").split(";"))


def kind_of(header: Sequence[str]) -> Literal["class", "straps", ""]:
    """What a table is by its header: a class's day, a list of straps, or neither.

    A list of straps without the column of codes is one too: whoever reads it refuses it. Passed over, it would leave
    out who else wore a strap, and nobody would know.
    """
    if lacking_of(header) == ():
        return "class"
    names = {_plain_of_straps(name) for name in header}
    return "straps" if "strap" in names and names & _WORN else ""


def lacking_of(header: Sequence[str]) -> tuple[str, ...] | None:
    """The columns that a class table needs and this one has not; None where it has none of them."""
    names = {_plain(name) for name in header}
    lacking = tuple(name for name in NEEDED if name not in names)
    return None if len(lacking) == len(NEEDED) else lacking


def _plain_of_straps(name: str) -> str:
    plain = name.strip().lower()
    return OF_STRAPS.get(plain, plain)


def read_class(table: Place, straps: Place | None = None) -> tuple[Row, ...]:
    """Every row of a class's table, with its files found beside the table.

    Raises
    ------
    UnreadableFile
        If a table cannot be opened, is none, or holds no header.
    NotATrial
        If a column that is needed is missing.
    """
    header, lines = _table(table)
    names = [_plain(name) for name in header]
    missing = [name for name in NEEDED if name not in names]
    if missing:
        raise NotATrial(
            f"the table has no column {' and no column '.join(missing)}.",
            where=str(table),
            mend="Its first line names the columns: code, protocol, files, work, notes …",
        )
    twice = next((name for name in names if name and names.count(name) > 1), None)
    if twice is not None:
        both = " and ".join(printable(text.strip()) for text, name in zip(header, names, strict=True) if name == twice)
        raise NotATrial(f"two columns say the same: {both}.", where=str(table), mend="Take one of them away.")
    if not lines:
        raise NotATrial("the table has no row under its header.", where=str(table), mend="Add a row a student.")
    worn = _worn(straps) if straps is not None else ()
    folder = _Folder(table.parent)
    rows = [_row(number, names, cells, folder, worn) for number, cells in lines]
    read = days_of([row.texts.get("on", "") for row in rows])
    return tuple(_dated(row, days) for row, days in zip(rows, read, strict=True))


def _dated(row: Row, days: tuple[date, ...]) -> Row:
    """A row with its date as it is to be read, or with both days that it can be."""
    if len(days) == 1:
        return replace(row, texts={**row.texts, "on": days[0].isoformat()})
    if not days:
        return row
    return replace(row, texts={name: text for name, text in row.texts.items() if name != "on"}, days=days)


def _table(path: Place) -> tuple[list[str], list[Numbered]]:
    """Header and rows of a table, and the line on which each row ends."""
    rows = rows_of(path)
    header = [name.strip().lower() for name in rows[0][1]]
    twice = next((name for name in header if name and header.count(name) > 1), None)
    if twice is not None:
        raise NotATrial(f"the table has two columns {twice}.", where=str(path), mend="Take one of them away.")
    return rows[0][1], [(number, cells) for number, cells in rows[1:] if not cells[0].lstrip().startswith("#")]


def _plain(name: str) -> str:
    plain = re.sub(r"[\s\-]+", "_", name.strip().lower())
    plain = FILES.get(plain, plain)
    return plain if plain in _BEYOND else field_named(name) or name.strip()


@dataclass(slots=True)
class _Folder:
    """The folder of a table; what lies in it is listed once, however many rows look for the files of a strap."""

    place: Place
    _listed: list[Place] | None = None

    def listed(self) -> list[Place]:
        """All that lies in it.

        Raises
        ------
        UnreadableFile
        """
        if self._listed is None:
            try:
                self._listed = list(self.place.iterdir())
            except OSError as reason:  # the drive was pulled out
                why = reason.strerror or "it cannot be looked into"
                raise UnreadableFile(
                    f"{why[0].lower()}{why[1:]}.", where=str(self.place), mend="Look at the folder."
                ) from None
        return self._listed


def _row(number: int, names: Sequence[str], cells: Sequence[str], folder: _Folder, worn: Sequence[Worn]) -> Row:
    """One row, its files found."""
    texts = _texts(names, cells)
    problems: list[str] = []
    if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
        problems.append("The row has more cells than the table has columns: put texts with commas in quotes.")
    offsets = _pairs(texts.pop("offset", ""))
    if offsets is None:
        problems.append("The column offset takes NAME=VALUE, with ; between two.")
    columns, shifts = (_parts(texts.pop(name, "")) for name in ("columns", "clock_shift"))
    texts |= _of_laps(texts.pop("laps", ""), texts)
    named = texts.pop("files", "")
    strap = texts.pop("strap", "")
    files, wrong = _named(_parts(named), folder.place)
    problems += wrong
    notes: list[str] = []
    wearing = wearings_of(texts.get("code", "").upper(), _mine(texts, strap, worn), worn)
    if not files:
        files, found, more = _of_strap(texts, strap, folder, worn)
        problems += [found] if found else []
        notes += more
    about = Row(number, texts, files, " ".join(problems), tuple(notes), worn=wearing)
    return replace(about, columns=columns, clock_shifts=shifts, offsets=offsets or {})


def _named(names: Sequence[str], folder: Place) -> tuple[tuple[Place, ...], list[str]]:
    """The files that a cell names in its parts, and what is wrong with an address among them."""
    files: list[Place] = []
    wrong: list[str] = []
    for part in names:
        try:
            files.append(beside(folder, part))
        except UsageError as reason:
            wrong.append(f"{str(reason)[0].upper()}{str(reason)[1:]}")
    return tuple(files), wrong


def _parts(text: str) -> tuple[str, ...]:
    """What stands between the semicolons of a cell."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def _pairs(text: str) -> dict[str, str] | None:
    """``a=1; b=2`` as names and values; None if it is written otherwise."""
    parts = [part.strip().rpartition("=") for part in text.split(";") if part.strip()]
    if any(not name.strip() or not value.strip() for name, _, value in parts):
        return None
    return {name.strip(): value.strip() for name, _, value in parts}


def _of_laps(text: str, texts: Mapping[str, str]) -> dict[str, str]:
    """The phases that laps are named for, where the row does not write their times."""
    fields = {"rest": "rest_phase"}
    named = [fields.get(each.strip().lower(), each.strip().lower()) for each in text.split(",")]
    return {name: f"lap {n}" for n, name in enumerate(named, start=1) if name not in ("", "-") and name not in texts}


def _texts(names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """The cells that hold something, by column."""
    return {name: cell.strip() for name, cell in zip(names, cells, strict=False) if cell.strip()}


def _mine(texts: Mapping[str, str], strap: str, worn: Sequence[Worn]) -> list[Worn]:
    """What the list of straps says of a row's student, and of the strap that the row names."""
    code = texts.get("code", "").upper()
    return [each for each in worn if each.code == code and (not strap or each.strap.lower() == strap.lower())]


def _of_strap(
    texts: dict[str, str], strap: str, folder: _Folder, worn: Sequence[Worn]
) -> tuple[tuple[Place, ...], str, list[str]]:
    """Files of the strap that a student wore; when it was worn says whose it is, never what was work."""
    code, mine = texts.get("code", "").upper(), _mine(texts, strap, worn)
    if strap and not mine:
        mine = [Worn(strap, code)]
    notes: list[str] = []
    files: list[Place] = []
    for each in mine:
        named, wrong = _named(each.files, folder.place)
        if wrong:
            return (), " ".join(wrong), []
        found = list(named) or _named_after(each.strap, folder)
        if not found:
            return (), f"No file beside the table is named after the strap {each.strap}.", []
        files += found
        others = sorted({other.code for other in worn if other.strap == each.strap and other.code != code})
        if others and "work" not in texts:
            whose = f"The strap {each.strap} was also worn by {', '.join(others)}"
            return (
                (),
                f"{whose}: write when {code} worked, as in @09:05-@09:13; when it was worn is not what was work.",
                [],
            )
        if others:
            notes.append(f"The strap {each.strap} was also worn by {', '.join(others)}: its file may hold them too.")
    return tuple(files), "", notes


def _named_after(strap: str, folder: _Folder) -> list[Place]:
    """Files whose name holds the strap's label as a word of its own."""
    label = re.compile(rf"(?<![A-Za-z0-9]){re.escape(strap)}(?![A-Za-z0-9])", re.IGNORECASE)
    near = [path for path in folder.listed() if label.search(path.stem) and not path.name.startswith(".")]
    return sorted((path for path in near if is_file(path)), key=lambda path: path.name)


def _worn(path: Place) -> tuple[Worn, ...]:
    """The list of straps."""
    header, lines = _table(path)
    names = [_plain_of_straps(name) for name in header]
    twice = next((name for name in names if name and names.count(name) > 1), None)
    if twice is not None:
        raise NotATrial(f"the table has two columns {twice}.", where=str(path), mend="Take one of them away.")
    if "strap" not in names or "code" not in names:
        raise NotATrial(
            "the list of straps has no column strap, or none named code.",
            where=str(path),
            mend="Its first line reads: strap,code,from,until",
        )
    found: list[Worn] = []
    for number, cells in lines:
        row = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        _refuse_no_time(row, f"{path}, row {number}")
        files = tuple(part.strip() for part in row.get("files", "").split(";") if part.strip())
        found.append(
            Worn(row.get("strap", ""), row.get("code", "").upper(), row.get("from", ""), row.get("until", ""), files)
        )
    return tuple(found)


def _refuse_no_time(row: Mapping[str, str], where: str) -> None:
    """Refuse a time of wearing that is no time of day: nothing could be held against it."""
    for name in ("from", "until"):
        text = row.get(name, "")
        try:
            parse_moment(f"@{text.lstrip('@')}" if text else "@0:00")
        except UsageError:
            raise NotATrial(
                f"“{printable(text)}” in the column {name} is no time of day.",
                where=where,
                mend="Write it as in 09:05, or leave it empty.",
            ) from None


def read_straps(path: Place) -> tuple[Worn, ...]:
    """The list of straps: who wore which, and when.

    Raises
    ------
    UnreadableFile, NotATrial
    """
    return _worn(path)


def read_named(path: Place) -> tuple[Mapping[str, str], ...]:
    """The rows of any table by the names in its first line, in small letters.

    Raises
    ------
    UnreadableFile
    """
    header, lines = _table(path)
    names = [name.strip().lower() for name in header]
    return tuple(dict(zip(names, (cell.strip() for cell in cells), strict=False)) for _, cells in lines)


def with_column(path: str | None, name: str) -> str | None:
    """The table itself if it has a column of that name, so that one table can be several."""
    return path if path and any(name in row for row in read_named(Path(path))) else None
