"""``ownmark export``: the logbook's trials in a form that other systems take."""

import argparse
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from .backup import moved
from .logbook import add_logbook_option, opened
from .period import add_period, period_of
from .terminal import say

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook

EXAMPLE = "ownmark export xlsx --from 2026-09-01 --to 2027-06-30 --out district.xlsx"
FORMS = {
    "csv": "three tables: trials, hand results, and what each column means",
    "xlsx": "the same as sheets of one workbook",
    "parquet": "trials and hand results, for programs that count",
    "json": "every figure with its basis, source and note",
    "fhir": "HL7 FHIR R4 Observations, one a line",
    "all": "each of these, named FILE.csv, FILE.xlsx …",
    "plan": "sentences for education plans, as text",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("form", metavar="FORMAT", choices=FORMS, help=", ".join(FORMS))
    parser.add_argument(
        "--out", metavar="FILE", required=True, help="it holds health data: keep it where few can read it"
    )
    add_period(parser)
    parser.add_argument("--protocol", metavar="NAME", help="only trials by this protocol")
    parser.add_argument(
        "--change", action="store_true", help="with the change of each student against the own baseline"
    )
    parser.add_argument(
        "--with-health", action="store_true", help="with conditions, their cautions and what they do to a figure"
    )
    parser.add_argument("--replace", action="store_true", help="a file of that name may be replaced")
    parser.add_argument("--lang", choices=("en", "es"), default="en", help="language of the sentences for plans (en)")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write, and tell what was written."""
    from tqdm import tqdm

    since, until = period_of(args)
    if args.form != "plan":
        from ..reports.exports.run import refuse_other_end

        refuse_other_end(args.form, Path(args.out))
    unit = "student" if args.form == "plan" else "trial"
    with opened(args) as logbook, tqdm(unit=unit, disable=None, leave=False, file=sys.stderr) as bar:
        if args.form == "plan":
            return _plan(args, logbook, (since, until), moved(bar))
        from ..reports.exports import export

        found = export(
            logbook,
            args.form,
            args.out,
            since=since,
            until=until,
            protocol=args.protocol,
            change=args.change,
            with_health=args.with_health,
            replace=args.replace,
            progress=moved(bar),
        )
    names = ", ".join(str(each) for each in found.files)
    say(f"{_counted(found.rows, 'trial')} and {_counted(found.hand_rows, 'hand result')}: {names}")
    if not found.rows:
        say("No trial was asked for by these days and this protocol: the files hold headers only.")
    return 0


def _plan(
    args: argparse.Namespace,
    logbook: "Logbook",
    period: tuple[date | None, date | None],
    progress: Callable[[int, int], None],
) -> int:
    """Sentences into a text file."""
    from ..errors import UsageError
    from ..reports.exports.plans import write_plans

    if args.change:
        raise UsageError("sentences for plans tell the change already.", mend="Leave out --change.")
    count = write_plans(
        logbook,
        Path(args.out),
        since=period[0],
        until=period[1],
        protocol=args.protocol,
        language=args.lang,
        with_health=args.with_health,
        replace=args.replace,
        progress=progress,
    )
    say(f"{_counted(count, 'paragraph')}: {args.out}\nRead each one before it goes into a plan.")
    return 0


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
