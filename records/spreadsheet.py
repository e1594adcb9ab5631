"""Rows of texts out of a table as spreadsheets save it: CSV in any common encoding, or the first sheet of an XLSX file.

Nothing of a cell is guessed: a date cell of XLSX is a date, and becomes YYYY-MM-DD; what a CSV holds stays as it is.
"""

import codecs
import csv
import io
import re
import stat
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypeAlias

from ..errors import UnreadableFile
from ..ingest.text_encoding import decode
from .address import Place, head_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

Numbered: TypeAlias = tuple[int, list[str]]
"""The line on which a row ends, from 1, and its cells."""

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_EPOCH, _EPOCH_1904 = datetime(1899, 12, 30, tzinfo=UTC), datetime(1904, 1, 1, tzinfo=UTC)
"""Day 0 of both ways in which XLSX counts days; 1899-12-30 because the first counts a 29 February 1900.
Source: ECMA-376 part 1, 18.17.4.1."""
_DATE_FORMATS = frozenset({*range(14, 18), 22, *range(27, 37), *range(50, 59)})
_TIME_FORMATS = frozenset({*range(18, 22), 45, 46, 47})
"""Number formats of dates and of times that need no definition. Source: ECMA-376 part 1, 18.8.30."""
_QUOTED = re.compile(r'"[^"]*"|\[[^\]]*\]|\\.')
_SEPARATOR = re.compile(r"sep=(.)\s*", re.IGNORECASE)
MOST_BYTES = 64 * 1024 * 1024
"""A larger sheet is no class's day."""
_MOST_PART = 32 * 1024 * 1024
"""Bytes of a workbook's sheet without its packing: as a tree, the emptiest rows take twelve times that."""
MOST_CELLS = 4_000_000
"""Cells of a sheet, empty ones and empty rows too: 100,000 rows of 40. A few bytes can name the last column of every
row."""
_HEAD = 64 * 1024
"""Bytes in which a header ends. Our own choice: 16,384 columns of four letters."""
_MOST_COLUMNS = 16_384
"""Columns of a sheet. Source: the limit that spreadsheet programs state (column XFD)."""
_NO_BOOK = (
    *(KeyError, ValueError, IndexError, SyntaxError, OverflowError, EOFError, RuntimeError),
    *(zipfile.BadZipFile, zlib.error),
)
"""What a damaged, foreign or encrypted workbook raises; NotImplementedError is a RuntimeError."""


def rows_of(path: Place) -> list[Numbered]:
    """Every row with text in it.

    Raises
    ------
    UnreadableFile
        If the file cannot be opened, holds no line, or is no table.
    """
    return rows_in(_bytes_of(path), str(path))


def rows_in(data: bytes, where: str) -> list[Numbered]:
    """As ``rows_of``, of the bytes of a table; ``where`` names it in a refusal."""
    found = _of_workbook(data, where) if data.startswith(b"PK\x03\x04") else _of_text(data, where)
    if not found:
        raise UnreadableFile("it holds no line.", where=where, mend="Its first line names the columns.")
    return found


def header_of(path: Place) -> list[str]:
    """The cells of the first row with text in it; of a text file no more than its beginning is read for it.

    Raises
    ------
    UnreadableFile
        As ``rows_of``.
    """
    try:
        regular = stat.S_ISREG(path.stat().st_mode)
        head = b""
        if regular:
            head = head_of(path, _HEAD)
    except (OSError, ValueError):
        head = b""
    if not head or head.startswith(b"PK\x03\x04"):
        return rows_of(path)[0][1]
    found = _of_text(head, str(path))
    if not found:
        raise UnreadableFile("it holds no line.", where=str(path), mend="Its first line names the columns.")
    return found[0][1]


def _bytes_of(path: Place) -> bytes:
    """The file's bytes. A device or a pipe is not opened: it may never end."""
    try:
        state = path.stat()
        if not (stat.S_ISREG(state.st_mode) or stat.S_ISDIR(state.st_mode)):
            raise UnreadableFile("this is a device or a pipe, not a file.", where=str(path), mend="Give a file.")
        if state.st_size > MOST_BYTES:
            raise UnreadableFile("it is too large for the table of a class.", where=str(path), mend="Look at the name.")
        return path.read_bytes()
    except OSError as reason:
        why = reason.strerror or "it cannot be opened"
        raise UnreadableFile(f"{why[0].lower()}{why[1:]}.", where=str(path), mend="Look at the name.") from None


def _of_text(data: bytes, where: str) -> list[Numbered]:
    """Rows of CSV: the delimiter as a line ``sep=;`` says it, else the one that the header holds most of."""
    text, lines = _text(data), 0
    said = _SEPARATOR.match(text.partition("\n")[0])
    if said is not None:
        text, lines = text.partition("\n")[2], 1
    first = text.lstrip("\n").partition("\n")[0]
    delimiter = said[1] if said is not None else max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        return _with_text(((lines + reader.line_num, row) for row in reader), where)
    except csv.Error:
        raise UnreadableFile(
            f"a cell near line {reader.line_num} is too long for a table.", where=where, mend="Shorten that text."
        ) from None


def _with_text(rows: Iterable[Numbered], where: str) -> list[Numbered]:
    """The rows with text in them."""
    found: list[Numbered] = []
    count = 0
    for number, cells in rows:
        count += max(1, len(cells))
        if count > MOST_CELLS:
            raise UnreadableFile("it is too large for the table of a class.", where=where, mend="Look at the name.")
        if any(cell.strip() for cell in cells):
            found.append((number, cells))
    return found


def _text(data: bytes) -> str:
    """The text: UTF-16 by its mark, else line by line UTF-8, else cp1252, which western spreadsheets write."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return decode(data)[0]
    plain = data.removeprefix(codecs.BOM_UTF8)
    try:
        text = plain.decode("utf-8")
    except UnicodeDecodeError:
        text = "".join(map(_line, plain.splitlines(keepends=True)))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _line(line: bytes) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", "replace")


def _of_workbook(data: bytes, where: str) -> list[Numbered]:
    """Rows of the first sheet."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            return _with_text(_sheet(book), where)
    except _NO_BOOK:
        raise UnreadableFile(
            "it is no spreadsheet that can be read.", where=where, mend="Save it again, as CSV UTF-8 or XLSX."
        ) from None


def _sheet(book: zipfile.ZipFile) -> Iterator[Numbered]:
    root = _part(book, "xl/workbook.xml")
    sheet = root.find(f"{_MAIN}sheets/{_MAIN}sheet")
    if sheet is None:
        return
    targets = {each.get("Id"): each.get("Target", "") for each in _part(book, "xl/_rels/workbook.xml.rels")}
    target = targets[sheet.get(_RELATION)]
    name = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    properties = root.find(f"{_MAIN}workbookPr")
    since = _EPOCH_1904 if properties is not None and properties.get("date1904") in ("1", "true") else _EPOCH
    strings, kinds = _strings(book), _kinds(book)
    for place, row in enumerate(_part(book, name).iter(f"{_MAIN}row"), start=1):
        cells: list[str] = []
        for cell in row.iter(f"{_MAIN}c"):
            column = _column(cell.get("r"), len(cells))
            cells += [""] * (column - len(cells))
            cells.append(_cell(cell, strings, kinds, since))
        yield int(row.get("r") or place), cells


def _part(book: zipfile.ZipFile, name: str) -> "Element":
    from defusedxml.ElementTree import fromstring

    if book.getinfo(name).file_size > _MOST_PART:
        raise ValueError(name)
    found: Element = fromstring(book.read(name), forbid_dtd=True)
    return found


def _strings(book: zipfile.ZipFile) -> list[str]:
    """The texts that cells point to."""
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    return [_text_in(each) for each in _part(book, "xl/sharedStrings.xml").iter(f"{_MAIN}si")]


def _text_in(element: "Element") -> str:
    """The text of an element, without how it is read aloud."""
    aloud = {each for phonetic in element.iter(f"{_MAIN}rPh") for each in phonetic.iter(f"{_MAIN}t")}
    return "".join(each.text or "" for each in element.iter(f"{_MAIN}t") if each not in aloud)


def _kinds(book: zipfile.ZipFile) -> Sequence[str]:
    """By a cell's style: ``date``, ``time``, or empty."""
    if "xl/styles.xml" not in book.namelist():
        return ()
    root = _part(book, "xl/styles.xml")
    own = {each.get("numFmtId"): each.get("formatCode", "") for each in root.iter(f"{_MAIN}numFmt")}
    styles = root.find(f"{_MAIN}cellXfs")
    return () if styles is None else [_kind(each.get("numFmtId", "0"), own) for each in styles]


def _kind(number: str, own: Mapping[str | None, str]) -> str:
    """What a number format shows of a number."""
    if number in own:
        shown = _QUOTED.sub("", own[number]).lower()
        return "date" if re.search("[yd]", shown) else "time" if re.search("[hs]", shown) else ""
    return "date" if int(number) in _DATE_FORMATS else "time" if int(number) in _TIME_FORMATS else ""


def _column(reference: str | None, place: int) -> int:
    """The column of a cell named like ``AB12``, from 0."""
    letters = re.match("[A-Z]+", reference or "")
    if letters is None:
        return place
    number = 0
    for letter in letters[0]:
        number = 26 * number + ord(letter) - 64
        if number > _MOST_COLUMNS:
            raise ValueError(reference)
    return number - 1


def _cell(cell: "Element", strings: Sequence[str], kinds: Sequence[str], since: datetime) -> str:
    """A cell as text."""
    inline = cell.find(f"{_MAIN}is")
    if inline is not None:
        return _text_in(inline)
    value = cell.find(f"{_MAIN}v")
    text = "" if value is None else value.text or ""
    kind = cell.get("t", "n")
    if kind == "s" and text:
        return strings[int(text)]
    if kind == "b":
        return "yes" if text == "1" else "no"
    if kind in ("str", "d", "e") or not text:
        return text
    style = int(cell.get("s", "0"))
    return _number(text, kinds[style] if style < len(kinds) else "", since)


def _number(text: str, shows: str, since: datetime) -> str:
    """A number as its format shows it."""
    value = float(text)
    if shows:
        moment = since + timedelta(seconds=round(value * 86_400))
        if shows == "time" or value < 1:
            return f"{moment:%H:%M:%S}"
        return f"{moment:%Y-%m-%d}" if value == int(value) else f"{moment:%Y-%m-%d %H:%M:%S}"
    return f"{value:.10g}"
