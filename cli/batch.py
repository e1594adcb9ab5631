"""``ownmark batch``: many class tables into the logbook at once."""

import argparse
import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..words.numbers import clock
from .logbook import add_logbook_option, opened
from .parts import many, wrapped
from .student import day
from .terminal import complain, say, say_json
from .workers import add_worker_options, opened_workers

if TYPE_CHECKING:
    from ..errors import OwnmarkError
    from ..records.batch.report import Report, TableReport
    from ..records.batch.stop import Stop
    from ..records.row_outcome import Outcome

EXAMPLE = "ownmark batch district-drive --workers 4"
PRELOAD = (
    *("ownmark.records.batch.work", "ownmark.metrics.heart_rate_while_moving", "ownmark.metrics.motion_figures"),
    *("ownmark.metrics.rhythm_figures", "fitparse", "pandas"),
)
"""What every worker loads before there is anything to do."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "tables", nargs="+", metavar="TABLE|FOLDER", help="class tables, or folders in which they are looked for"
    )
    add_worker_options(parser)
    parser.add_argument(
        "--date", metavar="YYYY-MM-DD", help="day of rows where neither the row nor its files give one (today)"
    )
    parser.add_argument(
        "--zone", metavar="ZONE", help="time zone of rows that give none, as in America/Denver (the logbook's)"
    )
    parser.add_argument(
        "--correct", action="store_true", help="correct trials that are there already where a table says otherwise"
    )
    parser.add_argument(
        "--aside", metavar="FOLDER", help="where files go that cannot be read (TABLE-aside beside each table)"
    )
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Look for the tables, measure and store their rows, tell what became of them."""
    from ..records.address import place
    from ..records.batch.stop import Stop
    from ..records.batch.tables import row_count, tables_in

    given = day(args.date, "--date") if args.date else None
    tables = tables_in([place(each) for each in args.tables], Path(args.aside) if args.aside else None)
    stop = Stop()
    with opened(args) as logbook, opened_workers(args, PRELOAD) as executor, _heard(stop):
        from tqdm import tqdm

        from ..records.batch.patience import Patience
        from ..records.batch.whole import Batch
        from ..records.batch.writer import How, Writer

        def sleep(seconds: float) -> None:
            with stop.waiting():
                time.sleep(seconds)

        today = date.today()  # noqa: DTZ011 the person's own day is meant
        patience = Patience(away=_away, hurried=lambda: stop.asked, sleep=sleep)
        writer = Writer(logbook, How(given, today, args.zone, args.correct), patience)
        total = sum(map(row_count, tables))
        with tqdm(total=total, unit="row", disable=None, leave=False, file=sys.stderr) as bar:
            on_table = (lambda _: None) if args.json else _say_table
            batch = Batch(executor, writer, tables, stop=stop, on_row=bar.update, on_table=on_table)
            report = batch.run()
    if args.json:
        say_json(report.as_json())
    else:
        _say_end(report)
    return 0 if report.clean else 1


@contextmanager
def _heard(stop: "Stop") -> Iterator[None]:
    """Ctrl-C is told to ``stop`` for as long as the context is open; another thread's cannot be."""
    try:
        before = signal.signal(signal.SIGINT, stop.pressed)
    except ValueError:  # not the main thread
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _away(reason: "OwnmarkError") -> None:
    complain(f"{reason} What is measured waits; it is tried again for some minutes.")


def _say_table(report: "TableReport") -> None:
    """A line on a table, and its rows that need a person."""
    if report.refused is not None:
        for line in wrapped(f"{report.path}: not read. {report.refused}", 4):
            say(line)
        return
    done = sum(report.counts.values())
    part = "" if done == report.rows else f" The first {done} of {many(report.rows, 'row')}."
    for line in wrapped(f"{report.path}: {_counted(report)}.{part}", 4):
        say(line)
    for each in report.open_rows:
        _say_row(each)
    if report.copies:
        say(f"  Files that could not be read: {len(report.copies)}, copied to {report.aside}.")
    if report.not_aside is not None:
        say(f"  Files that could not be read were not put aside. {report.not_aside}")


def _say_row(outcome: "Outcome") -> None:
    for line in wrapped(
        f"  row {outcome.row.number}, {outcome.row.code or 'no code'}: {outcome.state}. {outcome.sentence}", 6
    ):
        say(line)
    for refused in outcome.refused if outcome.state == "added" else ():
        say(f"      left out: {refused.reason}")
    if outcome.fault is not None and os.environ.get("OWNMARK_TRACEBACK"):
        raise outcome.fault


def _counted(report: "TableReport | Report") -> str:
    from ..records.batch.report import STATES

    always = ("added", "there already", "refused")
    return ", ".join(f"{report.counts[state]} {state}" for state in STATES if state in always or report.counts[state])


def _say_end(report: "Report") -> None:
    """The totals, how long it took, and what is to be done if it did not come to its end."""
    say(f"\n{_counted(report)}. {many(len(report.tables), 'table')}, {clock(report.seconds)}.")
    if report.by_hand:
        say("Stopped. What is told above is in the logbook; the same call does the rest.")
    if report.stopped is not None:
        say(f"It ended early. {report.stopped} What is told above is in the logbook; the same call does the rest.")
