"""A class's day as a table: a row a student, with code, protocol, files, times and notes; and who wore which strap.

    code,protocol,files,work,notes
    TH-11,slalom-gym,strap-3.fit; frame-1.csv,06:00-18:00,new tires

A list of straps says who wore which, where straps are handed round: ``strap,code,from,until`` (clock times; the last
two may be missing). A row without files takes those whose name holds the strap's label.
"""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ..errors import NotATrial, UnreadableFile
from .entry import field_named

NEEDED = ("code", "protocol")
_NO_TEXT = re.compile("[\udc80-\udcff]")
"""Bytes that are not UTF-8, as Python carries them. Which alphabet they were meant in, no file says."""
_AS_UTF8 = "In the spreadsheet, save the table as “CSV UTF-8”."
_BEYOND = frozenset({"files", "strap"})  # columns that are no field of a trial


@dataclass(frozen=True, slots=True)
class Row:
    """A row as written. ``number`` is its line in the file, from 1; ``problem`` is what is wrong with it."""

    number: int
    texts: Mapping[str, str]
    files: tuple[Path, ...]
    problem: str = ""
    notes: tuple[str, ...] = ()

    @property
    def code(self) -> str:
        """The student's code as written."""
        return self.texts.get("code", "")


@dataclass(frozen=True, slots=True)
class Worn:
    """Who wore a strap, and when (clock times as written; empty: all the time)."""

    strap: str
    code: str
    since: str = ""
    until: str = ""
    files: tuple[str, ...] = field(default=())


def read_class(table: Path, straps: Path | None = None) -> tuple[Row, ...]:
    """Every row of a class's table, with its files found beside the table.

    Raises
    ------
    UnreadableFile
        If a table cannot be opened or holds no header, or its header, or the list of straps, is not in UTF-8. A row
        that is not has a problem, and the other rows stand.
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
        raise NotATrial(f"the table has two columns {twice}.", where=str(table), mend="Take one of them away.")
    if not lines:
        raise NotATrial("the table has no row under its header.", where=str(table), mend="Add a row a student.")
    worn = _worn(straps) if straps is not None else ()
    return tuple(_row(number, names, cells, table.parent, worn) for number, cells in lines)


def _table(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Header and rows of a table with commas, semicolons or tabs, and the line on which each row ends."""
    try:
        text = path.read_bytes().decode("utf-8-sig", errors="surrogateescape")
    except OSError as reason:
        why = reason.strerror or "it cannot be opened"
        raise UnreadableFile(f"{why[0].lower()}{why[1:]}.", where=str(path), mend="Look at the name.") from None
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter)
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error:
        raise UnreadableFile(
            f"a cell near line {reader.line_num} is too long for a table.", where=str(path), mend="Shorten that text."
        ) from None
    if not rows:
        raise UnreadableFile("it holds no line.", where=str(path), mend="Its first line names the columns.")
    _refuse_other_bytes(path, rows[0])
    return rows[0][1], rows[1:]


def _refuse_other_bytes(path: Path, *rows: tuple[int, Sequence[str]]) -> None:
    """Refuse rows with bytes that are not UTF-8."""
    lines = [str(number) for number, cells in rows if any(map(_NO_TEXT.search, cells))]
    if lines:
        raise UnreadableFile(
            f"it is not text in UTF-8: line {', '.join(lines[:5])}{' …' if len(lines) > 5 else ''}.",
            where=str(path),
            mend=_AS_UTF8,
        )


def _plain(name: str) -> str:
    plain = re.sub(r"[\s\-]+", "_", name.strip().lower())
    return plain if plain in _BEYOND else field_named(name) or name.strip()


def _row(number: int, names: Sequence[str], cells: Sequence[str], folder: Path, worn: Sequence[Worn]) -> Row:
    """One row, its files found."""
    if any(map(_NO_TEXT.search, cells)):
        read = [_NO_TEXT.sub("\N{REPLACEMENT CHARACTER}", cell) for cell in cells]
        where = ", ".join(name for name, cell in zip(names, cells, strict=False) if name and _NO_TEXT.search(cell))
        where = f" ({where})" if where else ""
        return Row(number, _texts(names, read), (), f"The row holds letters that are not in UTF-8{where}. {_AS_UTF8}")
    texts = _texts(names, cells)
    problems: list[str] = []
    if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
        problems.append("The row has more cells than the table has columns: put texts with commas in quotes.")
    named = texts.pop("files", "")
    strap = texts.pop("strap", "")
    files = tuple(folder / part.strip() for part in named.split(";") if part.strip())
    notes: list[str] = []
    if not files:
        files, found, more = _of_strap(texts, strap, folder, worn)
        problems += [found] if found else []
        notes += more
    return Row(number, texts, files, " ".join(problems), tuple(notes))


def _texts(names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """The cells that hold something, by column."""
    return {name: cell.strip() for name, cell in zip(names, cells, strict=False) if cell.strip()}


def _of_strap(
    texts: dict[str, str], strap: str, folder: Path, worn: Sequence[Worn]
) -> tuple[tuple[Path, ...], str, list[str]]:
    """Files of the strap that a student wore; when it was worn says whose it is, never what was work."""
    code = texts.get("code", "").upper()
    mine = [each for each in worn if each.code == code and (not strap or each.strap.lower() == strap.lower())]
    if strap and not mine:
        mine = [Worn(strap, code)]
    notes: list[str] = []
    files: list[Path] = []
    for each in mine:
        found = [folder / name for name in each.files] or _named_after(each.strap, folder)
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


def _named_after(strap: str, folder: Path) -> list[Path]:
    """Files whose name holds the strap's label as a word of its own."""
    label = re.compile(rf"(?<![A-Za-z0-9]){re.escape(strap)}(?![A-Za-z0-9])", re.IGNORECASE)
    found = [path for path in folder.iterdir() if path.is_file() and label.search(path.stem)]
    return sorted(path for path in found if not path.name.startswith("."))


def _worn(path: Path) -> tuple[Worn, ...]:
    """The list of straps."""
    header, lines = _table(path)
    _refuse_other_bytes(path, *lines)
    names = [name.strip().lower() for name in header]
    if "strap" not in names or "code" not in names:
        raise NotATrial(
            "the list of straps has no column strap, or none named code.",
            where=str(path),
            mend="Its first line reads: strap,code,from,until",
        )
    found: list[Worn] = []
    for _, cells in lines:
        row = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        files = tuple(part.strip() for part in row.get("files", "").split(";") if part.strip())
        found.append(
            Worn(row.get("strap", ""), row.get("code", "").upper(), row.get("from", ""), row.get("until", ""), files)
        )
    return tuple(found)
