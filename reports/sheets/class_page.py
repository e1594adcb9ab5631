"""The class page for the teacher: a line for each student, what went wrong with a sensor, and the next step.

Rows stand by code. No figure of effort is on it, so there is nothing by which children could be ranked.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeAlias

from ...metrics.figure import EffortSheet, Figure
from ...metrics.message_codes import code_of
from ...metrics.messages import heart_rate as say
from ...metrics.messages.movement import WHY_NO_CLOCK, WHY_NO_GYROSCOPE, WHY_NO_MOVEMENT_SENSOR, WHY_NO_PLACEMENT
from ...metrics.pulse_figures import GOOD_COVERAGE, LEAST_COVERAGE
from ...records.trial import Trial
from ...words.message import Message
from ...words.numbers import clock
from ..page import Page, Paragraph, Table
from ..words import Words
from .cautions import cautions_of
from .figure_text import label, value_of
from .most_useful import CERTAIN, crossed

NextIn: TypeAlias = Callable[[Trial], Words]
"""Words for what is said of one trial: printed, they name the whole command that enters what is missing."""
NEARLY_ALL = 99.5
"""Coverage from which nothing is said of a sensor [%]."""


PRESSING = (
    *(
        "next_do",
        "next_ceiling",
        "next_possible",
        "next_again",
        *("next_strap", "next_sensor", "next_gyroscope", "next_placement", "next_distance"),
        *("next_rest", "next_maximum", "next_figure", "next_same_set_up"),
        "next_practice",
        "next_bounds",
        "next_movement",
        "next_clocks",
    ),
    *("next_baseline", "next_retest"),
)
"""Next steps, the most pressing first."""
STEP_FOR = {
    say.WHY_NO_HEART_RATE.code: "next_strap",
    WHY_NO_MOVEMENT_SENSOR.code: "next_sensor",
    WHY_NO_GYROSCOPE.code: "next_gyroscope",
    WHY_NO_PLACEMENT.code: "next_placement",
    say.WHY_NO_DISTANCE.code: "next_distance",
    say.WHY_NO_REST.code: "next_rest",
    say.WHY_NO_MAXIMUM.code: "next_maximum",
    say.WHY_NO_MAXIMUM_SHORT.code: "next_maximum",
}
"""What to do where the protocol's own figure is not given, by the code of the reason."""


@dataclass(frozen=True, slots=True)
class DayTrial:
    """A trial of the day, its protocol's title, and on how many days the student has a trial of it that counts.

    primary : the protocol's own figure
    limits : figures and hand measures at the most that the test can show; what they were is not told here
    differed : fields of the set-up that were not as at the baseline where they must be; what they held is not told here
    """

    trial: Trial
    title: str
    days: int
    primary: str = ""
    differed: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ClassLine:
    """What is told of one student: the day's trials, none if the student did none, and the last day before it."""

    code: str
    trials: tuple[DayTrial, ...] = ()
    last: date | None = None


def class_page(lines: Sequence[ClassLine], day: date, words: Words, next_in: NextIn | None = None) -> Page:
    """The page of a class's day: those with the ceiling passed, or perhaps passed, first, and by code within.

    next_in : the words of a trial's next step, where it can be told with its command
    """
    ordered = sorted(lines, key=lambda line: (not _marked(line), line.code))
    count = "class.subtitle_one" if len(ordered) == 1 else "class.subtitle"
    head = tuple(words.get(f"class.{key}") for key in ("code", "done", "wrong", "next"))
    rows = tuple(class_row(line, words, next_in) for line in ordered)
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


def class_row(line: ClassLine, words: Words, next_in: NextIn | None = None) -> tuple[str, str, str, str]:
    """Code, whether it is done, what went wrong, the most pressing next step."""
    if not line.trials and line.last is not None:
        done = words.get("class.not_done_last", date=words.date(line.last))
        return line.code, done, words.get("class.wrong_unknown"), words.get("class.next_due")
    if not line.trials:
        return line.code, words.get("class.not_done"), words.get("class.wrong_unknown"), words.get("class.next_do")
    done = [_done(each, words) for each in line.trials]
    wrong = list(dict.fromkeys(text for each in line.trials for text in went_wrong(each.trial, words)))
    return (
        words.get("class.code_marked", code=line.code) if _marked(line) else line.code,
        "; ".join(dict.fromkeys(done)),
        "; ".join(wrong) or words.get("class.wrong_none"),
        _next(line.trials, words, next_in),
    )


def _marked(line: ClassLine) -> bool:
    """Whether a heart rate above the ceiling must not be overlooked."""
    return any(crossed(each.trial.sheet) for each in line.trials)


def _next(trials: Sequence[DayTrial], words: Words, next_in: NextIn | None) -> str:
    """The most pressing next step of the day's trials, in words."""
    steps = [(next_step(each), each) for each in trials]
    step, each = min(steps, key=lambda found: PRESSING.index(found[0]))
    words = words if next_in is None else next_in(each.trial)
    if step == "next_same_set_up":
        return words.get(f"class.{step}", what=words.listed([words.get(f"field.{name}") for name in each.differed]))
    return words.get(f"class.{step}")


def _done(each: DayTrial, words: Words) -> str:
    key = "done_practice" if each.trial.practice else "done_trial" if each.trial.sheet is not None else "done_hand"
    done = words.get(f"class.{key}", protocol=words.typed(each.title))
    if not each.limits:
        return done
    return words.get("class.done_limit", done=done, what=words.listed([label(name, words) for name in each.limits]))


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


def next_step(each: DayTrial) -> str:
    """The key of the next step: the most pressing one."""
    trial = each.trial
    if above := crossed(trial.sheet):
        return "next_ceiling" if above == CERTAIN else "next_possible"
    if trial.practice:
        return "next_practice"
    if trial.sheet is None:
        return _by_days(each) if trial.hand_results else "next_do"
    return _of_sensors(trial.sheet, each) or _by_days(each)


def _by_days(each: DayTrial) -> str:
    """The next step where nothing is to be mended."""
    if each.differed:
        return "next_same_set_up"
    return "next_baseline" if each.days < 2 else "next_retest"


def _of_sensors(sheet: EffortSheet, each: DayTrial) -> str | None:
    """The next step where a sensor failed, or the protocol's own figure is not given; None otherwise."""
    figures = sheet.figures
    covered, moved = value_of(figures, "coverage_heart_rate"), value_of(figures, "coverage_motion")
    if (covered is None and moved is None) or (covered is not None and covered < LEAST_COVERAGE):
        return "next_again"
    primary = figures.get(each.primary)
    if primary is not None and primary.value is None:
        return "next_figure" if primary.reason is None else STEP_FOR.get(code_of(primary.reason), "next_figure")
    if covered is None or covered < GOOD_COVERAGE:
        return "next_bounds"
    if sheet.provenance.movement is not None and (moved is None or moved < GOOD_COVERAGE):
        return "next_movement"
    if _unclocked(figures):
        return "next_clocks"
    return None


def _unclocked(figures: Mapping[str, Figure]) -> bool:
    rise = figures.get("heart_rate_moving_rise")
    return rise is not None and code_of(rise.reason) == WHY_NO_CLOCK.code


def _tells_unread(note: Message) -> bool:
    """Whether a remark, perhaps on one of several files, tells that a part of a file was not read."""
    if note.code == "read.of_file":
        inner = note["note"]
        return isinstance(inner, Message) and _tells_unread(inner)
    return code_of(note).startswith("unread.")
