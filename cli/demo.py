"""``ownmark demo``: an invented school. Effort sheets of one test day, then a logbook of its year and its pages."""

import argparse
import contextlib
import io
import json
import shlex
import sys
from pathlib import Path

from .terminal import complain, say

EXAMPLE = "ownmark demo --out demo-sheets"
RETESTS = ("TH-11", "TH-12", "TH-13", "TH-15", "TH-16", "TH-17")
"""Students of the demo's year who were tested again."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--out", metavar="FOLDER", default="demo-sheets", help="where the pages go (demo-sheets)")


def run(args: argparse.Namespace) -> int:
    """Print every sheet; refusals are part of the show, so the answer is 0 unless a page could not be made."""
    from ..sample_streams import FOLDER
    from . import effort

    scenario = json.loads((FOLDER / "scenario.json").read_text(encoding="utf-8"))
    say(f"{scenario['school']}: effort sheets of one test day. Nobody here is real.")
    parser = argparse.ArgumentParser()
    effort.add_arguments(parser)
    for trial in scenario["trials"]:
        words = [*(str(FOLDER / name) for name in trial["files"]), *trial["options"]]
        said = " ".join([*trial["files"], *trial["options"]])
        say(f"\n{'=' * 100}\n{trial['story']}\n$ ownmark effort {said}\n")
        effort.run(parser.parse_args(words))
    return _year(Path(args.out))


def _year(folder: Path) -> int:
    """A logbook of the school's year, and every kind of page out of it."""
    from tqdm import tqdm

    from ..sample_streams.school_year import DAYS, FOLDER, SET_UP, WITH_MOVEMENT, YEAR

    logbook = folder / "logbook.db"
    if logbook.exists() and not _number(logbook):
        aside = next(each for n in range(1, 1000) if not (each := folder / f"logbook-before-{n}.db").exists())
        logbook.rename(aside)
        say(f"\nThe logbook that lay in {folder}/ was not one of this demo, or not whole: it is {aside.name} now.")
    fresh = [shlex.split(line) for line in SET_UP.splitlines() if line]
    fresh += [["class", "add", str(YEAR / f"{day}.csv"), "--aside", str(folder / f"{day}-aside")] for day in DAYS]
    further = [[_found(word, FOLDER) for word in shlex.split(line)] for line in WITH_MOVEMENT.splitlines()]
    pages = [
        *(["sheet", code] for code in RETESTS),
        *(["change", code, "--protocol", _first(code)] for code in RETESTS),
        ["sheet", "TH-12", "--lang", "es"],
        ["card", "TH-12"],
        ["safety", "TH-11"],
        *([page, "TH-15", "--trial", "WITH-MOVEMENT"] for page in ("sheet", "safety")),
        ["class", "page"],
        ["district"],
    ]
    forms = ["--pdf", "--html", "--out", str(folder)]
    commands = ([] if logbook.exists() else fresh + further) + [[*page, *forms] for page in pages]
    failed = 0
    for words in tqdm(commands, unit="step", disable=None, leave=False, file=sys.stderr):
        ready = [_number(logbook) if word == "WITH-MOVEMENT" else word for word in words]
        code, told = _quietly([*ready, "--logbook", str(logbook)])
        if code and words[:2] != ["class", "add"]:  # one strap's file is cut off, and is put aside
            failed += 1
            for line in told.splitlines():
                complain(line)
    say(f"\n{'=' * 100}\nThe year of the same school: its logbook and {2 * len(pages)} pages are in {folder}/.")
    say(f"Try: ownmark change TH-12 --logbook {logbook}")
    return 1 if failed else 0


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
