"""The therapist's caseload: every trial of some days against the ceiling, crossings first, then what was not measured.

It tells what was recorded; nothing is concluded from it, and students are not compared: each group stands by code.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import date

from ...metrics.message_codes import code_of
from ...metrics.messages.heart_rate import WHY_NO_MAXIMUM, WHY_NO_MAXIMUM_SHORT
from ...records.change.limits import Limit
from ...records.safety import Safety
from ...records.trial import Trial
from ...words.numbers import clock
from ..page import Block, Heading, Listing, Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import bounds_text, value_text

HEAD = ("student", "trial", "ceiling", "above", "measured", "recovery")
NO_MAXIMUM = frozenset({WHY_NO_MAXIMUM.code, WHY_NO_MAXIMUM_SHORT.code})
GROUPS = ("crossed", "possible", "stale", "unmeasured", "partly", "none", "no_ceiling")
"""What the groups are of, in the order of the page."""


def caseload_page(
    found: Sequence[Safety],
    since: date,
    until: date,
    words: Words,
    untested: Sequence[str] = (),
    limits: Sequence[tuple[Trial, Limit]] = (),
    told_in: Callable[[Trial], Words] | None = None,
) -> Page:
    """The page. ``found`` is from ``records.safety.safety_of``, each counted against today's ceiling.

    since, until : the first and the last day of it
    untested : codes of students without a trial in these days
    limits : what of these trials is at the most that its test can show
    told_in : the words of what one trial lacks, where it can be told with its command
    """
    groups: dict[str, list[Safety]] = {name: [] for name in GROUPS}
    for each in sorted(found, key=lambda one: (one.student.code, one.trial.on, one.trial.id or 0)):
        groups[group_of(each)].append(each)
    blocks: list[Block] = [Paragraph(_answer(groups, words), "lead")]
    for name, members in groups.items():
        if members:
            title = words.get(f"caseload.{name}")
            blocks += [Heading(title), _table(title, members, words)]
    if untested:
        blocks += [Heading(words.get("caseload.untested")), Paragraph(words.listed(sorted(untested)))]
    blocks += _at_limit(limits, words)
    blocks += _no_maximum(found, words, told_in)
    day = "caseload.subtitle_day" if since == until else "caseload.subtitle"
    return Page(
        title=words.get("caseload.title"),
        language=words.language,
        subtitle=words.get(day, since=words.date(since), until=words.date(until), count=len(found)),
        blocks=(*blocks, Paragraph(words.get("safety.lead")), *cautions_of((), (), words)),
        footer=(words.get("effort.rounding"),),
        running=words.get("caseload.running"),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def group_of(found: Safety) -> str:
    """Where a trial stands on the page."""
    if found.student.ceiling is None:
        return "no_ceiling"
    if found.changed is not None:
        return "stale"
    if found.crossings:
        return "crossed"
    if found.possible:
        return "possible"
    above = found.figures.get("time_above_ceiling")
    if above is None or above.value is None:
        return "unmeasured"
    return "partly" if above.high is not None and clock(above.high) != clock(0) else "none"


def _answer(groups: dict[str, list[Safety]], words: Words) -> str:
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


def _table(title: str, members: Sequence[Safety], words: Words) -> Table:
    head = tuple(
        words.get(f"caseload.{key}") for key in ("student", "trial", "ceiling", "above", "measured", "recovery")
    )
    return Table(title, head, tuple(tuple(_row(each, words)) for each in members))


def _at_limit(limits: Sequence[tuple[Trial, Limit]], words: Words) -> Iterator[Block]:
    """What can rise no further, by code and day."""
    ordered = sorted(limits, key=lambda each: (each[0].code, each[0].on, each[0].id or 0))
    if ordered:
        yield Heading(words.get("caseload.limits"))
        yield Listing(
            tuple(
                words.get(
                    "caseload.limit_of",
                    code=trial.code,
                    trial=_trial(trial, words),
                    told=words.message(limit.message()),
                )
                for trial, limit in ordered
            )
        )


def _no_maximum(found: Sequence[Safety], words: Words, told_in: Callable[[Trial], Words] | None) -> Iterator[Block]:
    """Whose figures wait for a maximum, each student once."""
    missing: dict[str, str] = {}
    for each in sorted(found, key=lambda one: (one.student.code, one.trial.on, one.trial.id or 0)):
        figures = {} if each.trial.sheet is None else each.trial.sheet.figures
        reasons = [one.reason for one in figures.values() if code_of(one.reason) in NO_MAXIMUM]
        if reasons and reasons[0] is not None:
            told = (words if told_in is None else told_in(each.trial)).reason(reasons[0])
            missing.setdefault(each.student.code, told or "")
    if missing:
        yield Heading(words.get("caseload.no_maximum"))
        items = (words.get("caseload.no_maximum_of", code=code, reason=why) for code, why in missing.items())
        yield Listing(tuple(items))


def _trial(trial: Trial, words: Words) -> str:
    """A trial as it is named in a row."""
    return words.get("caseload.of_trial", protocol=trial.protocol, date=words.date(trial.on), number=trial.id or "–")


def _row(found: Safety, words: Words) -> Iterator[str]:
    trial, ceiling = found.trial, found.student.ceiling
    dash = words.get("form.dash")
    yield found.student.code
    yield _trial(trial, words)
    yield dash if ceiling is None else words.beats(ceiling.bpm)
    if found.changed is not None:
        yield words.message(found.changed)
    else:
        yield _cell("time_above_ceiling", found, words)
    yield _cell("coverage_heart_rate", found, words)
    yield _cell("recovery_60s", found, words)


def _cell(name: str, found: Safety, words: Words) -> str:
    """A figure with its bounds where they say more; a dash where it is not given."""
    figure = found.figures.get(name)
    if figure is None or figure.value is None:
        return words.get("form.dash")
    value, bounds = value_text(name, figure, words), bounds_text(name, figure, words)
    return words.get("caseload.with_bounds", value=value, bounds=bounds) if bounds else value
