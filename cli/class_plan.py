"""``ownmark class plan``: out of a bag of files the table of the day, with what somebody must look at."""

import argparse
import os
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import AlreadyThere, UnreadableFile, UsageError
from ..words.plain import printable
from ..words.render import LANGUAGES, Words
from .logbook import opened
from .parts import wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..records.plan.day import Plan
    from ..records.plan.row import Planned


def add_class_plan_options(parser: argparse.ArgumentParser) -> None:
    """Declare the files and what is known of the day."""
    parser.add_argument("files", nargs="+", metavar="FOLDER|FILE", help="recordings, or folders of them; zip too")
    parser.add_argument(
        "--roster",
        metavar="CSV",
        help="the class: code,protocol,strap; with from,until,start,work and notes it is the typed form of the day",
    )
    parser.add_argument("--straps", metavar="CSV", help="who wore which strap: strap,code,from,until")
    parser.add_argument(
        "--start",
        metavar="CSV|HH:MM",
        help="when each trial began, its rest included: a table code,start, or one time for all",
    )
    parser.add_argument(
        "--zone", metavar="ZONE", help="time zone of the school, for files that state UTC (the logbook's)"
    )
    parser.add_argument("--out", required=True, metavar="CSV", help="the table to write, for `ownmark class add`")
    parser.add_argument("--lang", choices=LANGUAGES, default="en", help="language of what is to look at: en, es (en)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def run_class_plan(args: argparse.Namespace) -> int:
    """Read everything, write the table, tell of each row."""
    from tqdm import tqdm

    from ..ingest.clock_times import zone_from
    from ..records.class_table import read_straps, with_column
    from ..records.plan.day import plan_day
    from ..records.plan.known import read_roster, read_starts, sources_of
    from ..records.plan.messages import day_plan_outside
    from ..records.plan.seen import see
    from ..records.plan.table import table_of
    from ..records.plan.written import read_written
    from ..records.store.atomic_files import whole_files
    from ..records.store.outputs import refuse_own
    from ..records.store.settings import zone_of
    from ..words.message import Quoted

    out, words = Path(args.out), Words(args.lang, terminal=True)
    _refuse_there(out)
    zone_from(args.zone)  # refused before anything is read
    tables = [Path(each) for each in (args.roster, args.straps, args.start) if each]
    roster = read_roster(Path(args.roster)) if args.roster else ()
    straps = args.straps or with_column(args.roster, "strap")
    worn = read_straps(Path(straps)) if straps else ()
    start = args.start or with_column(args.roster, "start")
    starts = read_starts(start) if start else {}
    forms = [Path(each) for each in (args.start if "" not in starts else None, args.roster, args.straps) if each]
    written = read_written(forms)
    paths, outside = _files(args.files, tables)
    with opened(args) as logbook:
        refuse_own(logbook, [out], [*tables, *paths])
        zone = args.zone or zone_of(logbook)
        today = date.today()  # noqa: DTZ011 the person's own day is meant
        sources = sources_of(logbook, roster, worn, starts, zone, today, written)
        read = see(paths, zone, logbook.holders)
        seen = list(tqdm(read, total=len(paths), unit="file", disable=None, leave=False, file=sys.stderr))
        plan = plan_day(seen, sources)
    if outside:
        told = day_plan_outside(tuple(Quoted(printable(each.name)) for each in outside))
        plan = replace(plan, remarks=(*plan.remarks, told))
    try:
        with whole_files([out], last_look=lambda _: _refuse_there(out)) as (handle,):
            handle.write(table_of(plan, out, words))
    except OSError as failure:
        why = failure.strerror or "it cannot be written"
        raise UnreadableFile(f"{why[0].lower()}{why[1:]}.", where=str(out), mend="Name another with --out.") from None
    if args.json:
        say_json(_page(plan))
    else:
        _tell(plan, out, words)
    return 1 if plan.to_look_at else 0


def _refuse_there(out: Path) -> None:
    """A table that somebody may have filled in is never written over."""
    if os.path.lexists(out):  # a name that is too long is told when it is written
        raise AlreadyThere("there is such a file already.", where=str(out), mend="Name another with --out.")


def _files(given: list[str], tables: list[Path]) -> tuple[list[Path], list[Path]]:
    """Every file that was named or lies in a named folder, each once, but for the tables themselves and hidden ones.

    The second list are links in a folder that lead out of it: whoever names a folder means what lies in it.
    """
    own = {table.resolve() for table in tables}
    found: dict[Path, Path] = {}
    outside: list[Path] = []
    for text in given:
        path = Path(text)
        inside = sorted(each for each in path.rglob("*") if each.is_file()) if path.is_dir() else [path]
        for each in inside:
            hidden = path.is_dir() and any(part.startswith(".") for part in each.relative_to(path).parts)
            if hidden or each.resolve() in own:
                continue
            if path.is_dir() and not each.resolve().is_relative_to(path.resolve()):
                outside.append(each)
                continue
            found.setdefault(each.resolve(), each)
    if not found:
        raise UsageError("there is no file to plan.", mend="Name a folder of recordings, or the files.")
    return list(found.values()), [each for each in outside if each.resolve() not in found]


def _page(plan: "Plan") -> dict[str, Any]:
    """The plan as plain data."""
    return {
        "rows": [
            {
                "code": row.code,
                "protocol": row.protocol,
                "files": [str(path) for path in row.files],
                "date": row.on.isoformat() if row.on else None,
                "rest": row.phases.rest or None,
                "work": row.phases.work or None,
                "recovery": row.phases.recovery or None,
                "notes": row.notes or None,
                "sure": row.sure,
                "checks": [each.with_text() for each in row.checks],
            }
            for row in plan.rows
        ],
        "remarks": [each.with_text() for each in plan.remarks],
    }


def _tell(plan: "Plan", out: Path, words: Words) -> None:
    """A line a row, and how many are sure."""
    for row in plan.rows:
        for line in wrapped(_line(row, words), 4):
            say(line)
    for remark in plan.remarks:
        say(words.message(remark))
    sure, where = sum(row.sure for row in plan.rows), printable(str(out))
    say(f"\n{words.get('day_plan_page.rows', count=sure, asked=len(plan.rows) - sure, out=where)}")
    say(words.get(f"day_plan_page.{'next_asked' if plan.to_look_at else 'next_sure'}", out=where))


def _line(row: "Planned", words: Words) -> str:
    from ..records.plan.table import check_text

    def page(name: str) -> str:
        return words.get(f"day_plan_page.{name}")

    files = ", ".join(printable(path.name) for path in row.files)
    parts = [row.code or page("no_code"), row.protocol or page("no_protocol"), files or page("no_file")]
    parts += [words.get("day_plan_page.work", span=row.phases.work)] if row.phases.work else []
    return f"{page('sure' if row.sure else 'look')}: {', '.join(parts)}. {check_text(row.checks, words)}".rstrip()
