"""``ownmark class students``: a list of students into the logbook, a row a student."""

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import nullcontext
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import NoLogbook
from .logbook import opened
from .parts import wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from ..records.store.logbook import Logbook
    from ..records.student_list import RowOutcome


def add_class_students_options(parser: argparse.ArgumentParser) -> None:
    """Declare the list and what to do with it."""
    parser.add_argument("table", metavar="LIST.csv", help="a list of students, as CSV or XLSX")
    parser.add_argument(
        "--correct", action="store_true", help="correct students who are there already where the list says otherwise"
    )
    parser.add_argument(
        "--leave-out",
        action="append",
        default=[],
        metavar="COLUMN",
        help="a column of the list that is not read, as one of names; can be given several times",
    )
    parser.add_argument("--only-show", action="store_true", help="show what would become of each row, and add nothing")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def run_class_students(args: argparse.Namespace) -> int:
    """Add the rows, tell of each; the answer is 0 if nothing was refused and nothing is to be confirmed."""
    from tqdm import tqdm

    from ..records.student_list import add_list
    from ..records.student_table import read_students

    rows = read_students(Path(args.table), args.leave_out)
    outcomes: list[RowOutcome] = []
    today = date.today()  # noqa: DTZ011 the person's own day is meant
    with _logbook(args) as logbook:
        found = add_list(logbook, rows, today=today, correct=args.correct, only_show=args.only_show)
        for each in tqdm(found, total=len(rows), unit="row", disable=None, leave=False, file=sys.stderr):
            outcomes.append(each)
            if each.fault is not None and os.environ.get("OWNMARK_TRACEBACK"):
                raise each.fault
            if not args.json:
                _say_row(each)
    if args.json:
        say_json(_as_json(args, outcomes))
    else:
        say(f"\n{_counted(outcomes)}{' Nothing was written: --only-show.' if args.only_show else ''}")
    return 1 if any(each.state in ("to confirm", "refused") for each in outcomes) else 0


def _logbook(args: argparse.Namespace) -> "AbstractContextManager[Logbook | None]":
    """The logbook; none where it is only asked what would be added to one that is not there yet."""
    if not args.only_show:
        return opened(args, create=True)
    try:
        return opened(args)
    except NoLogbook:
        return nullcontext()


def _say_row(outcome: "RowOutcome") -> None:
    row = outcome.row
    for line in wrapped(f"row {row.number}, {row.code or 'no code'}: {outcome.state}. {_sentence(outcome)}", 4):
        say(line)


def _sentence(outcome: "RowOutcome") -> str:
    """What to tell of a row, each message with a capital at its start."""
    from ..words.message import Message
    from ..words.render import english

    parts = [english(part) if isinstance(part, Message) else part for part in outcome.told]
    return " ".join(f"{part[:1].upper()}{part[1:]}" for part in parts)


def _counted(outcomes: "Sequence[RowOutcome]") -> str:
    from ..records.student_list import STATES

    always = ("added", "there already", "refused")
    counts = {state: sum(each.state == state for each in outcomes) for state in STATES}
    return f"{', '.join(f'{count} {state}' for state, count in counts.items() if count or state in always)}."


def _as_json(args: argparse.Namespace, outcomes: "Sequence[RowOutcome]") -> dict[str, object]:
    """Plain values, for a program; the keys are those of a batch's table."""
    from ..records.student_list import STATES

    counts = {state.replace(" ", "_"): sum(each.state == state for each in outcomes) for state in STATES}
    return {
        "table": args.table,
        "all_rows": len(outcomes),
        **counts,
        "only_show": args.only_show,
        "rows": [_row(each) for each in outcomes],
    }


def _row(outcome: "RowOutcome") -> dict[str, object]:
    answers = dict.fromkeys(each for question in outcome.questions for each in question.answers)
    return {
        "row": outcome.row.number,
        "student": outcome.row.code or None,
        "state": outcome.state.replace(" ", "_"),
        "code": outcome.reason.code if outcome.reason is not None else None,
        "sentence": _sentence(outcome),
        "answers": list(answers),
        "fields": {name: {"kept": kept, "said": said} for name, (kept, said) in outcome.fields.items()},
    }
