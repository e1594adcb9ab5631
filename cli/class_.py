"""``ownmark class``: a whole class's day into the logbook, a row a student."""

import argparse
import os
import sys
from datetime import date
from pathlib import Path

from ..errors import UnreadableFile, UsageError
from .class_form import add_class_form_options, run_class_form
from .class_page import add_class_page_options, run_class_page
from .class_plan import add_class_plan_options, run_class_plan
from .class_students import add_class_students_options, run_class_students
from .logbook import add_logbook_option, opened
from .parts import add_parts, wrapped
from .row_options import add_row_options, say_unknown
from .student import day
from .terminal import say

_STATES = ("added", "there already", "corrected", "to confirm", "refused")
EXAMPLE = "ownmark class add tuesday.csv --straps straps.csv"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    add = parts.add_parser(
        "add",
        help="add every row of a table: code, protocol, files, work, notes …",
        description="Columns are named as in `ownmark trial add`: code, protocol, files (with ; between them), date, "
        "work, rest_phase, recovery, notes, distance, exertion … or a hand measure, as in “reach left”. "
        "`ownmark class template` writes a table with every column explained.",
    )
    add.add_argument("table", metavar="TABLE.csv", help="its files are looked for beside it")
    add.add_argument("--straps", metavar="CSV", help="who wore which strap that day: strap,code,from,until")
    add_row_options(add)
    add.add_argument("--aside", metavar="FOLDER", help="where files go that cannot be read (TABLE-aside)")
    blank = parts.add_parser("template", help="write an empty table with every column explained")
    blank.add_argument("--students", action="store_true", help="an empty list of students, for `class students`")
    blank.add_argument("--out", metavar="FILE", help="a .csv or .xlsx file (class.csv, or students.csv)")
    blank.add_argument("--lang", choices=("en", "es"), default="en", help="language of the explanations (en)")
    students = parts.add_parser(
        "students",
        help="add every student of a list: code, born, conditions, rest, ceiling, set_by …",
        description="Columns are named as the options of `ownmark student add`; only code is needed. `ownmark class "
        "template --students` writes an empty list with every column explained.",
    )
    add_class_students_options(students)
    page = parts.add_parser("page", help="a line for each student: done or not, what went wrong, next step")
    add_class_page_options(page)
    plan = parts.add_parser(
        "plan",
        help="out of a bag of files the table of the day, and what to look at before it is added",
        description="Says whose each file is, which protocol was done and when, as far as that can be known; whatever "
        "is not sure has its question in the column check, and `ownmark class add` keeps that row aside.",
    )
    add_class_plan_options(plan)
    form = parts.add_parser(
        "form",
        help="a form for the day: students and straps, with room to write down when each began and ended",
        description="Lies next to the bag of straps. Codes only: a column of names in a table is never printed.",
    )
    add_class_form_options(form)
    for part in (plan, add, students, page, form):
        add_logbook_option(part)


def run(args: argparse.Namespace) -> int:
    """Add the rows, tell of each, put bad files aside."""
    if args.part == "page":
        return run_class_page(args)
    if args.part == "template":
        return _template(args)
    if args.part == "form":
        return run_class_form(args)
    if args.part == "plan":
        return run_class_plan(args)
    if args.part == "students":
        return run_class_students(args)
    from tqdm import tqdm

    from ..records.batch.report import unknown_students
    from ..records.class_day import REASONS, add_class, set_aside
    from ..records.class_table import read_class
    from ..records.store.outputs import refuse_own

    table = Path(args.table)
    given = day(args.date, "--date") if args.date else None
    since = day(args.since, "--since") if args.since else None
    rows = read_class(table, Path(args.straps) if args.straps else None)
    aside = Path(args.aside) if args.aside else table.with_name(f"{table.stem}-aside")
    outcomes = []
    straps = [Path(args.straps)] if args.straps else []
    with opened(args) as logbook:
        refuse_own(logbook, [aside / REASONS], [table, *straps, *(file for row in rows for file in row.files)])
        today = date.today()  # noqa: DTZ011 the person's own day is meant
        added = add_class(logbook, rows, day=given, today=today, zone=args.zone, correct=args.correct, since=since)
        for each in tqdm(added, total=len(rows), unit="row", disable=None, leave=False, file=sys.stderr):
            outcomes.append(each)
            if each.fault is not None and os.environ.get("OWNMARK_TRACEBACK"):
                raise each.fault
            for line in wrapped(
                f"row {each.row.number}, {each.row.code or 'no code'}: {each.state}. {each.sentence}", 4
            ):
                say(line)
            for refused in each.refused if each.kept else ():
                say(f"    left out: {refused.reason}")
    copies = set_aside(outcomes, aside)
    counts = {state: sum(each.state == state for each in outcomes) for state in _STATES}
    corrected = f"{counts['corrected']} corrected, " if counts["corrected"] else ""
    asked = f"{counts['to confirm']} to confirm, " if counts["to confirm"] else ""
    said = f"{counts['added']} added, {counts['there already']} there already, "
    say(f"\n{said}{corrected}{asked}{counts['refused']} refused.")
    unknown = unknown_students(outcomes)
    if unknown:
        say_unknown(unknown)
    if copies:
        say(f"Files that could not be read: {len(copies)}, copied to {aside}, with {REASONS}.")
    return 1 if counts["refused"] or counts["to confirm"] or any(each.refused for each in outcomes) else 0


def _template(args: argparse.Namespace) -> int:
    """Write an empty table; a file that is there is never written over."""
    from ..records.class_template import explained, template_csv, template_xlsx
    from ..records.store.atomic_files import whole_files

    usual = "students.csv" if args.students else "class.csv"
    out = Path(args.out or usual)
    if out.suffix.lower() not in (".csv", ".xlsx"):
        raise UsageError(f"--out {out} is neither .csv nor .xlsx.", mend=f"Name it {usual} or {Path(usual).stem}.xlsx.")
    _refuse_there(out)
    made = template_xlsx if out.suffix.lower() == ".xlsx" else template_csv
    data = made(args.lang, students=args.students)
    try:
        with whole_files([out], last_look=lambda _: _refuse_there(out)) as (
            handle,
        ):  # a full disk leaves no empty table
            handle.write(data)
    except OSError as failure:
        raise UnreadableFile(f"{failure.strerror}.", where=str(out), mend="Choose another place: --out.") from None
    fill = "code, and whatever is known" if args.students else "code, protocol, files and work"
    count = len(explained(students=args.students))
    say(f"{out}: {count} columns. Fill in {fill}; delete the columns you do not need.")
    return 0


def _refuse_there(out: Path) -> None:
    if os.path.lexists(out):
        raise UsageError(f"{out} is there already.", mend="Choose another name: --out.")
