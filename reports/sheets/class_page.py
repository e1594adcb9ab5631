"""The class page for the teacher: a line for each student, what went wrong with a sensor, and the next step.

Rows stand by code. No figure of effort is on it, so there is nothing by which children could be ranked.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ...metrics.figure import EffortSheet, Figure
from ...metrics.messages.movement import WHY_NO_CLOCK
from ...metrics.older_sheets import code_of
from ...metrics.pulse_figures import GOOD_COVERAGE, LEAST_COVERAGE
from ...records.trial import Trial
from ...words.message import Message
from ...words.numbers import clock
from ..page import Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import value_of

NEARLY_ALL = 99.5
"""Coverage from which nothing is said of a sensor [%]."""


PRESSING = (
    *(
        "next_do",
        "next_ceiling",
        "next_possible",
        "next_again",
        "next_practice",
        "next_bounds",
        "next_movement",
        "next_clocks",
    ),
    *("next_baseline", "next_retest"),
)
"""Next steps, the most pressing first."""


@dataclass(frozen=True, slots=True)
class DayTrial:
    """A trial of the day, its protocol's title, and on how many days the student has a trial of it that counts."""

    trial: Trial
    title: str
    days: int


@dataclass(frozen=True, slots=True)
class ClassLine:
    """What is told of one student: the day's trials, none if the student did none, and the last day before it."""

    code: str
    trials: tuple[DayTrial, ...] = ()
    last: date | None = None


def class_page(lines: Sequence[ClassLine], day: date, words: Words) -> Page:
    """The page of a class's day, sorted by code."""
    ordered = sorted(lines, key=lambda line: line.code)
    count = "class.subtitle_one" if len(ordered) == 1 else "class.subtitle"
    head = tuple(words.get(f"class.{key}") for key in ("code", "done", "wrong", "next"))
    rows = tuple(class_row(line, words) for line in ordered)
    body = (
        Table(words.get("class.table"), head, rows, shares=(10, 26, 32, 32))
        if rows
        else Paragraph(words.get("class.empty"))
    )
    return Page(
        title=words.get("class.title"),
        language=words.language,
        subtitle=words.get(count, date=words.date(day), count=len(ordered)),
        blocks=(Paragraph(words.get("class.lead"), "lead"), body, *cautions_of((), (), words)),
        running=words.get("class.running", date=words.date(day)),
        sheet_of=words.get("form.sheet_of", number="{number}", total="{total}"),
    )


def class_row(line: ClassLine, words: Words) -> tuple[str, str, str, str]:
    """Code, whether it is done, what went wrong, the most pressing next step."""
    if not line.trials and line.last is not None:
        done = words.get("class.not_done_last", date=words.date(line.last))
        return line.code, done, words.get("class.wrong_unknown"), words.get("class.next_due")
    if not line.trials:
        return line.code, words.get("class.not_done"), words.get("class.wrong_unknown"), words.get("class.next_do")
    done = [_done(each, words) for each in line.trials]
    wrong = list(dict.fromkeys(text for each in line.trials for text in went_wrong(each.trial, words)))
    step = min((next_step(each.trial, each.days) for each in line.trials), key=PRESSING.index)
    return (
        line.code,
        "; ".join(dict.fromkeys(done)),
        "; ".join(wrong) or words.get("class.wrong_none"),
        words.get(f"class.{step}"),
    )


def _done(each: DayTrial, words: Words) -> str:
    key = "done_practice" if each.trial.practice else "done_trial" if each.trial.sheet is not None else "done_hand"
    return words.get(f"class.{key}", protocol=words.typed(each.title))


def went_wrong(trial: Trial, words: Words) -> list[str]:
    """What a sensor or a file did, in words."""
    sheet = trial.sheet
    if sheet is None:
        return [] if trial.hand_results else [words.get("class.wrong_no_file")]
    figures, made = sheet.figures, sheet.provenance
    begin, end = made.phases.work
    found = []
    covered = value_of(figures, "coverage_heart_rate")
    if covered is None:
        found.append(words.get("class.wrong_no_heart"))
    elif covered < NEARLY_ALL and made.unmeasured:
        longest = max(made.unmeasured, key=lambda gap: gap[1] - gap[0])
        missing = sum(until - since for since, until in made.unmeasured)
        found.append(
            words.get(
                "class.wrong_gap",
                missing=words.duration(missing),
                work=words.duration(end - begin),
                begin=clock(longest[0]),
                until=clock(longest[1]),
            )
        )
    found += _movement(sheet, end - begin, words)
    if any(map(_tells_unread, made.notes)):
        found.append(words.get("class.wrong_file"))
    return found


def _movement(sheet: EffortSheet, work_s: float, words: Words) -> list[str]:
    """What the movement sensor did, where there was one."""
    if sheet.provenance.movement is None:
        return []
    figures, found = sheet.figures, []
    covered = value_of(figures, "coverage_motion")
    if covered is None:
        found.append(words.get("class.wrong_no_movement"))
    elif covered < NEARLY_ALL:
        missing = work_s * (100 - covered) / 100
        found.append(
            words.get("class.wrong_movement_gap", missing=words.duration(missing), work=words.duration(work_s))
        )
    if _unclocked(figures):
        found.append(words.get("class.wrong_clocks"))
    return found


def next_step(trial: Trial, days: int) -> str:
    """The key of the next step: the most pressing one."""
    if trial.practice:
        return "next_practice"
    if trial.sheet is None:
        return ("next_baseline" if days < 2 else "next_retest") if trial.hand_results else "next_do"
    figures = trial.sheet.figures
    if (value_of(figures, "time_above_ceiling") or 0) > 0:
        return "next_ceiling"
    if trial.sheet.provenance.possible_crossings:
        return "next_possible"
    covered, moved = value_of(figures, "coverage_heart_rate"), value_of(figures, "coverage_motion")
    if (covered is None and moved is None) or (covered is not None and covered < LEAST_COVERAGE):
        return "next_again"
    if covered is None or covered < GOOD_COVERAGE:
        return "next_bounds"
    if trial.sheet.provenance.movement is not None and (moved is None or moved < GOOD_COVERAGE):
        return "next_movement"
    if _unclocked(figures):
        return "next_clocks"
    return "next_baseline" if days < 2 else "next_retest"


def _unclocked(figures: Mapping[str, Figure]) -> bool:
    rise = figures.get("heart_rate_moving_rise")
    return rise is not None and code_of(rise.reason) == WHY_NO_CLOCK.code


def _tells_unread(note: Message) -> bool:
    """Whether a remark, perhaps on one of several files, tells that a part of a file was not read."""
    if note.code == "read.of_file":
        inner = note["note"]
        return isinstance(inner, Message) and _tells_unread(inner)
    return code_of(note).startswith("unread.")
