"""The district table for the coordinator: a row for each student and protocol, and counts by protocol.

Groups of fewer than ten are not counted in the summary (common practice, no source), nor is a count from which such a
group could be worked out by subtraction. Rows stand by code: there is no rank and no mean over students.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from ...records.change.sentence import say
from ...records.change.shapes import Comparison
from ...records.change.shared_shift import Shift
from ...records.change.shown_numbers import shown_change, shown_sides
from ...records.change.verdict import BEYOND
from ..page import Block, Heading, Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import capital, label, unit_words
from .verdict_words import verdict_name

LEAST_GROUP = 10
SHARES = (6, 11, 5, 8, 14, 10, 10, 10, 6, 12, 8)
COLUMNS = (
    *("code", "protocol", "trials", "comparable", "figure", "baseline", "retest", "change", "days"),
    *("verdict", "direction"),
)
MOVED_ALIKE: Shift = "same way"
"""How the others of the same days moved where a row says so: a shift of all is no change of this student's alone."""
_SHOWN = {"baseline": "before", "retest": "after", "change": "difference"}


@dataclass(frozen=True, slots=True)
class DistrictRow:
    """One student on one protocol. ``found`` is None where there are not two occasions."""

    code: str
    protocol: str
    trials: int
    figure: str
    found: Comparison | None


def district_table(
    rows: Iterable[DistrictRow],
    words: Words,
    *,
    since: date | None = None,
    until: date | None = None,
    students: Iterable[str] = (),
) -> Page:
    """The table over the trials of a span of days.

    students : the codes of all of whom trials could be there: those without one are named under the table
    """
    ordered = sorted(rows, key=lambda row: (row.code, row.protocol))
    blocks: list[Block] = [Paragraph(words.get("district.lead"), "lead")]
    if ordered:
        counts = tuple(_summary(ordered, words))
        blocks += [Heading(words.get("district.summary")), *counts] if counts else []
        blocks += [Heading(words.get("district.table")), _table(ordered, words)]
        blocks.append(Paragraph(words.get("district.table_text"), "small"))
        if any(row.found is not None and row.found.shared_shift == MOVED_ALIKE for row in ordered):
            blocks.append(Paragraph(words.get("district.shared_text"), "small"))
        if not counts:
            blocks.append(Paragraph(words.get("district.summary_none", least=LEAST_GROUP), "small"))
    else:
        blocks.append(Paragraph(words.get("district.empty")))
    absent = sorted(set(students) - {row.code for row in ordered})
    if absent:
        blocks.append(Heading(words.get("district.absent")))
        blocks.append(Paragraph(words.get("district.absent_text", count=len(absent), codes=", ".join(absent))))
    blocks += cautions_of((), (), words)
    return Page(
        title=words.get("district.title"),
        language=words.language,
        subtitle=_days(since, until, words),
        blocks=tuple(blocks),
        footer=(words.get("change.own"), words.get("change.rounding")),
        running=words.get("district.running"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def _days(since: date | None, until: date | None, words: Words) -> str:
    """The days that were asked for, each end where it was."""
    if since is not None and until is not None:
        return words.get("district.subtitle", since=words.date(since), until=words.date(until))
    if since is not None:
        return words.get("district.subtitle_since", since=words.date(since))
    if until is not None:
        return words.get("district.subtitle_until", until=words.date(until))
    return words.get("district.subtitle_all")


def counted(count: int, of: int, words: Words) -> str:
    """A count; words where it is a group too small to be told, a dash where what it leaves of ``of`` is one."""
    if 0 < count < LEAST_GROUP:
        return words.get("district.few", least=LEAST_GROUP)
    return words.get("form.dash") if 0 < of - count < LEAST_GROUP else str(count)


def _summary(rows: Sequence[DistrictRow], words: Words) -> Iterator[Block]:
    """Students, pairs and comparable pairs of each protocol; nothing where every group is too small."""
    groups: dict[str, list[DistrictRow]] = {}
    for row in rows:
        groups.setdefault(row.protocol, []).append(row)
    if max(map(len, groups.values())) < LEAST_GROUP:
        return
    head = tuple(words.get(f"district.{key}") for key in ("protocol", "students", "pairs", "pairs_comparable"))
    cells = []
    for name in sorted(groups):
        students = len(groups[name])
        pairs = sum(row.found is not None for row in groups[name])
        comparable = sum(row.found is not None and row.found.comparable for row in groups[name])
        told = [counted(students, students, words), counted(pairs, students, words), counted(comparable, pairs, words)]
        cells.append((name, told[0], *(told[1:] if students >= LEAST_GROUP else [words.get("form.dash")] * 2)))
    yield Table(words.get("district.summary"), head, tuple(cells), shares=(40, 20, 20, 20))
    yield Paragraph(words.get("district.summary_text", least=LEAST_GROUP), "small")


def _table(rows: Sequence[DistrictRow], words: Words) -> Table:
    head = tuple(words.get(f"district.{key}") for key in COLUMNS)
    return Table(words.get("district.table"), head, tuple(cells(row, words) for row in rows), shares=SHARES)


def cells(row: DistrictRow, words: Words) -> tuple[str, ...]:
    """A student and protocol; what there is no number for is a dash."""
    dash, found = words.get("form.dash"), row.found
    unit = unit_words(row.figure, found.unit, words, family=False) if found else ""
    name = capital(label(row.figure, words)) + (f" ({unit})" if unit else "")
    if found is None:
        empty = (dash,) * 4
        return row.code, row.protocol, str(row.trials), dash, name, *empty, words.get("district.no_pair"), dash
    yes = words.get("form.yes" if found.comparable else "form.no")
    values = [_side_by_side(found, key, words) for key in ("baseline", "retest", "change")]
    reached = {note.code for note in found.notes}
    for place, code in enumerate(("remark.limit_baseline", "remark.limit_retest")):
        if code in reached:
            values[place] = words.get("district.at_limit", value=values[place])
    verdict = verdict_name(found, words)
    if found.shared_shift == MOVED_ALIKE:
        verdict = words.get("district.shared", verdict=verdict, others=found.others_same_days or 0)
    told = (str(found.days_between), verdict, _direction(found, words))
    return row.code, row.protocol, str(row.trials), yes, name, *values, *told


def _direction(found: Comparison, words: Words) -> str:
    """Whether a change beyond variation is for the better, as the protocol states it; a dash for any other."""
    if found.for_the_better is not None:
        return words.get("district.better" if found.for_the_better else "district.not_better")
    no_direction = found.verdict in BEYOND and found.better == "no direction"
    return words.get("district.no_direction" if no_direction else "form.dash")


def _side_by_side(found: Comparison, key: str, words: Words) -> str:
    """A number, or one for each side; a change is the difference of the two beside it."""
    if found.sides:
        cells = []
        for side, shown in shown_sides(found.sides).items():
            told = say(getattr(shown, _SHOWN[key]), places=shown.places)
            cells.append(f"{words.get(f'value.{side}')} {words.decimal(told)}")
        return "; ".join(cells)
    ends = (found.change_low, found.change_high)
    if key == "change" and None not in ends and ends[0] != ends[1]:
        low, high = (words.decimal(say(end)) for end in ends if end is not None)
        return words.get("form.range", low=low, high=high)
    if found.baseline_value is None or found.retest_value is None:
        return words.get("form.dash")
    shown = shown_change(found.baseline_value, found.retest_value, found.detectable_change)
    return words.decimal(say(getattr(shown, _SHOWN[key]), places=shown.places))
