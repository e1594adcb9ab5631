"""``ownmark safety``: ceiling, time above it, recovery, what was not measured, conditions and cautions of a trial."""

import argparse
from typing import TYPE_CHECKING

from .inputs import whole_number
from .logbook import add_logbook_option, opened
from .pages import add_page_options, files_of, forms_of, write_safety
from .terminal import say_json

if TYPE_CHECKING:
    from ..records.safety import Safety

EXAMPLE = "ownmark safety TH-11"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--trial", type=whole_number, metavar="N", help="the trial's number (the last one)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(parser, language=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print what was recorded of exertion; nothing is concluded from it."""
    from ..records.judging import one_trial
    from ..records.safety import safety_of

    forms = forms_of(args, otherwise=("text",))
    with opened(args) as logbook:
        student = logbook.student(args.code)
        found = safety_of(student, one_trial(logbook, student.code, args.trial))
        if files_of(forms) or not args.json:
            return write_safety(logbook, found, args, forms)
    say_json(as_json(found))
    return 0


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
