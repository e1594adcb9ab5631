"""``ownmark demo``: an invented school. One effort sheet, then a logbook of its year and every kind of page."""

import argparse
import contextlib
import io
import json
import shlex
import shutil
import sys
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from .. import ledger
from ..errors import UnreadableFile
from .parts import WIDTH, many, wrapped
from .terminal import complain, say

EXAMPLE = "ownmark demo --out demo-sheets"
RETESTS = ("TH-11", "TH-12", "TH-13", "TH-15", "TH-16", "TH-17", "TH-18", "TH-19")
"""Students of the demo's year who were tested again."""
SHOWN = "TH-12-arm-crank.tcx"
"""The recording whose sheet is printed."""
LOOSE = "TH-12-loose-strap.csv"
"""A recording with much to find."""
LOGBOOK = "logbook.db"
BAG_LOGBOOK = "bag.db"
PLAN_OF_THE_DAY = ("class", "plan", "day/straps", "--roster", "day/written.csv", "--out", "plan.csv")
DAY_GOES_IN = ("class", "add", "day/checked.csv")
YEAR_GOES_IN = ("batch", "year", "--cluster", "local:2")
PRACTICE = "try"
"""The folder in the demo's in which README's examples run as they are typed."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--out", metavar="FOLDER", default="demo-sheets", help="where the pages go (demo-sheets)")


def run(args: argparse.Namespace) -> int:
    """One sheet, a line a student, and what to try; the answer is 0 unless a page could not be made.

    Raises
    ------
    UnreadableFile
        If the folder cannot be written, or there is no room.
    """
    try:
        return _shown(args)
    except OSError as failure:  # copying several files raises one without a number
        why = (failure.strerror or "it cannot be written, or is full").lower()
        raise UnreadableFile(f"{why}.", where=args.out, mend="Make room, or name another folder: --out.") from None


def _shown(args: argparse.Namespace) -> int:
    """The demo from start to end."""
    from ..sample_streams import FOLDER
    from . import effort

    scenario = json.loads((FOLDER / "scenario.json").read_text(encoding="utf-8"))
    trial = next(each for each in scenario["trials"] if each["files"][0] == SHOWN)
    typed = [*(str(FOLDER / name) for name in trial["files"]), *trial["options"]]
    say(f"{scenario['school']}. Nobody here is real.\n\n{trial['story']}\n")
    say(f"$ ownmark effort {' '.join([*trial['files'], *trial['options']])}\n")
    parser = argparse.ArgumentParser()
    effort.add_arguments(parser)
    effort.run(parser.parse_args(typed))
    folder = Path(args.out)
    failed = _class_day()
    more, pages = _year(folder)
    failed += more
    failed += practice(folder / PRACTICE)
    _students(folder / LOGBOOK)
    _what_next(folder, pages)
    return 1 if failed else 0


def _class_day() -> int:
    """A bag of straps: what the plan finds, and the day as it goes in when somebody has looked. How many steps failed.

    In a folder that is gone afterwards: the one to try things in has the same files.
    """
    from tempfile import TemporaryDirectory

    from ..reports.page import Page, Table
    from ..reports.render.text import to_text
    from ..sample_streams.class_day import LOOKED

    with TemporaryDirectory(prefix="ownmark-demo-", ignore_cleanup_errors=True) as place, contextlib.chdir(place):
        failed = practice(Path(PRACTICE))
        with contextlib.chdir(PRACTICE):
            code, told = _printed([*PLAN_OF_THE_DAY, "--json"])
            rows = json.loads(told)["rows"] if code == 1 else []  # 1: there is something to look at
            added, goes_in = _printed(DAY_GOES_IN)
            year = _printed(YEAR_GOES_IN) if find_spec("distributed") else None
    table = Table("", ("Student", "File", "Work", "What to look at first"), tuple(map(_planned, rows)))
    title = "A class day: a bag of four straps, the form of the day typed in, and what the plan makes of them"
    say(f"\n{'=' * WIDTH}\n{to_text(Page(title=title, language='en', subtitle='', blocks=(table,)))}\n")
    for line in wrapped(LOOKED, 0):
        say(line)
    say(f"Then `ownmark {' '.join(DAY_GOES_IN)}`: {goes_in.splitlines()[-1] if goes_in else 'not done.'}")
    return failed + (code != 1) + (added != 0) + _year_at_once(year)


def _year_at_once(told: tuple[int, str] | None) -> int:
    """The year's tables in one command, by two workers of a cluster of this machine's own; how many steps failed.

    told : exit code and print of the command; None where what a cluster takes is not installed
    """
    if told is None:
        return 0
    code, text = told
    title = "The year's three class tables in one command, by two workers of a cluster that ends with it"
    say(f"\n{'=' * WIDTH}\n{title}\n\n$ ownmark {' '.join(YEAR_GOES_IN)}\n{text}")
    return int(code != 1)  # 1: one strap's file is cut off, and is put aside


def _planned(row: dict[str, Any]) -> tuple[str, str, str, str]:
    """A row of the plan with the first thing to look at, and how many more there are."""
    checks = [each["text"] for each in row["checks"]]
    more = f" (and {len(checks) - 1} more)" if len(checks) > 1 else ""
    files = ", ".join(Path(each).name for each in row["files"])
    return row["code"] or "", files, row["work"] or "", f"{checks[0]}{more}" if checks else "nothing: sure"


def _printed(words: Sequence[str]) -> tuple[int, str]:
    """Run a command on the logbook of this folder; its exit code and what it prints."""
    from .main import main

    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        return main([*words, "--logbook", LOGBOOK]), told.getvalue()


def _year(folder: Path) -> tuple[int, list[Path]]:
    """A logbook of the school's year, and every kind of page out of it: how many steps failed, and the pages."""
    from tqdm import tqdm

    logbook = folder / LOGBOOK
    if logbook.exists() and not _number(logbook):
        aside = next(each for n in range(1, 1000) if not (each := folder / f"logbook-before-{n}.db").exists())
        logbook.rename(aside)
        say(f"\nThe logbook in {folder}/ did not hold this whole demo, so it was kept as {aside.name}.")
    commands = ([] if logbook.exists() else _set_up(folder)) + _pages(folder)
    failed, pages = 0, []
    for words in tqdm(commands, unit="step", disable=None, leave=False, file=sys.stderr):
        ready = [_number(logbook) if word == "WITH-MOVEMENT" else word for word in words]
        before = ledger.mark()
        code, told = _quietly([*ready, "--logbook", str(logbook)])
        pages += [path for path in map(Path, ledger.since(before)) if path.suffix in (".pdf", ".html")]
        if code and words[:2] != ["class", "add"]:  # one strap's file is cut off, and is put aside
            failed += 1
            for line in told.splitlines():
                complain(line)
    return failed, pages


def _set_up(folder: Path) -> list[list[str]]:
    """The commands that put the year in."""
    from ..sample_streams.school_year import DAYS, FOLDER, SET_UP, WITH_MOVEMENT, YEAR

    days = [["class", "add", str(YEAR / f"{day}.csv"), "--aside", str(folder / f"{day}-aside")] for day in DAYS]
    further = [[_found(word, FOLDER) for word in shlex.split(line)] for line in WITH_MOVEMENT.splitlines()]
    return [*(shlex.split(line) for line in SET_UP.splitlines() if line), *days, *further]


def practice(folder: Path) -> int:
    """A folder in which README's examples run as typed; one that is there is left as it is. How many steps failed.

    The recordings, a logbook with students and protocols, and one for the bag of a class's day; the trials come in by
    the examples.
    """
    from ..sample_streams import FOLDER
    from ..sample_streams.bag import SET_UP as OF_THE_BAG
    from ..sample_streams.class_day import SET_UP as OF_THE_DAY
    from ..sample_streams.school_year import SET_UP

    if folder.exists():
        return 0
    leave_out = shutil.ignore_patterns("*.py", "__pycache__", "*.truth.json")
    part = folder.with_name(f"{folder.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    shutil.copytree(FOLDER, part, ignore=leave_out)
    failed = 0
    for logbook, lines in ((LOGBOOK, SET_UP + OF_THE_DAY), (BAG_LOGBOOK, OF_THE_BAG)):
        steps = [shlex.split(line) for line in lines.splitlines() if line]
        failed += sum(bool(_quietly([*words, "--logbook", str(part / logbook)])[0]) for words in steps)
    part.rename(folder)
    return failed


def _pages(folder: Path) -> list[list[str]]:
    """The commands that make every kind of page."""
    pages = [
        *(["sheet", code] for code in RETESTS),
        *(["change", code, "--protocol", _first(code)] for code in RETESTS),
        ["sheet", "TH-12", "--lang", "es"],
        *(["card", code] for code in ("TH-12", "TH-18")),
        ["safety", "TH-11"],
        *([page, "TH-15", "--trial", "WITH-MOVEMENT"] for page in ("sheet", "safety")),
        ["class", "page"],
        ["district"],
    ]
    return [[*page, "--pdf", "--html", "--out", str(folder)] for page in pages]


def _students(logbook: Path) -> None:
    """A line for each student and test: whether anything changed over the year."""
    from ..records import open_logbook
    from ..reports.page import Page, Table
    from ..reports.render.text import to_text
    from ..reports.sheets.many_students import district_rows
    from ..reports.sheets.verdict_words import verdict_name
    from ..reports.words import Words

    words = Words("en")
    with open_logbook(logbook, create=False) as opened:
        rows = tuple(
            (
                *(each.code, each.protocol, str(each.trials)),
                verdict_name(each.found, words) if each.found else words.get("district.no_pair"),
            )
            for each in sorted(district_rows(opened), key=lambda row: (row.code, row.protocol))
        )
    heads = tuple(words.get(f"district.{key}") for key in ("code", "protocol", "trials", "verdict"))
    table = Table(words.get("district.table"), heads, rows)
    title = "The year of the same school, a line for each student and test"
    say(f"\n{'=' * WIDTH}\n{to_text(Page(title=title, language='en', subtitle='', blocks=(table,)))}")


def _what_next(folder: Path, pages: list[Path]) -> None:
    """Where the pages lie, and four things to try, as they can be typed here."""
    from ..sample_streams import FOLDER

    command, logbook = _command(), shlex.quote(str(folder / LOGBOOK))
    say(f"\n{many(len(pages), 'page')} and the logbook are in {folder}/. Four things to try:")
    bag = folder / PRACTICE / "bag"
    for what, why in (
        (
            f"page --logbook {shlex.quote(str(folder / PRACTICE / BAG_LOGBOOK))}",
            f"after class, without typing: open November 18, 2026, and drop the files of {bag}/ there",
        ),
        (f"change TH-12 --logbook {logbook}", "what changed since the baseline, and what did not"),
        (f"safety TH-15 --logbook {logbook}", "what the therapist reads: the ceiling, and what was not measured"),
        (f"look {shlex.quote(str(FOLDER / LOOSE))}", "what a recording holds; then put one of your own in its place"),
    ):
        say(f"  {command} {what}\n      {why}")


def _command() -> str:
    """How ownmark is called here: by its name alone where the shell finds it, else as this process was."""
    called = Path(sys.argv[0])
    if shutil.which("ownmark"):
        return "ownmark"
    if called.stem == "ownmark" and called.is_file():
        return shlex.quote(str(called))
    return f"{shlex.quote(sys.executable)} -m ownmark.cli"


def _found(word: str, folder: Path) -> str:
    """A word of a command; a recording's name with its folder."""
    return str(folder / word) if (folder / word).is_file() else word


def _number(logbook: Path) -> str:
    """The number of the trial with movement, the last thing that is put in; empty if it is not there."""
    from ..errors import OwnmarkError
    from ..records import open_logbook

    try:
        with open_logbook(logbook, create=False) as opened:
            return next((str(each.id) for each in opened.outline("arm-circles")), "")
    except OwnmarkError:
        return ""


def _first(code: str) -> str:
    """The protocol by which a student was tested on the first day."""
    from ..sample_streams.school_year import PLAN

    return next(each.protocol for day in PLAN for each in day if each.code == code)


def _quietly(words: list[str]) -> tuple[int, str]:
    """Run a command; its exit code and its complaints."""
    from .main import main

    complaints = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(complaints):
        return main(words), complaints.getvalue()
