"""The therapist's caseload: every trial of some days against the ceiling, crossings first, then what was not measured.

It tells what was recorded; nothing is concluded from it, and students are not compared: each group stands by code.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date

from ...records.caseload import CaseloadLine, by_group, in_order
from ..page import Block, Heading, Listing, Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import bounds_text, value_text

HEAD = ("student", "trial", "ceiling", "above", "measured", "recovery")
ToldIn = Callable[[str, str, int | None], Words]
"""The words of a trial by its student's code, its protocol and its number."""


def caseload_page(
    lines: Sequence[CaseloadLine],
    since: date,
    until: date,
    words: Words,
    untested: Sequence[str] = (),
    told_in: ToldIn | None = None,
) -> Page:
    """The page. ``lines`` are of ``records.caseload``, each counted against today's ceiling.

    since, until : the first and the last day of it
    untested : codes of students without a trial in these days
    told_in : the words of what one trial lacks, where it can be told with its command
    """
    groups = by_group(lines)
    blocks: list[Block] = [Paragraph(answer(groups, words), "lead")]
    for name, members in groups.items():
        if members:
            title = words.get(f"caseload.{name}")
            blocks += [Heading(title), _table(title, members, words)]
    if untested:
        blocks += [Heading(words.get("caseload.untested")), Paragraph(words.listed(sorted(untested)))]
    blocks += [*at_limit(lines, words), *no_maximum(lines, words, told_in)]
    day = "caseload.subtitle_day" if since == until else "caseload.subtitle"
    return Page(
        title=words.get("caseload.title"),
        language=words.language,
        subtitle=words.get(day, since=words.date(since), until=words.date(until), count=len(lines)),
        blocks=(*blocks, Paragraph(words.get("safety.lead")), *cautions_of((), (), words)),
        footer=(words.get("effort.rounding"),),
        running=words.get("caseload.running"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def answer(groups: Mapping[str, Sequence[CaseloadLine]], words: Words) -> str:
    """How many trials stand in each of the groups that a therapist looks at first."""
    counts = {name: len(members) for name, members in groups.items()}
    return words.get(
        "caseload.answer",
        crossed=counts["crossed"],
        possible=counts["possible"],
        partly=counts["partly"],
        unmeasured=counts["unmeasured"] + counts["stale"],
        of=sum(counts.values()) - counts["no_ceiling"],
        without=counts["no_ceiling"],
    )


def _table(title: str, members: Sequence[CaseloadLine], words: Words) -> Table:
    head = tuple(words.get(f"caseload.{key}") for key in HEAD)
    return Table(title, head, tuple(cells(each, words) for each in members))


def at_limit(lines: Sequence[CaseloadLine], words: Words) -> Iterator[Block]:
    """What can rise no further, by code and day."""
    items = tuple(
        words.get("caseload.limit_of", code=each.code, trial=_trial(each, words), told=words.message(limit.message()))
        for each in in_order(lines)
        for limit in each.limits
    )
    if items:
        yield Heading(words.get("caseload.limits"))
        yield Listing(items)


def no_maximum(lines: Sequence[CaseloadLine], words: Words, told_in: ToldIn | None = None) -> Iterator[Block]:
    """Whose figures wait for a maximum, each student once."""
    missing: dict[str, str] = {}
    for each in in_order(lines):
        if each.no_maximum is not None:
            told = (words if told_in is None else told_in(each.code, each.protocol, each.trial)).reason(each.no_maximum)
            missing.setdefault(each.code, told or "")
    if missing:
        yield Heading(words.get("caseload.no_maximum"))
        items = (words.get("caseload.no_maximum_of", code=code, reason=why) for code, why in missing.items())
        yield Listing(tuple(items))


def _trial(line: CaseloadLine, words: Words) -> str:
    """A trial as it is named in a row."""
    return words.get("caseload.of_trial", protocol=line.protocol, date=words.date(line.on), number=line.trial or "–")


def cells(line: CaseloadLine, words: Words) -> tuple[str, ...]:
    """A row: what ``HEAD`` names."""
    dash = words.get("form.dash")
    return (
        line.code,
        _trial(line, words),
        dash if line.ceiling is None else words.beats(line.ceiling.bpm),
        _cell("time_above_ceiling", line, words) if line.changed is None else words.message(line.changed),
        _cell("coverage_heart_rate", line, words),
        _cell("recovery_60s", line, words),
    )


def _cell(name: str, line: CaseloadLine, words: Words) -> str:
    """A figure with its bounds where they say more; a dash where it is not given."""
    figure = line.figures.get(name)
    if figure is None or figure.value is None:
        return words.get("form.dash")
    value, bounds = value_text(name, figure, words), bounds_text(name, figure, words)
    return words.get("caseload.with_bounds", value=value, bounds=bounds) if bounds else value
