"""Sentences for the plans of every student, as one text file."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import OwnmarkError
from ...records.store.outputs import refuse_own
from ...words.plain import printable_lines
from ..words import Words
from .output_files import output_files
from .plan_sentence import plan_sentence, plan_texts
from .without_health import without_health

if TYPE_CHECKING:
    from ...records.change.shapes import Comparison
    from ...records.store.logbook import Logbook
    from ...records.store.student_overview import Outline
    from ...records.trial import Trial


def write_plans(
    logbook: "Logbook",
    path: Path,
    *,
    since: date | None = None,
    until: date | None = None,
    protocol: str | None = None,
    language: str = "en",
    with_health: bool = False,
    replace: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> int:
    """Write a heading and a paragraph for each student and protocol; how many there are.

    since, until : only trials of these days, both included: the last of them, beside the first
    with_health : with what is written down of health and medicines, and what conditions do to a figure

    Raises
    ------
    UnknownProtocol, AlreadyThere, UnreadableFile, DiskFull
    """
    if protocol is not None:
        logbook.protocol(protocol)
    refuse_own(logbook, [path])
    count = 0
    total = len(logbook.students())
    with output_files([path], replace=replace) as (handle,):
        for heading, text in plans(logbook, protocol, language, since=since, until=until, with_health=with_health):
            handle.write(printable_lines(f"{heading}\n{text}\n\n").encode())
            count += 1
            if progress is not None:
                progress(count, max(total, count))
    return count


def plans(
    logbook: "Logbook",
    protocol: str | None = None,
    language: str = "en",
    *,
    since: date | None = None,
    until: date | None = None,
    with_health: bool = False,
) -> Iterator[tuple[str, str]]:
    """Heading and paragraph for each protocol and student, by protocol and code."""
    from ...records.judging import judge_all

    for name in [protocol] if protocol else [each.name for each in logbook.protocols()]:
        last = last_trials(logbook, name, since, until)
        judged = dict(_short(judge_all(logbook, name, since=since, until=until)))
        for code in sorted(last):
            yield _plan(logbook, name, last[code], judged.get(code), language, with_health=with_health)


def plans_of(
    logbook: "Logbook",
    wanted: Sequence[tuple[str, str]],
    language: str = "en",
    *,
    since: date | None = None,
    until: date | None = None,
    with_health: bool = False,
) -> dict[tuple[str, str], tuple[str, str]]:
    """Heading and paragraph of these pairs of a code and a protocol; one without a trial of these days has none."""
    from ...records.judging import judge_all
    from ...records.store.listing import outlines_of

    codes = sorted({code for code, _ in wanted})
    days = [
        each
        for each in outlines_of(logbook, codes)
        if (since is None or since <= each.on) and (until is None or each.on <= until)
    ]
    found: dict[tuple[str, str], tuple[str, str]] = {}
    for name in sorted({name for _, name in wanted}):
        last = _last([each for each in days if each.protocol == name])
        of_these = {code for code, of in wanted if of == name} & set(last)
        judged = dict(judge_all(logbook, name, codes=of_these, since=since, until=until))
        for code in sorted(of_these):
            told = _plan(logbook, name, last[code], judged.get(code), language, with_health=with_health)
            found[code, name] = told
    return found


def _plan(
    logbook: "Logbook",
    name: str,
    last: tuple[int, int],
    found: "Comparison | OwnmarkError | None",
    language: str,
    *,
    with_health: bool,
) -> tuple[str, str]:
    """Heading and paragraph of one student. ``last``: the number of the last trial, and how many count."""
    words = Words(language)
    trial = logbook.trial(last[0])
    if trial.sheet is not None and not with_health:
        trial = trial.model_copy(update={"sheet": without_health(trial.sheet)})
    version = logbook.protocol(name, trial.protocol_version)
    heading = plan_texts(language)["heading"].format(
        code=trial.code, title=words.typed(version.title), date=words.date(trial.on)
    )
    refused = isinstance(found, OwnmarkError)
    none = last[1] < 2 if refused else trial.practice
    told = plan_sentence(trial, version, None if none else found, language=language, with_health=with_health)
    return heading, told


def last_trials(
    logbook: "Logbook", protocol: str, since: date | None = None, until: date | None = None
) -> dict[str, tuple[int, int]]:
    """By code: the number of the last trial that counts (a practice trial only where there is no other), how many."""
    return _last(logbook.trials(protocol=protocol, since=since, until=until, with_sheets=False))


def _last(trials: "Iterable[Trial | Outline]") -> dict[str, tuple[int, int]]:
    found: dict[str, tuple[int, int]] = {}
    practice: dict[str, tuple[int, int]] = {}
    for trial in trials:
        where = practice if trial.practice else found
        where[trial.code] = (trial.id or 0, where.get(trial.code, (0, 0))[1] + 1)
    return {**practice, **found}


def _short(
    judged: "Iterator[tuple[str, Comparison | OwnmarkError]]",
) -> "Iterator[tuple[str, Comparison | OwnmarkError]]":
    """The comparisons without their figures side by side, which no sentence needs and which fill the memory."""
    for code, found in judged:
        if isinstance(found, OwnmarkError):
            yield code, found
        else:
            slim = {
                part: tuple(each.model_copy(update={"figures": {}}) for each in getattr(found, part))
                for part in ("baselines", "retests")
            }
            yield code, found.model_copy(update=slim)
