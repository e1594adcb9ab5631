"""The answer first: the figures of a sheet that say most, with their bounds, above everything else.

At most three, in this order, of those that are given:

1. the protocol's primary figure, or results entered by hand where that is one: the test is given for it;
2. the mean share of the reserve: how hard the heart worked, against this student's own rest and maximum, which is what
   an adapted test can tell best;
3. the rise over rest: the same question where there is no maximum, or none that is valid for the student;
4. the moving time, then the time in the target band, then the longest movement: how long it was kept up;
5. mean and highest heart rate, then the beats: without a rest they say little, but they are never withheld for a
   condition.

Movement of a sensor on a chair is floor, speed and motor: it stands here only where the protocol names it, and is
called the chair's.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...words.vocabulary import MOTION_FIGURES, ON_CHAIR
from ..page import Block, Heading, Table
from ..words import Words
from .figure_text import bounds_text, capital, label, value_of, value_text

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet

MOST = 3
ORDER = (
    *("reserve_mean", "heart_rate_rise", "moving_time", "time_on_target", "longest_moving"),
    *("heart_rate_mean", "heart_rate_peak", "beats_total"),
)
SHARES = (46.0, 27.0, 27.0)
Row = tuple[str, str, str]


def most_useful(sheet: "EffortSheet | None", primary: str = "") -> tuple[str, ...]:
    """Names of the figures that stand first; ``primary`` is the protocol's."""
    if sheet is None:
        return ()
    wanted = [primary, *(name for name in ORDER if not (name in MOTION_FIGURES and on_chair(sheet)))]
    given = [name for name in dict.fromkeys(wanted) if value_of(sheet.figures, name) is not None]
    return tuple(given[:MOST])


def on_chair(sheet: "EffortSheet") -> bool:
    """Whether movement is that of a sensor on the chair."""
    movement = sheet.provenance.movement
    return movement is not None and movement.placement in ON_CHAIR


def in_short(
    sheet: "EffortSheet | None", by_hand: Sequence[tuple[str, str]], words: Words, *, primary: str, family: bool
) -> Iterator[Block]:
    """A heading and a table of the figures that stand first, or nothing.

    by_hand : label and value of the primary measure's results, where it is entered by hand
    """
    rows: list[Row] = [(name, value, "") for name, value in by_hand[:MOST]]
    if sheet is not None:
        rows += [_row(name, sheet, words, family=family) for name in most_useful(sheet, primary)]
    if not rows:
        return
    rows = rows[:MOST]
    head = [words.get(f"effort.{each}") for each in ("figure", "value", "bounds")]
    bounded = any(row[2] for row in rows)
    if bounded:
        rows = [(*row[:2], row[2] or words.get("effort.bounds_none")) for row in rows]
    kept = 3 if bounded else 2
    title = words.get("effort.in_short")
    yield Heading(title)
    yield Table(title, tuple(head[:kept]), tuple(row[:kept] for row in rows), shares=SHARES[:kept])


def _row(name: str, sheet: "EffortSheet", words: Words, *, family: bool) -> Row:
    figure = sheet.figures[name]
    said = label(name, words)
    if name in MOTION_FIGURES and on_chair(sheet):
        said = words.get("effort.of_chair", figure=said)
    return (
        capital(said),
        value_text(name, figure, words, family=family),
        bounds_text(name, figure, words, family=family),
    )
