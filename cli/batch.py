"""``ownmark batch``: many class tables into the logbook at once."""

import argparse
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import UnknownCode
from ..words.numbers import clock
from ..words.plain import printable
from .logbook import add_logbook_option, opened
from .parts import many, wrapped
from .row_options import add_row_options, say_unknown
from .student import day
from .terminal import say, say_json
from .workers import add_worker_options, opened_workers, tell_away

if TYPE_CHECKING:
    from ..records.batch.report import Report, TableReport
    from ..records.batch.stop import Stop
    from ..records.batch.unused import Unused
    from ..records.row_outcome import Outcome

EXAMPLE = "ownmark batch district-drive --workers 4"
PRELOAD = (
    *("ownmark.records.batch.work", "ownmark.metrics.heart_rate_while_moving", "ownmark.metrics.motion_figures"),
    *("ownmark.metrics.rhythm_figures", "fitparse", "pandas"),
)
"""What every worker loads before there is anything to do."""
_LONG_AGO = (
    "Files of long ago: where the clocks of the straps were right, --since with the first day of this drive answers "
    "for all of them at once."
)
FEW = 2
"""So many students whom the logbook does not know get a line each, with the codes that are near."""
SHOWN = 5
"""Files of a folder that are named, of those that no table names."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "tables", nargs="+", metavar="TABLE|FOLDER", help="class tables, or folders in which they are looked for"
    )
    add_worker_options(parser)
    add_row_options(parser)
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
    from ..records.batch.unused import unused_in

    given = day(args.date, "--date") if args.date else None
    since = day(args.since, "--since") if args.since else None
    arguments = [place(each) for each in args.tables]
    tables = tables_in(arguments, Path(args.aside) if args.aside else None)
    stop = Stop()
    # Workers inherit that a window which is closed ends nothing, so it is set before they start.
    with (
        _signal("SIGHUP", signal.SIG_IGN),
        opened(args) as logbook,
        opened_workers(args, PRELOAD) as executor,
        _heard(stop),
    ):
        from tqdm import tqdm

        from ..records.batch.whole import Batch
        from ..records.batch.writer import How, Writer
        from ..records.patience import Patience

        def sleep(seconds: float) -> None:
            with stop.waiting():
                time.sleep(seconds)

        today = date.today()  # noqa: DTZ011 the person's own day is meant
        patience = Patience(away=tell_away, hurried=lambda: stop.asked, sleep=sleep)
        writer = Writer(logbook, How(given, today, args.zone, args.correct, since), patience)
        total = sum(map(row_count, tables))
        with tqdm(total=total, unit="row", disable=None, leave=False, file=sys.stderr) as bar:
            on_table = (lambda _: None) if args.json else _say_table
            batch = Batch(executor, writer, tables, stop=stop, on_row=bar.update, on_table=on_table)
            report = batch.run()
    if report.stopped is None and not report.by_hand:
        report.unused = unused_in(arguments, tables, batch.named)
    if args.json:
        say_json(report.as_json())
    else:
        _say_end(report)
    return 0 if report.clean else 1


@contextmanager
def _heard(stop: "Stop") -> Iterator[None]:
    """Ctrl-C, and the system's wish that this ends, are told to ``stop`` for as long as the context is open."""
    with _signal("SIGINT", stop.pressed), _signal("SIGTERM", stop.pressed):
        yield


@contextmanager
def _signal(name: str, handler: "Callable[..., None] | signal.Handlers") -> Iterator[None]:
    """What is done at a signal, where the system has it and this is the main thread; another one's cannot be set."""
    number = getattr(signal, name, None)
    if number is None or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(number, handler)
    try:
        yield
    finally:
        signal.signal(number, before)


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
    unknown = report.unknown_students
    for alike in _alike(report.open_rows, together=len(unknown) > FEW):
        _say_rows(alike)
    if unknown:
        say_unknown(unknown)
    if report.copies:
        say(f"  Files that could not be read: {len(report.copies)}, copied to {printable(str(report.aside))}.")
    if report.not_aside is not None:
        say(f"  Files that could not be read were not put aside. {report.not_aside}")


def _alike(outcomes: "Sequence[Outcome]", *, together: bool) -> "list[list[Outcome]]":
    """Rows of which the same is to be told, together: a question that a whole class is asked is read once.

    together : rows of students whom the logbook does not know stand together, whatever codes are near theirs
    """
    groups: dict[tuple[str, str, object], list[Outcome]] = {}
    for each in outcomes:
        apart = each.row.number if each.state == "added" or each.fault is not None else None
        told = UnknownCode.code if together and each.code == UnknownCode.code else _told(each)
        groups.setdefault((each.state, told, apart), []).append(each)
    return list(groups.values())


def _told(outcome: "Outcome") -> str:
    """What is said of a row; how questions are answered stands once, at the end of all."""
    reason = outcome.reason
    if outcome.state != "to confirm" or reason is None:
        return outcome.sentence
    return str(type(reason)(reason.what, where=reason.where))


def _say_rows(alike: "Sequence[Outcome]") -> None:
    first = alike[0]
    whose, told = f"{first.row.number}, {first.row.code or 'no code'}", _told(first)
    if len(alike) > 1:
        whose = ", ".join(f"{each.row.number} ({each.row.code or 'no code'})" for each in alike)
        told = told if len(set(map(_told, alike))) == 1 else "no student has any of these codes."
    for line in wrapped(f"  row{'s' if len(alike) > 1 else ''} {whose}: {first.state}. {told}", 6):
        say(line)
    for refused in first.refused if first.state == "added" else ():
        say(f"      left out: {refused.reason}")
    if first.fault is not None and os.environ.get("OWNMARK_TRACEBACK"):
        raise first.fault


def _say_unused(unused: "Unused") -> None:
    """A line on a folder; what may have been meant as a table stands under it, with the reason why it was not taken."""
    names = [printable(each.name) for each in unused.files]
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    parts = ["no class table lies there"] if names and not unused.has_table else []
    parts[:0] = [f"{many(len(names), 'file')}: {', '.join(names[:SHOWN])}{more}"] if names else []
    parts += [f"{printable(each.name)} is a link, and was not followed" for each in unused.links]
    said = [f"  {printable(str(unused.folder))}: {'; '.join(parts)}."] if parts else []
    for each in unused.nearly:
        where = printable(str(each.path))
        lacks = f"its first line names no column {' and no column '.join(each.lacking)}"
        said.append(f"  {where}: {lacks if each.lacking else 'save it as .csv or .xlsx'}.")
    for line in (line for text in said for line in wrapped(text, 6)):
        say(line)


def _counted(report: "TableReport | Report") -> str:
    from ..records.batch.report import STATES

    always = ("added", "there already", "refused")
    return ", ".join(f"{report.counts[state]} {state}" for state in STATES if state in always or report.counts[state])


def _asks_of_long_ago(report: "Report") -> bool:
    """Whether anything asked is answered by ``--since``."""
    from ..records.guard_messages import LONG_AGO_CODE

    rows = (row for table in report.tables for row in table.open_rows)
    return any(question.asked.code == LONG_AGO_CODE for row in rows for question in row.questions)


def _say_end(report: "Report") -> None:
    """What no table names, the totals, how long it took, and what is to be done if it did not come to its end."""
    if report.unused:
        say("\nIn no table, and passed over. Look whether a class's day is among it:")
        for each in report.unused:
            _say_unused(each)
    if report.counts["to confirm"]:
        what = (
            "To confirm: write the answer into the row's column confirm, several with ; between them, or mend the row."
        )
        say("")
        for line in wrapped(f"{what} Then give the same call again.", 0):
            say(line)
        for line in wrapped(_LONG_AGO, 0) if _asks_of_long_ago(report) else ():
            say(line)
    say(f"\n{_counted(report)}. {many(len(report.tables), 'table')}, {clock(report.seconds)}.")
    if report.by_hand:
        say("Stopped. What is told above is in the logbook; the same call does the rest.")
    if report.stopped is not None:
        say(f"It ended early. {report.stopped} What is told above is in the logbook; the same call does the rest.")
