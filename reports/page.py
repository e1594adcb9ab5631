"""A page as a value: what it says, in order, and nothing of how it looks. ``html`` and ``pdf`` both render it.

Every text is plain text: what looks like markup in it is shown as it stands.
"""

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur", "pseudo"})
_AMOUNT = re.compile(r"(?<=\d) (?=(?:s|min|m|cm|kg|kPa|h)\b|%|/m|°C)")


def kept_together(text: str) -> str:
    """The text with numbers and their units on one line."""
    return _AMOUNT.sub("\u00a0", text)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 2 stands below the title, level 3 below that."""

    text: str
    level: Literal[2, 3] = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph. ``lead``: the one that sums up; ``small``: what only some readers look for."""

    text: str
    kind: Literal["plain", "lead", "small"] = "plain"


@dataclass(frozen=True, slots=True)
class Listing:
    """A list. ``links``: the file beside the page that each item leads to, where it leads to one."""

    items: tuple[str, ...]
    links: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.links and len(self.links) != len(self.items):
            raise ValueError("every item of a list leads somewhere, or none does")


@dataclass(frozen=True, slots=True)
class Tick:
    """A line to tick off: what, how, and in words what hangs on it."""

    label: str
    value: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Checklist:
    """Lines with a box before each; ``name`` tells what the list is of."""

    name: str
    items: tuple[Tick, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table with one header row; the first cell of a row names it.

    units : unit of each column, empty where the cells state their own
    numeric : columns whose cells are numbers alone
    shares : of the width for each column; without them the cells decide
    by_hand : to be written into with a pen: tall rows, a line around each cell
    """

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    units: tuple[str, ...] = ()
    numeric: tuple[int, ...] = ()
    shares: tuple[float, ...] = ()
    by_hand: bool = False

    def __post_init__(self) -> None:
        width = len(self.header)
        given = [each for each in (*self.rows, self.units, self.shares) if each]
        if any(len(each) != width for each in given):
            raise ValueError("every row of a table has as many cells as its header")

    def heads(self) -> tuple[str, ...]:
        """Header cells with their units."""
        units = self.units or ("",) * len(self.header)
        return tuple(f"{head} ({unit})" if unit else head for head, unit in zip(self.header, units, strict=True))

    def widths(self) -> tuple[float, ...]:
        """Share of the width for each column: as stated, or by what it holds, within limits."""
        if self.shares:
            return self.shares
        found = []
        for place, head in enumerate(self.heads()):
            cells = sorted((row[place] for row in self.rows), key=len)
            usual = len(cells[int(0.8 * len(cells))]) if cells else 0
            word = max((len(each) for text in (head, *cells) for each in text.split()), default=1)
            found.append(max(min(usual, 44.0), min(word * 1.15, 24.0), min(len(head) * 0.55, 14.0), 5.0))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture and its text equivalent. ``phone_svg`` is the same for a narrow screen."""

    svg: bytes
    alt: str
    caption: str
    phone_svg: bytes | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """A text set apart: a verdict, or something that must not be overlooked. ``title`` names it in words."""

    kind: Literal["verdict", "attention"]
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Blank:
    """Lines to write on by hand, each behind its label."""

    labels: tuple[str, ...]


Block: TypeAlias = Heading | Paragraph | Listing | Checklist | Table | Picture | Note | Blank


@dataclass(frozen=True, slots=True)
class Page:
    """One page, however many sheets of paper it takes.

    language : as in "en"; of the page's own words
    footer : small lines at its end: files, rounding, what made it
    running : what stands at the foot of each sheet of paper, beside its number
    sheet_of : words for the sheet's number, with {number} and {total}
    """

    title: str
    language: str
    subtitle: str
    blocks: tuple[Block, ...]
    footer: tuple[str, ...] = ()
    running: str = ""
    sheet_of: str = "{number} / {total}"

    @property
    def direction(self) -> Literal["ltr", "rtl"]:
        """Which way the page's own words run."""
        return "rtl" if self.language in RIGHT_TO_LEFT else "ltr"
