"""The answer first: the figures of a sheet that say most, with their bounds, above everything else.

At most three, in this order, of those that are given:

1. the time above the ceiling, or the possible time, where it is not nothing: it must not be overlooked;
2. the protocol's primary figure, or results entered by hand where that is one: the test is given for it. Where it is
   not given, the reason stands in its place;
3. the mean share of the reserve: how hard the heart worked, against this student's own rest and maximum, which is what
   an adapted test can tell best;
4. the rise over rest: the same question where there is no maximum, or none that is valid for the student;
5. the moving time, then the time in the target band, then the longest movement: how long it was kept up;
6. mean and highest heart rate, then the beats: without a rest they say little, but they are never withheld for a
   condition.

Movement of a sensor on a chair is floor, speed and motor: it stands here only where the protocol names it, and is
called the chair's.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...words.vocabulary import MOTION_FIGURES, ON_CHAIR
from ..page import Block, Heading, Table
from ..words import Words
from .figure_text import bounds_text, capital, label, plain_units, value_of, value_text

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet, Figure

MOST = 3
CERTAIN, POSSIBLE = "time_above_ceiling", "possible_above_ceiling"
ORDER = (
    *("reserve_mean", "heart_rate_rise", "moving_time", "time_on_target", "longest_moving"),
    *("heart_rate_mean", "heart_rate_peak", "beats_total"),
)
SHARES = (46.0, 27.0, 27.0)
Row = tuple[str, str, str]


def most_useful(sheet: "EffortSheet | None", primary: str = "") -> tuple[str, ...]:
    """Names of the figures that stand first; ``primary`` is the protocol's, named although it is not given."""
    if sheet is None:
        return ()
    first = crossed(sheet)
    usual = [name for name in ORDER if not (name in MOTION_FIGURES and on_chair(sheet))]
    given = [name for name in usual if value_of(sheet.figures, name) is not None]
    wanted = [*([first] if first else ()), *([primary] if primary in sheet.figures else ()), *given]
    return tuple(dict.fromkeys(wanted))[:MOST]


def crossed(sheet: "EffortSheet | None") -> str | None:
    """The figure that tells of a heart rate above the ceiling: a certain crossing, else a possible one; else None."""
    if sheet is None:
        return None
    if (value_of(sheet.figures, CERTAIN) or 0) > 0:
        return CERTAIN
    return POSSIBLE if sheet.provenance.possible_crossings and POSSIBLE in sheet.figures else None


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
    rows: list[Row] = [(name, value, "") for name, value in by_hand]
    if sheet is not None:
        told = [_row(name, sheet, words, family=family) for name in most_useful(sheet, primary)]
        before = 1 if crossed(sheet) else 0
        rows = told[:before] + rows + told[before:]
    if not rows:
        return
    rows = rows[:MOST]
    head = [words.get(f"effort.{each}") for each in ("figure", "value", "bounds")]
    bounded = any(row[2] not in ("", words.get("form.dash")) for row in rows)
    if bounded:
        rows = [(*row[:2], row[2] or words.get("effort.bounds_none")) for row in rows]
    kept = 3 if bounded else 2
    title = words.get("effort.in_short")
    yield Heading(title)
    yield Table(title, tuple(head[:kept]), tuple(row[:kept] for row in rows), shares=SHARES[:kept])


def _row(name: str, sheet: "EffortSheet", words: Words, *, family: bool) -> Row:
    figure = sheet.figures[name]
    said = label(name, words)
    if figure.value is None:
        return capital(said), _why_not(figure, words, family=family), words.get("form.dash")
    if name in MOTION_FIGURES and on_chair(sheet):
        said = words.get("effort.of_chair", figure=said)
    moment = name == POSSIBLE and figure.value == 0
    return (
        capital(said),
        words.get("effort.a_moment") if moment else value_text(name, figure, words, family=family),
        bounds_text(name, figure, words, family=family),
    )


def _why_not(figure: "Figure", words: Words, *, family: bool) -> str:
    """That a figure is not given, and why."""
    told = None if figure.reason is None else words.reason(figure.reason)
    plain = words.get("effort.why_untold") if told is None else plain_units(told, words, family=family)
    return words.get("effort.first_not_given", why=plain)
