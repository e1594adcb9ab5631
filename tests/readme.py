"""The README's examples, run: ``python -m tests.readme`` writes their output anew; a test compares it."""

import contextlib
import io
import os
import re
import shlex
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from ownmark.cli.main import main
from ownmark.ingest.flags import RULES
from ownmark.metrics.conditions import CONDITIONS
from ownmark.metrics.glossary import FIGURES
from ownmark.metrics.maximum import EQUATIONS, SET_APART, Equation
from ownmark.records.store.location import VARIABLE
from ownmark.sample_streams import FOLDER
from ownmark.sample_streams.school_year import SET_UP
from ownmark.words.render import texts

README = Path(__file__).resolve().parents[1] / "README.md"
_BLOCK = re.compile(r"```\n\$ (ownmark [^\n]*)\n(.*?)```\n", re.DOTALL)
_CUT = "  …\n"


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


def shown(command: str, old: str, folder: Path) -> str:
    """A command's output, cut where the README cuts it: before the sources, or behind as many lines."""
    whole = output(command, folder)
    if not old.endswith(_CUT):
        return whole
    if "\nSources of the formulas" in whole:
        return whole[: whole.index("\nSources of the formulas")] + _CUT
    return "".join(whole.splitlines(keepends=True)[: old.count("\n") - 1]) + _CUT


@contextlib.contextmanager
def demo_folder() -> Iterator[Path]:
    """The demo's files, and a logbook with its students and protocols; trials come in by the README's own examples."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "demo"
        shutil.copytree(FOLDER, folder, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
        for line in SET_UP.splitlines():
            output(f"ownmark {line}", folder)
        yield folder


def examples(page: str) -> Iterator[tuple[str, str]]:
    """Every example of a page as (command, output)."""
    yield from ((found[1], found[2]) for found in _BLOCK.finditer(page))


def tables(page: str) -> str:
    """The page with its tables of figures, conditions and rules written from the code."""
    rows = {
        "figures": [f"| `{name}` | {each.unit} | {each.meaning} | {each.source} |" for name, each in FIGURES.items()],
        "conditions": [f"| `{each.name}` | {each.title} | {_effect(each.name)} |" for each in CONDITIONS.values()],
        "equations": [_line(each) for each in EQUATIONS.values()],
        "rules": [f"| {rule.replace('_', ' ')} | {finds} |" for rule, finds in RULES.items() if rule != "unchecked"],
    }
    for name, lines in rows.items():
        mark = re.compile(rf"(<!-- {name} -->\n\|[^\n]*\n\|[^\n]*\n)(?:\|[^\n]*\n)*")
        page = mark.sub(lambda found, lines=lines: found[1] + "\n".join(lines) + "\n", page)
    return page


def _effect(name: str) -> str:
    """What a condition forbids, in a word."""
    condition = CONDITIONS[name]
    if condition.blocks_reserve:
        return "no figure of the reserve"
    if condition.blocks_in_arms:
        return "no predicted maximum in work of the arms or in a power chair"
    if name in SET_APART:
        return "only the equation made from people with it"
    return "no predicted maximum" if condition.blocks_prediction else "cautions"


def _line(equation: Equation) -> str:
    """An equation's row: what it is, and for whom it is given."""
    youngest, oldest = equation.ages
    work = " who walk or run on their own feet" if equation.walking else ""
    cells = (
        f"`{equation.name}`",
        equation.formula,
        f"{texts('en')[f'people.{equation.people}']}{work}",
        f"{youngest:g}–{oldest:g}",
        equation.source,
    )
    return f"| {' | '.join(cells)} |"


def written(page: str) -> str:
    """The page as it should read."""
    with demo_folder() as folder:
        return _BLOCK.sub(lambda found: f"```\n$ {found[1]}\n{shown(found[1], found[2], folder)}```\n", tables(page))


if __name__ == "__main__":
    README.write_text(written(README.read_text(encoding="utf-8")), encoding="utf-8")
