"""Where the table stands in a text: delimiter, decimal sign, header, first row. Shared by ``sniff`` and ``read``.

Looks at the first lines only. What the columns hold is decided elsewhere.
"""

import csv
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from .columns import BARE, recognise
from .units import unit_of

SAMPLE_LINES = 320
"""Lines looked at: a preamble of up to 200 lines, and enough rows behind it to tell the pattern."""

_DELIMITERS = ("\t", ";", ",", "|", " ")
_LONGEST_LINE = 20_000
_NUMBER = re.compile(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?")
_STAMP = re.compile(r"(?=.{4,40}$)\d{1,4}(?:[-/.]\d{1,2}[-/.]\d{1,4}|:\d\d|\d{4}T\d)[-\d :./,+TZAPMUGCapmdys]*")
_POINT = r"[-+]?\d{1,15}(?:\.\d{0,15})?"
_PLAIN = {sign: re.compile(rf"(?:{_POINT}{re.escape(sign)})+{_POINT}") for sign in _DELIMITERS[:-1]}
"""A line of nothing but short numbers with points, without blanks and quotes: no cell of it needs a look of its own."""

_KEY = re.compile(r"[^\W\d_][\w .:/&#-]{0,39}")
_NOTHING = frozenset(("", "na", "nan", "null", "none", "n/a", "-", "--"))
_FOLLOWING = 12
_FOR_DECIMAL = 100
_SHARE_OF_ROWS = 0.8
_SHARE_BELOW_HEADER = 0.5
_FEWEST_ROWS = 3
_FEWEST_VALUES = 0.2
_POWER = 4
"""Rows count by this power of their share of numbers: nine rows outweigh sixty lines of a key and a number."""

_FORMAT = re.compile(r"%|(?:[dmyhsaf]{1,4}[-/.: ,t]*){2,}", re.IGNORECASE)
"""What stands in a line of units and is none: a percent, and how dates and times are written, dd/mm/yyyy hh:mm:ss."""

_MOST_CELLS = 300
_MOST_HEADERS = 40
_SHARE_OF_KEYS = 0.95
_KEY_LINES = 20


@dataclass(frozen=True, slots=True)
class Layout:
    """``header`` is None where the table has none; ``first_line`` counts lines from 0; ``width`` is in cells.

    ``sample`` holds the cells of the first rows, ``rows_share`` how many of the lines from the first row on look
    like rows, ``numeric`` how many columns hold numbers or stamps.
    """

    delimiter: str
    decimal: str
    header: tuple[str, ...] | None
    first_line: int
    width: int
    sample: tuple[tuple[str, ...], ...]
    rows_share: float
    numeric: int

    @property
    def names(self) -> tuple[str, ...]:
        """One header for each column, '' where there is none."""
        return self.header or ("",) * self.width


def find_layout(lines: Sequence[str]) -> Layout | None:
    """Find the table in a text's first lines; None if there is none."""
    lines = [line if len(line) <= _LONGEST_LINE else "" for line in lines[:SAMPLE_LINES]]
    best: tuple[float, Layout] | None = None
    for delimiter in _DELIMITERS:
        if best and delimiter == " ":
            break
        found = _with_delimiter(lines, delimiter)
        if found and (best is None or found[0] > best[0]):
            best = found
    return best[1] if best else _one_column(lines)


def is_table(lines: Sequence[str]) -> bool:
    """Tell whether lines are a table: numeric rows to the end, or a header that is understood."""
    layout = find_layout(lines)
    return (layout is not None and _is_sure(layout)) or _header_only(lines) or _keys_only(lines)


def _is_sure(layout: Layout) -> bool:
    """Tell whether rows go on to the end, below a header that is understood, or nearly all cells are numbers."""
    mostly_numbers = layout.numeric > 1 and 3 * layout.numeric >= 2 * layout.width
    found = [recognise(header) for header in layout.header or ()]
    understood = any(column is not None and not column.part.startswith(BARE) for column in found)
    if understood and (mostly_numbers or layout.delimiter != " "):  # blanks part the words of prose as well
        return layout.rows_share >= _SHARE_BELOW_HEADER
    return mostly_numbers and layout.rows_share >= _SHARE_OF_ROWS and len(layout.sample) >= _FEWEST_ROWS


def is_number(cell: str) -> bool:
    """Tell whether a cell is a number, with a decimal point or comma."""
    return len(cell) <= 40 and _NUMBER.fullmatch(cell) is not None


def _is_value(cell: str) -> bool:
    """Tell whether a cell is a number or a time stamp."""
    return is_number(cell) or _STAMP.fullmatch(cell) is not None


def _cells(line: str, delimiter: str) -> list[str]:
    """Part a line, with its quotes."""
    if delimiter == " ":
        return line.split()
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
        except (csv.Error, StopIteration):
            line = line.replace('"', "")
    return [cell.strip() for cell in line.split(delimiter)]


def _with_delimiter(lines: Sequence[str], delimiter: str) -> tuple[float, Layout] | None:
    """The table that this delimiter would give, and how well its cells are numbers."""
    if not any(delimiter in line for line in lines):
        return None
    looked_at = [_looked_at(line, delimiter) for line in lines]
    rows, values = [row for row, _ in looked_at], [value for _, value in looked_at]
    shares = [_share(row, value) for row, value in zip(rows, values, strict=True)]
    weights: dict[int, float] = defaultdict(float)
    for row, share in zip(rows, shares, strict=True):
        if share >= _FEWEST_VALUES:
            weights[len(row)] += share**_POWER
    if not weights:
        return None
    width = max(weights, key=lambda size: (weights[size], size))
    alike = [number for number, share in enumerate(shares) if share >= _FEWEST_VALUES and len(rows[number]) == width]
    if width < 2:
        return None
    trust = [shares[n] ** _POWER for n in alike]
    numeric = [
        sum(weight for n, weight in zip(alike, trust, strict=True) if values[n][column]) >= 0.6 * sum(trust)
        for column in range(width)
    ]
    wanted = [number for number, is_numeric in enumerate(numeric) if is_numeric]
    strict = [len(row) == width and _fits(row, value, wanted) for row, value in zip(rows, values, strict=True)]
    first = _first_row(strict, [bool(row) and any(row) for row in rows])
    if first is None:
        return None
    header, begin = _header(rows, values, first, width)
    sample = tuple(tuple(row) for row in rows[begin:] if len(row) == width)
    filled = [strict[n] for n in range(begin, len(rows)) if lines[n].strip()]
    decimal = _decimal(sample)
    layout = Layout(delimiter, decimal, header, begin, width, sample, sum(filled) / len(filled), sum(numeric))
    return sum(shares[n] for n in alike), layout


def _looked_at(line: str, delimiter: str) -> tuple[list[str], list[bool]]:
    """The cells of a line, and which of them are values; none where it holds no delimiter, or very many."""
    count = line.count(delimiter)
    if not 0 < count < _MOST_CELLS:
        return [], []
    if delimiter in _PLAIN and _PLAIN[delimiter].fullmatch(line):
        return line.split(delimiter), [True] * (count + 1)
    row = _cells(line, delimiter)
    return row, [_is_value(cell) for cell in row]


def _share(row: Sequence[str], value: Sequence[bool]) -> float:
    """Share of a row's filled cells that are values; 0 for fewer than two cells."""
    if len(row) > 1 and all(value):
        return 1.0
    filled = sum(cell.lower() not in _NOTHING for cell in row)
    return sum(value) / filled if len(row) > 1 and filled else 0.0


def _fits(row: Sequence[str], value: Sequence[bool], wanted: Sequence[int]) -> bool:
    """Tell whether the columns that hold numbers elsewhere mostly hold some here, or nothing."""
    if all(value):
        return bool(wanted)
    good = sum(value[number] or row[number].lower() in _NOTHING for number in wanted)
    return 2 * good > len(wanted) and any(value[number] for number in wanted)


def _first_row(strict: Sequence[bool], filled: Sequence[bool]) -> int | None:
    """The first row behind which rows follow; key and value lines of a preamble do not."""
    for number, is_row in enumerate(strict):
        if is_row:
            behind = list(islice((strict[n] for n in range(number, len(strict)) if filled[n]), _FOLLOWING))
            if sum(behind) >= 0.6 * len(behind):
                return number
    return None


def _header(
    rows: Sequence[Sequence[str]], values: Sequence[Sequence[bool]], first: int, width: int
) -> tuple[tuple[str, ...] | None, int]:
    """The header above the first row, with a line of units below it joined in, and the line the rows begin on."""
    above: list[int] = []
    begin = first
    sizes = (width,) if rows[first][-1] else (width, width - 1)  # rows may end in a delimiter that headers do not
    for number in range(first - 1, max(first - 8, -1), -1):
        if not any(rows[number]):
            continue
        if len(rows[number]) not in sizes:
            break
        texts = sum(bool(cell) for cell in rows[number]) - sum(values[number])
        if 2 * sum(values[number]) >= max(texts, 1) or (values[number][0] and width > 1):
            begin = number
            continue
        above.append(number)
    if not above:
        return None, begin
    names = [*rows[above[0]], ""][:width]
    if len(above) > 1 and _are_units(names):
        upper = [*rows[above[1]], ""][:width]
        units = ["" if _FORMAT.fullmatch(each) else each for each in names]
        names = [f"{name} ({unit})" if unit else name for name, unit in zip(upper, units, strict=True)]
    names[0] = names[0].lstrip("#/ ")
    return tuple(names), above[0] + 1


def _are_units(cells: Sequence[str]) -> bool:
    """Tell whether a line below a header holds units and nothing else."""
    filled = [cell.strip("()[]") for cell in cells if cell]
    known = sum(unit_of(cell) is not None or _FORMAT.fullmatch(cell) is not None for cell in filled)
    return known > 0 and 2 * known >= len(filled)


def _decimal(sample: Sequence[Sequence[str]]) -> str:
    """Point or comma, by which more numbers use."""
    if not any("," in cell for row in sample[:_FOR_DECIMAL] for cell in row):
        return "."
    numbers = [cell for row in sample[:_FOR_DECIMAL] for cell in row if is_number(cell)]
    commas = sum("," in cell for cell in numbers)
    return "," if commas > sum("." in cell for cell in numbers) else "."


def _one_column(lines: Sequence[str]) -> Layout | None:
    """A single column of numbers below a header that is understood."""
    filled = [(number, line.strip().strip('"')) for number, line in enumerate(lines) if line.strip()]
    for at, (number, header) in enumerate(filled[:-1]):
        if is_number(header) or not is_number(filled[at + 1][1]) or recognise(header) is None:
            continue
        sample = tuple((cell,) for _, cell in filled[at + 1 :])
        share = sum(is_number(row[0]) for row in sample) / len(sample)
        return Layout("\t", _decimal(sample), (header,), number + 1, 1, sample, share, 1)
    return None


def _header_only(lines: Sequence[str]) -> bool:
    """Tell whether a header of which two columns are understood, one of them a quantity, is all there is."""
    filled = [line for line in lines if line.strip() and not line.startswith("#")]
    if len(filled) != 1 or len(filled[0]) > _LONGEST_LINE:
        return False
    found = [[recognise(cell) for cell in _cells(filled[0], sign)[:_MOST_HEADERS]] for sign in _DELIMITERS[:-1]]
    known = [len({column.part for column in columns if column}) for columns in found]
    return any(count > 1 and 2 * count >= len(columns) for count, columns in zip(known, found, strict=True))


def _keys_only(lines: Sequence[str]) -> bool:
    """Tell whether a long preamble of ``key,value`` lines fills what is seen of the file."""
    filled = [line for line in lines if line.strip()]
    for delimiter in _DELIMITERS[:3]:
        pairs = [line.split(delimiter) for line in filled]
        keys = [pair for pair in pairs if len(pair) == 2 and _KEY.fullmatch(pair[0])]
        answered = sum(bool(pair[1].strip()) for pair in keys)
        if len(filled) >= _KEY_LINES and len(keys) >= _SHARE_OF_KEYS * len(filled) and 2 * answered > len(keys):
            return True
    return False
