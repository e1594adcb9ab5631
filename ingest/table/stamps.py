"""Time stamps that are text: clock times, elapsed times and date-times, read for all rows at once.

Stamps of one shape (digits written as 0: ``0000-00-00 00:00:00``) have every field at the same place, so that a
few shapes are matched and the digits of all rows are then read as columns of bytes. ISO 8601, and the forms that
spreadsheets and loggers write.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

NS = 1_000_000_000
DAY_NS = 86_400 * NS

UNREADABLE, SHORT, LONG, HALF_DAY, LOCAL, ZONED, DAY = range(7)
"""MM:SS, HH:MM:SS, a clock with AM or PM, a date-time, a date-time with its zone, a date alone."""

_Number = Callable[..., NDArray[np.int64]]
_MOST_SHAPES = 200
_LONGEST = 48
_AT_A_TIME = 100_000  # rows: what is made of their bytes on the way is many times as large as they are
_FIRST_YEAR, _LAST_YEAR = 1970, 2199
_BLANK_AROUND = (" \n", "\n ", "\t\n", "\n\t")
_SIGN_DIGIT = bytes.maketrans(b"123456789", b"000000000")

_DATE = (
    r"(?:(?P<Y>0000)(?P<s1>[-/.])(?P<M>00?)(?P=s1)(?P<D>00?)|(?P<Yc>0000)(?P<Mc>00)(?P<Dc>00)"
    r"|(?P<a>00?)(?P<s2>[-/.])(?P<b>00?)(?P=s2)(?P<Yl>0000|00))"
)
_CLOCK = (
    r"(?:(?P<h>0{1,3}):(?P<m>00)(?::(?P<s>00)(?:(?P<mark>[.,:])(?P<f>0{1,12}))?)?|(?P<hc>00)(?P<mc>00)(?P<sc>00)"
    r"(?:[.,](?P<fc>0{1,12}))?)(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_OFFSET = r"(?: ?(?P<zone>[Zz]|UTC|GMT|(?:UTC|GMT)?(?P<sign>[-+])(?P<oh>00)(?::?(?P<om>00))?))?"
_FULL = re.compile(rf"{_DATE}(?:[Tt_]|, ?| {{1,3}}(?:- )?){_CLOCK}{_OFFSET}")
_TIME_ONLY = re.compile(
    r"(?:(?P<days>0{1,3}) days?,? )?(?P<h>0{1,3}):(?P<m>00):(?P<s>00)(?:(?P<mark>[.,:])(?P<f>0{1,12}))?"
    r"(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_MINUTES = re.compile(r"(?P<m>0{1,4}):(?P<s>00)(?:[.,](?P<f>0{1,12}))?(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?")
_DAY_ONLY = re.compile(_DATE)


@dataclass(frozen=True, slots=True, eq=False)
class Stamps:
    """Every row's stamp, each array of shape (n,).

    kind : one of the constants above
    ns : ndarray of int64  [ns] since midnight, or of the time that has passed
    year, month, day : ndarray of int64; 0 where the stamp has no date. Where ``open_order`` is true, ``day`` holds
        the first and ``month`` the second number of the date, and which is which is not yet known
    dotted : the open date is written with points and thereby day first [common practice in all of Europe]
    short_year : the open date's year has two digits
    offset_ns : [ns] east of Greenwich, for zoned stamps
    """

    kind: NDArray[np.int64]
    ns: NDArray[np.int64]
    year: NDArray[np.int64]
    month: NDArray[np.int64]
    day: NDArray[np.int64]
    open_order: NDArray[np.bool_]
    dotted: NDArray[np.bool_]
    short_year: NDArray[np.bool_]
    offset_ns: NDArray[np.int64]


def read_stamps(cells: Sequence[str]) -> Stamps:
    """Read stamps of any of the known shapes; a cell that has none of them is ``UNREADABLE``."""
    count = len(cells)
    kind, ns, year, month, day, offset_ns = (np.zeros(count, np.int64) for _ in range(6))
    open_order, dotted, short_year = (np.zeros(count, bool) for _ in range(3))
    stamps = Stamps(kind, ns, year, month, day, open_order, dotted, short_year, offset_ns)
    for begin in range(0, count, _AT_A_TIME):
        for shape, rows, digits in _by_shape(cells[begin : begin + _AT_A_TIME]):
            _read_shape(shape, rows + begin, digits, stamps)
    return stamps


def _by_shape(cells: Sequence[str]) -> list[tuple[str, NDArray[np.intp], NDArray[np.uint8]]]:
    """Rows of each shape, and their bytes, shape (rows, letters); the most common shapes only."""
    import pandas as pd

    joined = _one_a_line(cells)
    flat = joined.translate(_SIGN_DIGIT)
    first = flat.partition(b"\n")[0]
    if flat == b"\n".join([first] * len(cells)):
        known = 0 < len(first) <= _LONGEST
        return [(first.decode(), np.arange(len(cells)), _matrix(joined, len(cells), len(first)))] if known else []
    codes, unique = pd.factorize(np.array(flat.split(b"\n"), object))
    shapes: list[bytes] = list(unique)
    texts = np.array(joined.split(b"\n"), object)
    order = np.argsort(codes, kind="stable")
    sizes = np.bincount(codes, minlength=len(shapes))
    ends = np.cumsum(sizes)
    groups = []
    for code in np.argsort(-sizes, kind="stable")[:_MOST_SHAPES]:
        shape = shapes[code]
        if 0 < len(shape) <= _LONGEST:
            rows = order[ends[code] - sizes[code] : ends[code]]
            text = b"\n".join(texts[rows].tolist())
            groups.append((shape.decode(), rows, _matrix(text, len(rows), len(shape))))
    return groups


def _one_a_line(cells: Sequence[str]) -> bytes:
    """The cells as lines of ASCII, without blanks around them; each sign beyond ASCII becomes one ``?``."""
    joined = "\n".join(cells)
    if joined.count("\n") != len(cells) - 1:
        joined = "\n".join(cell.replace("\n", " ") for cell in cells)
    framed = f"\n{joined}\n"
    if any(pair in framed for pair in _BLANK_AROUND):
        joined = "\n".join(line.strip(" \t") for line in joined.split("\n"))
    return joined.encode("ascii", "replace")


def _matrix(joined: bytes, rows: int, letters: int) -> NDArray[np.uint8]:
    """Bytes of equally long lines as a matrix without the line feeds."""
    return np.frombuffer(joined + b"\n", np.uint8).reshape(rows, letters + 1)[:, :letters]


def _form_of(shape: str) -> tuple[re.Match[str], int] | None:
    """The form that a shape has, with the places of its fields."""
    for pattern, kind in ((_FULL, LOCAL), (_DAY_ONLY, DAY), (_TIME_ONLY, LONG), (_MINUTES, SHORT)):
        match = pattern.fullmatch(shape)
        if match is not None:
            return match, kind
    return None


def _read_shape(shape: str, rows: NDArray[np.intp], digits: NDArray[np.uint8], into: Stamps) -> None:
    """Read the rows of one shape into the arrays."""
    found = _form_of(shape)
    if found is None:
        return
    match, kind = found
    fields = match.groupdict()

    def number(*names: str) -> NDArray[np.int64]:
        present = next((name for name in names if fields.get(name)), None)
        return np.zeros(len(rows), np.int64) if present is None else _integer(digits[:, slice(*match.span(present))])

    good = np.ones(len(rows), bool)
    if kind != DAY:
        into.ns[rows], good = _clock(match, number, kind)
    if kind in (LOCAL, DAY):
        _date(fields, number, rows, into)
    if fields.get("half"):
        kind = kind if kind == LOCAL else HALF_DAY
    if fields.get("zone"):
        kind = ZONED
        east = -1 if fields.get("sign") == "-" else 1
        into.offset_ns[rows] = east * (number("oh") * 3600 + number("om") * 60) * NS
        good &= (number("oh") < 24) & (number("om") < 60)
    into.kind[rows] = np.where(good, kind, UNREADABLE)


def _clock(match: re.Match[str], number: _Number, kind: int) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Nanoseconds since midnight or since the start, and which are possible."""
    fields = match.groupdict()
    hour, minute, second = number("h", "hc"), number("m", "mc"), number("s", "sc")
    half = fields.get("half")
    if half:
        if kind == SHORT:  # "10:25 AM" is hours and minutes
            hour, minute, second = minute, second, np.zeros_like(second)
        afternoon = half in "Pp"  # "13:05 PM" and "00:05 AM" are written, too, and leave no doubt
        good = ((hour >= 1) & (hour <= 23) if afternoon else hour <= 12) & (minute < 60)
        hour = hour % 12 + (12 if afternoon else 0)
    elif kind == LOCAL:
        good = (hour < 24) & (minute < 60)
    else:
        good = (minute < 60) | (kind == SHORT)
    written = fields.get("f") or fields.get("fc") or ""
    fraction = number("f", "fc")
    if fields.get("mark") == ":":  # a colon parts whole milliseconds: 10:25:50:020, and 10:25:50:5 is 5 ms
        good &= fraction < 1000
        fraction *= NS // 1000
    else:
        size = min(len(written), 9)
        fraction *= 10 ** (9 - size)
    total = ((number("days") * 24 + hour) * 60 + minute) * 60 + second
    return total * NS + fraction, good & (second <= 60)


def _date(fields: dict[str, str | None], number: _Number, rows: NDArray[np.intp], into: Stamps) -> None:
    """Put the date's numbers into the arrays, with what is not known of their order."""
    into.year[rows] = number("Y", "Yc", "Yl")
    into.month[rows] = number("M", "Mc", "b")
    into.day[rows] = number("D", "Dc", "a")
    if fields.get("a"):
        into.open_order[rows] = True
        into.dotted[rows] = fields["s2"] == "."
        if fields["Yl"] == "00":
            into.short_year[rows] = True
            into.year[rows] += 2000


def _integer(digits: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Read columns of ASCII digits as whole numbers; digits of a fraction beyond the ninth are dropped."""
    total = np.zeros(len(digits), np.int64)
    for column in range(min(digits.shape[1], 9)):
        total *= 10
        total += digits[:, column] - np.uint8(48)
    return total


def days_since_1970(
    year: NDArray[np.int64], month: NDArray[np.int64], day: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Days from 1970-01-01 in the Gregorian calendar, and which dates exist between 1970 and 2199."""
    good = (year >= _FIRST_YEAR) & (year <= _LAST_YEAR) & (month >= 1) & (month <= 12) & (day >= 1)
    months = np.where(good, (year - 1970) * 12 + month - 1, 0)
    first = months.astype("M8[M]").astype("M8[D]").astype(np.int64)
    after = (months + 1).astype("M8[M]").astype("M8[D]").astype(np.int64)
    return first + day - 1, good & (day <= after - first)
