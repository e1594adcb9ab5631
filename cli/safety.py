"""``ownmark safety``: ceiling, time above it, recovery, what was not measured, conditions and cautions of a trial."""

import argparse
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from .inputs import whole_number
from .logbook import add_logbook_option, opened
from .option_commands import terminal_words
from .pages import Form, add_page_options, files_of, forms_of, words_of, write_out, write_safety
from .period import period_of
from .terminal import say, say_json
from .whole_class import add_who, check_who, trials_of

if TYPE_CHECKING:
    from ..records.safety import Safety
    from ..records.store.logbook import Logbook

EXAMPLE = "ownmark safety TH-11"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_who(parser, period=True)
    parser.add_argument("--trial", type=whole_number, metavar="N", help="the trial's number (the last one)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(parser, language=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print what was recorded of exertion; nothing is concluded from it."""
    from ..records.one_trial import one_trial
    from ..records.safety import safety_of

    check_who(args)
    forms = forms_of(args, otherwise=("text",))
    with opened(args) as logbook:
        if args.whole_class:
            return _caseload(logbook, args, forms)
        student = logbook.student(args.code)
        found = safety_of(student, one_trial(logbook, student.code, args.trial))
        if files_of(forms) or not args.json:
            return write_safety(logbook, found, args, forms)
    say_json(as_json(found))
    return 0


def _caseload(logbook: "Logbook", args: argparse.Namespace, forms: Sequence[Form]) -> int:
    """One page of every student's trials of the days asked for."""
    from ..records.caseload import line_of
    from ..records.safety import safety_of
    from ..reports.render.text import to_text
    from ..reports.sheets.caseload_page import caseload_page
    from ..reports.words import Words

    students = {each.code: each for each in logbook.students()}
    found = [
        safety_of(students[each.code], each)
        for each in trials_of(logbook, args, practice=True)
        if each.code in students
    ]
    if args.json:
        say_json([as_json(each) for each in found])
        return 0
    days = [each.trial.on for each in found]
    words, _ = words_of(args)
    asked = period_of(args)
    since, until = asked[0] or min(days), asked[1] or max(days)
    untested = sorted(set(students) - {each.student.code for each in found})
    keys = {(each.trial.protocol, each.trial.protocol_version) for each in found}
    protocols = {key: logbook.protocol(*key) for key in keys}
    lines = [line_of(each, protocols[each.trial.protocol, each.trial.protocol_version]) for each in found]
    if "text" in forms:
        plain, told_in = Words(words.language, terminal=True), partial(terminal_words, words.language)
        say(to_text(caseload_page(lines, since, until, plain, untested, told_in)))
    page = caseload_page(lines, since, until, words, untested)
    return write_out(logbook, page, args, f"caseload-{since}-{until}", files_of(forms)) if files_of(forms) else 0


def as_json(found: "Safety") -> dict[str, object]:
    """The same as plain JSON values."""
    from ..words.render import english

    student, trial = found.student, found.trial
    return {
        "code": student.code,
        "trial": trial.id,
        "on": trial.on.isoformat(),
        "protocol": trial.protocol,
        "ceiling": student.ceiling.model_dump(mode="json") if student.ceiling else None,
        "crossings": [[each.from_s, each.until_s, each.from_clock, each.until_clock] for each in found.crossings],
        "outside_phases": [each.outside for each in found.crossings],
        "possible_crossings": [
            {
                "from_s": each.where.from_s,
                "until_s": each.where.until_s,
                "from_clock": each.where.from_clock,
                "until_clock": each.where.until_clock,
                "above_s": each.where.above_s,
                "highest_bpm": each.highest_bpm,
                "reasons": each.reasons,
            }
            for each in found.possible
        ],
        "figures": {name: each.model_dump(mode="json") for name, each in found.figures.items()},
        "unmeasured": found.unmeasured,
        "recording_unmeasured": found.recording_unmeasured,
        "not_valid": {name: english(why) for name, why in found.invalid},
        "conditions": list(student.conditions),
        "lines": [english(each) for each in found.sentences],
        "sentences": [each.with_text() for each in found.sentences],
        "cautions": [english(each) for each in found.cautions],
    }
