"""README and the pages of docs/: ``python -m tests.readme`` writes their tables and the output of examples anew.

An example is a block that begins with ``$ ownmark``. Those of a page run in order, in a folder of its own with the
demo's files and logbook; ``<!-- first: ownmark … -->`` runs a command without showing it. An example that ends in ``…``
is shown up to the sources; one that ends in ``… and N more lines``, as many lines as stand there.
"""

import contextlib
import io
import os
import re
import shlex
import tempfile
from collections.abc import Iterator
from pathlib import Path

from ownmark.cli.demo import practice
from ownmark.cli.main import main
from ownmark.records.store.location import VARIABLE

from tests.reference import tables

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
PAGES = (README, *sorted((ROOT / "docs").glob("*.md")))
_BLOCK = re.compile(
    r"<!-- first: (?P<first>ownmark [^\n]*) -->\n|```\n\$ (?P<command>ownmark [^\n]*)\n(?P<old>.*?)```\n", re.DOTALL
)
_CUT = "  …\n"
_MORE = re.compile(r"  … and \d+ more lines?\n\Z")


def output(command: str, folder: Path) -> str:
    """What a command prints when it is called in a folder with the demo's files and logbook."""
    page, here, before = io.StringIO(), Path.cwd(), os.environ.get(VARIABLE)
    os.chdir(folder)
    os.environ[VARIABLE] = str(folder / "logbook.db")
    try:
        with contextlib.redirect_stdout(page), contextlib.redirect_stderr(page):
            main(shlex.split(command)[1:])
    finally:
        os.chdir(here)
        if before is None:
            del os.environ[VARIABLE]
        else:
            os.environ[VARIABLE] = before
    return page.getvalue()


def shown(whole: str, old: str) -> str:
    """A command's output, cut where the page cuts it."""
    lines = whole.splitlines(keepends=True)
    if _MORE.search(old):
        kept = old.count("\n") - 1
        return "".join(lines[:kept]) + f"  … and {len(lines) - kept} more lines\n"
    if old.endswith(_CUT):
        return whole[: whole.index("\nSources of the formulas")] + _CUT
    return whole


@contextlib.contextmanager
def demo_folder() -> Iterator[Path]:
    """The demo's files, and a logbook with its students and protocols; trials come in by a page's own examples."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "demo"
        if practice(folder):
            raise RuntimeError("the folder to try the examples in cannot be made")
        yield folder


def examples(page: str) -> Iterator[tuple[str, str]]:
    """Every example of a page as (command, output)."""
    yield from ((found["command"], found["old"]) for found in _BLOCK.finditer(page) if found["command"])


def written(page: str) -> str:
    """The page as it should read."""
    page = tables(page)
    if not _BLOCK.search(page):
        return page
    with demo_folder() as folder:
        return _BLOCK.sub(lambda found: _replayed(found, folder), page)


def _replayed(found: re.Match[str], folder: Path) -> str:
    """One example with its output now; a command that is not shown is run."""
    if found["first"]:
        output(found["first"], folder)
        return found[0]
    return f"```\n$ {found['command']}\n{shown(output(found['command'], folder), found['old'])}```\n"


if __name__ == "__main__":
    for path in PAGES:
        path.write_text(written(path.read_text(encoding="utf-8")), encoding="utf-8")
