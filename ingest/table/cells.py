"""The bulk of a table: from text to columns of numbers and of time stamps, with what could not be read counted.

pandas parses; here stand the repairs that keep one damaged line from costing more than itself.
"""

import csv
import re
import warnings
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile
from .. import refusal_messages as refused
from .layout import Layout, is_number

if TYPE_CHECKING:
    import pandas as pd


_PIECE = 1 << 18  # signs that are handed to pandas at a time
_IN_PIECES = 1 << 24
"""A text of more signs is parsed in pieces, which takes a tenth longer and half the memory; one whose cells may be no
numbers always, as what pandas makes of a mixed column depends on it."""
_FIRST_ROWS = 50
_LONG = 100  # signs of one cell from which it is no number: reading one of 4,000 digits takes a thousand times as long
_ENDLESS = re.compile(rf"\d{{{_LONG},}}")
_EIGHT, _ALL_EIGHT = 8, np.uint64(0x0101010101010101)
_LOOKED_AT = 1 << 16  # signs at a time, so that what is made of them stays in the processor's cache


@dataclass(frozen=True, slots=True)
class Lines:
    """Where each row stands in the file; looked up only when a sentence needs it.

    ``begin`` is where the first row begins in the text, ``first_line`` its line, from 0.
    """

    text: str
    begin: int
    first_line: int
    blank: str

    def place(self, rows: NDArray[np.bool_]) -> tuple[int, int]:
        """How many rows are marked, and on which line the first stands."""
        return int(np.count_nonzero(rows)), self.number(int(np.argmax(rows)))

    def number(self, row: int) -> int:
        """The line, from 1, on which a row, from 0, stands; blank lines are no rows."""
        filled = (at for at, line in enumerate(self.text[self.begin :].split("\n")) if line.strip(self.blank))
        return self.first_line + 1 + next(islice(filled, row, None), row)


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """The rows of a table in the order of the file; blank lines are no rows.

    numbers : column number to ndarray, shape (n,), float64, or int64 for whole numbers without a gap; NaN where the
        cell is empty or no number; not to be written to
    unreadable : column number to ndarray of bool, shape (n,): the cell holds something that is no number
    texts : column number to list of n strings, for columns of time stamps; '' where the cell is empty
    too_long : ndarray of bool, shape (n,): more cells than the table has columns, so that none can be trusted
    """

    numbers: Mapping[int, NDArray[Any]]
    unreadable: Mapping[int, NDArray[np.bool_]]
    texts: Mapping[int, list[str]]
    too_long: NDArray[np.bool_]
    lines: Lines

    def __len__(self) -> int:
        return len(self.too_long)


def parse_cells(
    text: str, layout: Layout, numbers: Iterable[int], texts: Iterable[int], where: str, data: bytes = b""
) -> Cells:
    """Parse the columns that are used, from the first row to the end of the text.

    Parameters
    ----------
    data : the bytes that the text was made of; where they are its signs, they are parsed without being made again

    Raises
    ------
    DamagedFile
        If there is no row.
    """
    begin = _offset(text, layout.first_line)
    signs = data if _are_signs(data, text) else text
    mended = _without_endless(text, begin, signs)
    if mended is not text:
        signs = text = mended
    blank = " " if layout.delimiter == "\t" else " \t"
    wanted_texts = sorted(set(texts))
    used = sorted({*numbers, *wanted_texts})
    frame = _frame(text, signs, begin, layout, used, wanted_texts, blank)
    if frame is None or not len(frame):
        raise DamagedFile(refused.FILE_NO_ROWS, where=where, mend=refused.MEND_EXPORT_DEVICE)
    too_long = frame[layout.width].notna().to_numpy() if layout.width in frame else np.zeros(len(frame), bool)
    parsed = {
        column: _numbers(cast("pd.Series", frame[column]), layout.decimal)
        for column in used
        if column not in wanted_texts
    }
    return Cells(
        numbers={column: values for column, (values, _) in parsed.items()},
        unreadable={column: unreadable for column, (_, unreadable) in parsed.items()},
        texts={column: frame[column].fillna("").astype(str).tolist() for column in wanted_texts},
        too_long=too_long,
        lines=Lines(text, begin, layout.first_line, blank),
    )


def _are_signs(data: bytes, text: str) -> bool:
    """Whether a file's bytes are its text's signs, one for one: all ASCII, no line end rewritten, nothing before it."""
    return len(data) == len(text) and text.isascii() and b"\r" not in data


def _without_endless(text: str, begin: int, signs: str | bytes | None = None) -> str:
    """The text with a sign that is no number in place of numbers of a hundred digits and more.

    signs : the text, or the bytes that are its signs, whichever are at hand to be looked at
    """
    signs = text if signs is None else signs
    pieces = range(begin, len(signs), _LOOKED_AT)  # each with what the next one may go on with
    if any(_may_be_endless(signs[at : at + _LOOKED_AT + _LONG]) for at in pieces):
        return text[:begin] + _ENDLESS.sub("?", text[begin:])
    return text


def _may_be_endless(piece: str | bytes) -> bool:
    """Whether a hundred digits may stand in a row: false where there are none, and where there are fewer than 88.

    Looked at by eight signs: wherever a hundred begin, they fill eleven such stretches. Other alphabets have digits
    too, so what is not in ASCII may be one.
    """
    if isinstance(piece, bytes) or piece.isascii():
        signs = np.frombuffer(piece if isinstance(piece, bytes) else piece.encode("ascii"), np.uint8)
        digits = (signs - np.uint8(ord("0"))) < np.uint8(10)
    else:
        signs = np.frombuffer(piece.encode("utf-32-le", "surrogatepass"), np.uint32)
        digits = ((signs - np.uint32(ord("0"))) < np.uint32(10)) | (signs > np.uint32(127))
    whole = digits[: len(digits) // _EIGHT * _EIGHT].view(np.uint64)
    return _runs_on(whole == _ALL_EIGHT, (_LONG - _EIGHT + 1) // _EIGHT)


def _runs_on(marked: NDArray[np.bool_], length: int) -> bool:
    """Whether so many neighbours are marked, a power of two at a time."""
    have = 1
    while have < length:
        more = min(have, length - have)
        marked = marked[:-more] & marked[more:]
        have += more
    return bool(marked.any())


def _offset(text: str, line: int) -> int:
    """Where a line, from 0, begins."""
    at = 0
    for _ in range(line):
        at = text.find("\n", at) + 1
    return at


def _frame(
    text: str, signs: str | bytes, begin: int, layout: Layout, used: list[int], texts: list[int], blank: str
) -> "pd.DataFrame | None":
    """Parse, and parse again without the stray quotes if a quote has swallowed line ends or other cells."""
    if text.find('"', begin) < 0:
        return _parsed(signs, layout, used, texts, csv.QUOTE_NONE, begin)
    body = text[begin:]
    frame = _parsed(body, layout, used, texts, csv.QUOTE_MINIMAL)
    lines = body.split("\n")
    whole = frame is not None and len(frame) == sum(bool(line.strip(blank)) for line in lines)
    if whole and not any(line.count('"') % 2 for line in lines):  # a stray one takes the next cell into its own
        return frame
    mended = "\n".join(line if _closes(line, layout.delimiter) else line.replace('"', "") for line in lines)
    frame = _parsed(mended, layout, used, texts, csv.QUOTE_MINIMAL)
    return _parsed(body.replace('"', ""), layout, used, texts, csv.QUOTE_NONE) if frame is None else frame


def _closes(line: str, delimiter: str) -> bool:
    """Tell whether every quote that opens in a line closes in it."""
    if '"' not in line:
        return True
    try:
        next(csv.reader([line], delimiter=delimiter, skipinitialspace=True, strict=True), None)
    except csv.Error:
        return False
    return True


class _Rows:
    """What pandas reads from: a row of zeros, then the text in pieces, so that no copy of the whole is made."""

    def __init__(self, guard: str, text: str | bytes, begin: int) -> None:
        self._guard, self._text, self._at = guard, text, begin

    def read(self, size: int = -1) -> str | bytes:
        """The next signs, none at the end."""
        if self._guard:
            guard, self._guard = self._guard, ""
            return guard if isinstance(self._text, str) else guard.encode("ascii")
        piece = self._text[self._at : self._at + size] if size >= 0 else self._text[self._at :]
        self._at += len(piece)
        return piece

    def __iter__(self) -> Iterator[str | bytes]:
        """The pieces; pandas asks for this by name, and then calls ``read``."""
        while piece := self.read(_PIECE):
            yield piece


def _parsed(
    text: str | bytes, layout: Layout, used: list[int], texts: list[int], quoting: int, begin: int = 0
) -> "pd.DataFrame | None":
    """One pass of pandas' parser, None where it gives up.

    A row of zeros goes before the first: pandas takes the number of columns from it. It has one more than the table,
    so that a row with one cell more fills the last column, which is how too long rows are found; all longer ones fill
    it as well. Where every column is used, the quicker way without that column, for which a longer row is an error,
    is tried first.
    """
    import pandas as pd

    more = layout.width + 1
    tries: list[tuple[int, list[int] | None, bool]] = [(more, [*used, layout.width], True)]
    if len(used) == layout.width:
        tries.insert(0, (layout.width, None, bool(texts) or not _only_numbers(layout)))
    sign = " " if layout.delimiter == " " else layout.delimiter
    blanks = _has_blanks(text, begin)
    for width, columns, gaps in tries:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", pd.errors.DtypeWarning)  # each cell is judged below
                frame = pd.read_csv(
                    cast("Any", _Rows(sign.join("0" * width) + "\n", text, begin)),
                    sep=r"\s+" if sign == " " else sign,
                    decimal=layout.decimal,
                    header=None,
                    names=list(range(width)),
                    usecols=columns,
                    dtype=dict.fromkeys(texts, object),
                    na_filter=gaps,
                    quoting=quoting,
                    skipinitialspace=blanks,
                    skip_blank_lines=True,
                    index_col=False,
                    low_memory=gaps or len(text) - begin > _IN_PIECES,  # in pieces
                )
        except (pd.errors.ParserError, pd.errors.EmptyDataError, OverflowError):
            continue
        if gaps or all(kind.kind in "iuf" for kind in frame.dtypes):
            return frame.iloc[1:]
    return None


def _has_blanks(signs: str | bytes, begin: int) -> bool:
    if isinstance(signs, bytes):
        return signs.find(b" ", begin) >= 0 or signs.find(b"\t", begin) >= 0
    return signs.find(" ", begin) >= 0 or signs.find("\t", begin) >= 0


def _only_numbers(layout: Layout) -> bool:
    """Tell whether each cell of the first rows is a number, so that none need be held against the words for "none".

    If one further down is, its column comes out as text, and the table is parsed again.
    """
    return all(is_number(cell) for row in layout.sample[:_FIRST_ROWS] for cell in row)


def _numbers(column: "pd.Series", decimal: str) -> tuple[NDArray[Any], NDArray[np.bool_]]:
    """The numbers of a column of a frame, and which cells hold something else; infinity is no measurement."""
    import pandas as pd

    if column.dtype.kind == "i":
        return column.to_numpy(np.int64), np.zeros(len(column), bool)
    if column.dtype.kind in "fu":
        values = column.to_numpy(np.float64)
        finite = np.isfinite(values)
        if finite.all():
            return values, ~finite
    elif column.dtype.kind == "b":
        values = np.full(len(column), np.nan)
    else:
        cells = column.astype(str)
        cells = cells.str.replace(decimal, ".", regex=False) if decimal != "." else cells
        values = np.array(pd.to_numeric(cells, errors="coerce"), np.float64)
    values = np.where(np.isfinite(values), values, np.nan)
    return values, column.notna().to_numpy() & np.isnan(values)
