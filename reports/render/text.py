"""A page as text for a terminal: the same blocks in the same order, a table in columns where it fits.

Widths count characters as a terminal shows them: wide ones as two, joined ones as none.
"""

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence

from ..page import Blank, Block, Checklist, Heading, Listing, Note, Page, Paragraph, Picture, Table

WIDTH = 100
GAP = "  "
LEAST_COLUMN = 8
"""A column narrower than this cannot be read: the table's rows are then written one below the other."""
_LINE = "_" * 30


def to_text(page: Page, width: int = WIDTH) -> str:
    """The page, ending without a line break.

    width : of the terminal, in characters; a word longer than it is broken
    """
    parts = [_wrapped(page.title, width)]
    if page.subtitle:
        parts[0] += f"\n{_wrapped(page.subtitle, width)}"
    for block in page.blocks:
        text = _block(block, width)
        if not text:
            continue
        if isinstance(block, Heading) and block.level == 2:
            text = f"\n{text}"
        under = parts and isinstance(block, Table | Listing | Checklist | Blank) and _is_heading(page.blocks, block)
        if under:
            parts[-1] += f"\n{text}"
        else:
            parts.append(text)
    if page.footer:
        parts.append("\n".join(_wrapped(line, width) for line in page.footer))
    return "\n\n".join(parts).replace("\n\n\n", "\n\n")


def _is_heading(blocks: Sequence[Block], block: Block) -> bool:
    """Whether a heading stands right before the block."""
    place = next(place for place, each in enumerate(blocks) if each is block)
    return place > 0 and isinstance(blocks[place - 1], Heading)


def _block(block: Block, width: int) -> str:
    match block:
        case Heading():
            return _wrapped(block.text, width)
        case Paragraph():
            return _wrapped(block.text, width)
        case Listing():
            return "\n".join(_wrapped(item, width, first="- ", hang="  ") for item in block.items)
        case Checklist():
            return "\n".join(_tick(each.label, each.mark, each.value, width) for each in block.items)
        case Table():
            return _table(block, width)
        case Picture():
            return _wrapped(block.alt, width)
        case Note():
            return "\n".join(part for part in (_wrapped(block.title, width), _wrapped(block.text, width)) if part)
        case Blank():
            return "\n".join(f"{label}: {_LINE}" for label in block.labels)


def _tick(label: str, mark: str, value: str, width: int) -> str:
    marked = f"{label} ({mark})" if mark else label
    return _wrapped(f"{marked}: {value}", width, first="[ ] ", hang="    ")


def _table(block: Table, width: int) -> str:
    """Columns, or where they do not fit a line for each cell."""
    rows = [block.heads(), *block.rows]
    widths = _column_widths(rows, width)
    if widths is None:
        return "\n".join(_stacked(block, width))
    return "\n".join(line for row in rows for line in _row(row, widths, block.numeric))


def _column_widths(rows: Sequence[Sequence[str]], width: int) -> list[int] | None:
    """A width for each column, the widest ones narrowed until the row fits; None if it cannot be read then."""
    places = range(len(rows[0]))
    wanted = [max(_cells(row[place]) for row in rows) for place in places]
    least = [max(max((_cells(word) for row in rows for word in row[place].split()), default=0), 1) for place in places]
    room = width - len(GAP) * (len(wanted) - 1)
    while sum(wanted) > room:
        widest = wanted.index(max(wanted))
        others = sorted(wanted)[-2] if len(wanted) > 1 else 0
        wanted[widest] = max(others - 1, wanted[widest] - (sum(wanted) - room), 1)
        if wanted[widest] < max(LEAST_COLUMN, min(least[widest], width)):
            return None
    return wanted


def _row(row: Sequence[str], widths: Sequence[int], numeric: Sequence[int]) -> Iterator[str]:
    """A row of a table, as many lines as its longest cell takes."""
    cells = [_lines(text, wide) for text, wide in zip(row, widths, strict=True)]
    for number in range(max(len(lines) for lines in cells)):
        line = []
        for place, (lines, wide) in enumerate(zip(cells, widths, strict=True)):
            text = lines[number] if number < len(lines) else ""
            pad = " " * (wide - _cells(text))
            line.append(pad + text if place in numeric else text + pad)
        yield GAP.join(line).rstrip()


def _stacked(block: Table, width: int) -> Iterator[str]:
    heads = block.heads()
    for row in block.rows:
        yield _wrapped(f"{heads[0]}: {row[0]}" if heads[0] else row[0], width)
        for head, cell in zip(heads[1:], row[1:], strict=True):
            if cell or block.by_hand:
                yield _wrapped(f"{head}: {cell or _LINE}", width, first="  ", hang="    ")


def _wrapped(text: str, width: int, *, first: str = "", hang: str = "") -> str:
    """Text in lines of the width, each paragraph by itself."""
    found = []
    for place, part in enumerate(text.split("\n")):
        begin = hang if place else first
        lines = _lines(part, width - max(len(begin), len(hang)))
        found += [f"{hang if number else begin}{line}".rstrip() for number, line in enumerate(lines)]
    return "\n".join(found)


def _lines(text: str, width: int) -> list[str]:
    """Lines of at most so many characters as a terminal shows them."""
    plain = " ".join(text.replace("\u00a0", " ").split(" "))
    if _cells(plain) == len(plain):
        return textwrap.wrap(plain, max(width, 1), break_on_hyphens=False) or [""]
    lines, now = [], ""
    for word in (part for each in plain.split() for part in _broken(each, width)):
        longer = f"{now} {word}" if now else word
        if _cells(longer) <= width or not now:
            now = longer
        else:
            lines.append(now)
            now = word
    return [*lines, now]


def _broken(word: str, width: int) -> Iterator[str]:
    """A word, in pieces where it is wider than a line."""
    piece = ""
    for character in word:
        if piece and _cells(piece + character) > max(width, 1):
            yield piece
            piece = ""
        piece += character
    yield piece


def _cells(text: str) -> int:
    """How many places of a terminal the text takes."""
    if text.isascii():
        return len(text)
    return sum(_places(each) for each in text)


def _places(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1
