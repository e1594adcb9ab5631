"""The figures of a sheet as small tables, with what may be read wrongly said below them."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...words.vocabulary import GROUPS
from ..page import Block, Heading, Note, Paragraph, Table
from ..words import Words
from .figure_text import (
    bounds_text,
    capital,
    label,
    note_text,
    notes_beside,
    own_rhythm_text,
    plain_units,
    span,
    told_together,
    unit_words,
    value_of,
    value_text,
)
from .most_useful import on_chair

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet, Figure

MOST_POSSIBLE = 3
SHARES = (31.0, 20.0, 25.0, 24.0)
"""Width of label, value, bounds and note, in parts of a hundred."""
NARROW = (38.0, 20.0, 0.0, 42.0)
"""The same on a sheet without bounds."""


def figure_tables(sheet: "EffortSheet", words: Words, *, family: bool) -> list[Block]:
    """Every figure that is given, a small table a group."""
    bounded = any(bounds_text(name, figure, words) for name, figure in sheet.figures.items())
    widths = SHARES if bounded else NARROW
    return [each for name, names in GROUPS for each in _group(name, names, sheet, words, widths, family=family)]


def below_tables(sheet: "EffortSheet", tables: Sequence[Block], words: Words, *, family: bool) -> Iterator[Block]:
    """How the classes move with a predicted maximum, possible crossings, and what bounds are, where there are any."""
    yield from _shift(sheet, words, family=family)
    yield from _possible(sheet, words)
    if any(isinstance(each, Table) and words.get("effort.bounds") in each.header for each in tables):
        yield Paragraph(words.get("effort.bounds_text"), "small")
    if any(own_rhythm_text(name, figure, words) for name, figure in sheet.figures.items()):
        yield Paragraph(words.get("effort.own_rhythm_text"), "small")


def _group(
    name: str, names: Sequence[str], sheet: "EffortSheet", words: Words, widths: Sequence[float], *, family: bool
) -> Iterator[Block]:
    """A small group of figures as a table; columns that would be empty are left out."""
    figures = sheet.figures
    given = [each for each in names if value_of(figures, each) is not None]
    if not given:
        return
    title = words.get(f"effort.group_{_titled(name, sheet)}")
    rows = [
        (
            capital(label(each, words)),
            value_text(each, figures[each], words, family=family),
            bounds_text(each, figures[each], words, family=family),
            _beside(each, figures[each], words, family=family),
        )
        for each in given
    ]
    header = [words.get(f"effort.{each}") for each in ("figure", "value", "bounds", "note")]
    if any(row[2] for row in rows):
        rows = [(*row[:2], row[2] or words.get("effort.bounds_none"), row[3]) for row in rows]
    said = [_said(each, figures[each], words) for each in given]
    rows = [
        (*row[:3], words.get("effort.as_above")) if place and row[3] and said[place] == said[place - 1] else row
        for place, row in enumerate(rows)
    ]
    kept = [place for place in range(4) if any(row[place] for row in rows)]
    yield Heading(title, 3)
    yield Table(
        title,
        tuple(header[place] for place in kept),
        tuple(tuple(row[place] for place in kept) for row in rows),
        shares=_shares(kept, widths),
    )


def _beside(name: str, figure: "Figure", words: Words, *, family: bool) -> str:
    """What is said beside a figure: its narrower bounds, its note."""
    parts = (own_rhythm_text(name, figure, words, family=family), note_text(name, figure, words, family=family))
    return "; ".join(part for part in parts if part)


def _said(name: str, figure: "Figure", words: Words) -> object:
    """What is said beside a figure, as values: where two are equal, the second is as the first."""
    narrowed = bool(own_rhythm_text(name, figure, words))
    own = (figure.own_rhythm_low, figure.own_rhythm_high, figure.unit) if narrowed else None
    return own, notes_beside(name, figure)


def _titled(name: str, sheet: "EffortSheet") -> str:
    """The group's title, which says what a figure is not."""
    if name == "movement" and on_chair(sheet):
        return "chair"
    return "zones_maximum" if name == "zones" and sheet.provenance.zones_by == "maximum" else name


def _shares(kept: Sequence[int], widths: Sequence[float]) -> tuple[float, ...]:
    """Widths that are the same in every group, so that the columns of a sheet stand below each other."""
    shares = [widths[place] for place in kept]
    return (*shares[:-1], shares[-1] + sum(widths) - sum(shares))


def _shift(sheet: "EffortSheet", words: Words, *, family: bool) -> Iterator[Block]:
    """Times in the classes with a predicted maximum one standard error lower and higher."""
    made, basis = sheet.provenance, sheet.provenance.basis
    lower, higher = made.zones_if_maximum_is_one_see_lower, made.zones_if_maximum_is_one_see_higher
    if lower is None or higher is None or basis.maximum_bpm is None or basis.maximum_see_bpm is None:
        return
    unit = unit_words("", "/min", words, family=family)
    heads = [
        words.get(key, bpm=f"{words.number(bpm, 1)} {unit}")
        for key, bpm in (
            ("effort.shift_lower", lower.maximum_bpm),
            ("effort.shift_here", basis.maximum_bpm),
            ("effort.shift_lower", higher.maximum_bpm),
        )
    ]
    rows = tuple(
        (
            capital(label(name, words)),
            words.duration(low),
            value_text(name, sheet.figures[name], words),
            words.duration(higher.times_s[name]),
        )
        for name, low in lower.times_s.items()
    )
    yield Heading(words.get("effort.shift"), 3)
    yield Paragraph(words.get("effort.shift_text"))
    yield Table(words.get("effort.shift"), (words.get("effort.shift_class"), *heads), rows)
    if family:
        most = words.number(2 * basis.maximum_see_bpm)
        yield Paragraph(words.get("effort.predicted_family", most=most), "small")
        return
    mean = sheet.figures.get("reserve_mean")
    told = None if mean is None else told_together(mean.notes if mean.reason is None else (mean.reason,), words)
    if told:
        yield Paragraph(plain_units(told, words, family=family), "small")


def _possible(sheet: "EffortSheet", words: Words) -> Iterator[Block]:
    """Where the ceiling may have been passed, by readings that are in no figure, and why they are in none."""
    found = sheet.provenance.possible_crossings
    if not found:
        return
    told = [
        words.get(
            "effort.possible_span",
            span=span(each.from_s, each.until_s, words),
            rate=words.beats(each.highest_bpm),
            reasons=words.listed([words.get(f"rule.{rule}") for rule in each.rules]),
        )
        for each in found[:MOST_POSSIBLE]
    ]
    more = [words.get("effort.possible_more", count=len(found) - MOST_POSSIBLE)] if len(found) > MOST_POSSIBLE else []
    yield Note("attention", words.get("safety.possible"), words.get("effort.possible", spans=words.listed(told + more)))
